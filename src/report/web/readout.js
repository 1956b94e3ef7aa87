// The values of a chart one by one, by pointer and by arrow keys, in a line of words below it that is read out.
import { el } from "./dom.js";

const namespace = "http://www.w3.org/2000/svg";
const kReach = 28; // px from the pointer

/**
 * The line; `chart.values(svg)` gives {x, y, words, group} in the order of the keys, x and y in px of the chart. A click or Enter
 * hands the value to `chart.chosen`, where there is one; `chart.choosing` says what for.
 */
export function putReadout(holder, chart) {
  const hint = `Point at the chart, or go through its values with the arrow keys${chart.chosen ? `; a click or Enter ${chart.choosing}` : ""}.`;
  const line = el("p", { class: "readout", "aria-live": "polite" }, hint);
  let drawn = null, values = [], at = -1;
  const current = () => {
    const svg = holder.querySelector("svg");
    if (svg !== drawn) [drawn, values, at] = [svg, svg ? chart.values(svg) : [], -1];
    return values;
  };
  const show = (i) => {
    at = i;
    drawn.querySelectorAll(".ring").forEach((ring) => ring.remove());
    const value = values[i];
    line.textContent = value ? value.words : hint;
    if (!value || !Number.isFinite(value.x) || !Number.isFinite(value.y)) return;
    const ring = document.createElementNS(namespace, "circle");
    for (const [key, text] of Object.entries({ class: "ring", cx: value.x, cy: value.y, r: 8 })) ring.setAttribute(key, text);
    drawn.append(ring);
  };
  /** The first value of the next group, or of the one before. */
  const group = (step) => {
    let i = at;
    while (values[i + step] && values[i + step].group === values[at]?.group) i += step;
    i += step;
    while (step < 0 && values[i - 1] && values[i - 1].group === values[i]?.group) i--;
    return i;
  };
  const keys = { ArrowRight: () => at + 1, ArrowLeft: () => at - 1, ArrowDown: () => group(1), ArrowUp: () => group(-1),
    Home: () => 0, End: () => values.length - 1 };
  holder.tabIndex = 0;
  holder.setAttribute("role", "group");
  holder.setAttribute("aria-label", `Values of the chart: ${chart.title}. Arrow keys go through them.`);
  const choose = () => chart.chosen && values[at] && chart.chosen(values[at]);
  if (chart.chosen) holder.addEventListener("click", choose);
  holder.addEventListener("keydown", (event) => {
    if (event.key === "Enter") choose();
    if (!keys[event.key] || !current().length) return;
    event.preventDefault();
    show(Math.min(values.length - 1, Math.max(0, keys[event.key]())));
  });
  holder.addEventListener("pointermove", (event) => {
    if (!current().length) return;
    const box = drawn.getBoundingClientRect(), scale = drawn.viewBox.baseVal.width / box.width;
    const [x, y] = [(event.clientX - box.left) * scale, (event.clientY - box.top) * scale];
    let best = -1, least = kReach;
    values.forEach((value, i) => {
      const distance = Math.hypot(value.x - x, value.y - y);
      if (distance < least) [best, least] = [i, distance];
    });
    if (best !== at) show(best);
  });
  return line;
}
