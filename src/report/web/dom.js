// Elements, tables and figures. All text goes in as text nodes: nothing a sheet says becomes markup.
import { putReadout } from "./readout.js";
import { kWidths, saveCsv, savePng, saveSvg } from "./save.js";
import { tableElement } from "./table.js";

export function el(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (typeof value === "function") element.addEventListener(key, value);
    else if (value !== false && value !== null) element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...children);
  return element;
}

const namespace = "http://www.w3.org/2000/svg";

/** The same for SVG; children are elements or texts. */
export function svgElement(name, attributes, ...children) {
  const element = document.createElementNS(namespace, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.append(...children);
  return element;
}

/** Rows of {columns, rows} as objects, for charts. JSON has no infinity: open interval ends come as words. */
export function records(table) {
  if (!table) return [];
  const value = (name, x) => (name.startsWith("ci_") && typeof x === "string" ? (x === "inf" ? Infinity : -Infinity) : x);
  return table.rows.map((row) => Object.fromEntries(table.columns.map((name, i) => [name, value(name, row[i])])));
}

/** A table that is built when it is first opened: headings in words, rounded numbers, sorted by a press on a heading. */
export function tableBehind(table, name, survey) {
  const rows = table.rows.length;
  const origin = table.file ? `the same as tables/${table.file}, rounded` : "worked out for this chart, rounded";
  const summary = el("summary", {}, `Table: ${name}`);
  const details = el("details", { class: "behind", "data-file": table.file ?? "" }, summary);
  details.addEventListener("toggle", () => {
    if (!details.open || details.querySelector("table")) return;
    const caption = `${name}, ${rows} ${rows === 1 ? "row" : "rows"}, ${origin}`;
    const region = { class: "scroll", tabindex: "0", role: "group", "aria-label": caption };
    details.append(el("div", region, tableElement(table, caption, survey)),
      el("button", { type: "button", "aria-label": `Save as CSV, in full: ${name}`, click: () => saveCsv(table, name) }, "Save as CSV, in full"));
  });
  return details;
}

/** A text in which names of sites (words with a hyphen inside), "p = 0.012", "n = 6" and "95 %" do not break at the end of a line. */
export const unbroken = (text) => text.split(/(\S*\w-\w\S*|\b[np] = [\d.]+|\d+ %)/).map((part, i) => (i % 2 ? el("span", { class: "whole" }, part) : part));

let figures = 0;

/** Width of a chart on A4 with margins of 15 mm: 180 mm at 96 px an inch. */
const kPrintWidth = 680;
/** Height of a sheet less a page number, and of the first, which has the caption too. */
const kSheetHigh = 960, kFirstHigh = 760;

/** A chart higher than a sheet as several, cut where it lets itself be cut: `svg.cuts`, in px from its top. */
function sheets(svg) {
  const [, , width, height] = svg.getAttribute("viewBox").split(" ").map(Number), parts = [];
  const cuts = [...(svg.cuts ?? []).filter((y) => y > 0 && y < height), height];
  for (let top = 0; top < height; ) {
    const room = parts.length ? kSheetHigh : kFirstHigh;
    const end = cuts.filter((y) => y > top && y - top <= room).at(-1) ?? cuts.find((y) => y > top);
    if (top === 0 && end === height) return [svg];
    const part = svg.cloneNode(true);
    for (const [name, value] of [["viewBox", `0 ${top} ${width} ${end - top}`], ["height", end - top]]) part.setAttribute(name, value);
    part.setAttribute("class", `${svg.getAttribute("class") ?? ""} part`);
    parts.push(part);
    top = end;
  }
  return parts;
}

/**
 * Puts a chart under its heading: `chart` = {title, subtitle, alt, draw(width) -> SVG, values(svg) -> [{x, y, words,
 * group}], tables, name, note}. Redrawn when the width changes, and for print at the paper's own width.
 */
export function putFigure(place, chart, survey) {
  const id = `chart-${++figures}`;
  const holder = el("div", { class: "holder" });
  const caption = el("figcaption", { id }, el("h3", {}, ...unbroken(chart.title)), el("p", { class: "subtitle" }, ...unbroken(chart.subtitle)));
  const figure = el("figure", { "aria-labelledby": id }, caption, ...(chart.before ?? []), holder);
  let width = 0, printing = false;
  const draw = () => {
    // The first time the width is that of the place, known beforehand: to ask the holder would lay out the whole page anew.
    const known = width === 0 && place.closest("[id^=draw-]")?.wide;
    const now = printing ? kPrintWidth : Math.floor(known || holder.clientWidth);
    if (now === width || now === 0) return;
    width = now;
    const svg = chart.draw(width);
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", chart.alt);
    const parts = printing ? sheets(svg) : [svg];
    figure.classList.toggle("tall", parts.length > 1);
    holder.replaceChildren(...parts);
  };
  place.append(figure);
  draw();
  new ResizeObserver(() => requestAnimationFrame(() => printing || draw())).observe(holder);
  for (const [event, on] of [["beforeprint", true], ["afterprint", false]])
    addEventListener(event, () => ((printing = on), draw()));
  if (chart.values) figure.append(putReadout(holder, chart));
  if (chart.note) figure.append(el("p", { class: "note" }, chart.note));
  figure.append(tools(chart, survey));
  return figure;
}

function tools(chart, survey) {
  const button = (word, save, millimetres) => el("button", { type: "button", "aria-label": `${word}, ${millimetres} mm: ${chart.title}`,
    click: () => save(chart, survey, millimetres) }, `${word}, ${millimetres} mm`);
  const buttons = kWidths.flatMap((width) => [button("SVG", saveSvg, width), button("PNG", savePng, width)]);
  const row = el("div", { class: "tools" }, el("details", { class: "save" }, el("summary", {}, "Save the picture"), el("div", { class: "tools" }, ...buttons)));
  for (const [table, name] of chart.tables ?? []) if (table) row.prepend(tableBehind(table, name, survey));
  return row;
}

/** A button that copies the text of an element; where the browser does not let it, the text is marked, to be copied by hand. */
export function copyButton(from, name) {
  const button = el("button", { type: "button", class: "screen-only" }, `Copy ${name}`);
  const mark = () => {
    getSelection().selectAllChildren(from);
    button.textContent = "Marked: copy it now";
  };
  button.addEventListener("click", () => {
    if (!navigator.clipboard) return mark();
    navigator.clipboard.writeText(from.textContent).then(() => (button.textContent = "Copied"), mark);
  });
  return button;
}

/** Says in a sentence why there is no chart. */
export function putNothing(place, why) {
  place.append(el("p", { class: "nothing" }, why));
}

/** A labelled choice; `use` is called with the value chosen. */
export function choice(label, options, chosen, use) {
  const select = el("select", { change: () => use(select.value) });
  for (const [value, text] of options) select.append(el("option", { value, selected: value === chosen }, text));
  return el("label", { class: "choice" }, `${label} `, select);
}
