// The answer: every site of both classes, and the difference with its interval on an axis that shares the
// sites' scale, zero at the second class's mean.
import * as Plot from "@observablehq/plot";
import { putFigure, putNothing } from "./dom.js";
import { cut, look, plot, roles, sitesOf } from "./marks.js";
import { count, interval, mean, pValue, sentence, short, tick } from "./numbers.js";

const words = (x) => (Number.isFinite(x) && x !== null ? short(x) : "n/a");

/** Ticks of the difference, at round numbers, as {value on the sites' scale, text}. */
function differenceTicks(zero, [low, high]) {
  const rough = (high - low) / 6;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((k) => k * power).find((s) => s >= rough);
  const ticks = [];
  for (let i = Math.ceil((low - zero) / step); zero + i * step <= high; i++)
    ticks.push({ at: zero + i * step, text: tick(i * step) });
  return ticks;
}

/** Sites of one class side by side where their marks would cover each other. */
function spread(rows, height, span) {
  const placed = [];
  for (const row of [...rows].sort((p, q) => p.value - q.value)) {
    const near = placed.filter((other) => (Math.abs(other.value - row.value) / span) * height < 11).map((p) => p.lane);
    let lane = 0;
    for (let k = 0; near.includes(lane); k++) lane = k % 2 ? -(k + 1) / 2 : k / 2 + 1;
    placed.push({ ...row, lane });
  }
  return placed;
}

export function answerChart(place, survey) {
  const { index, window } = survey.primary ?? {};
  const row = index && survey.contrast(index, window);
  const rows = survey.windowMeans.filter((r) => r.window === window && r.role !== "other" && r[index] !== null)
    .map((r) => ({ site: r.site, role: r.role, value: r[index], dates: r.dates, kept: r.kept }));
  if (!rows.length)
    return putNothing(place, "No site of the two classes has a value yet, so there is nothing to draw.");
  const { a, b } = survey.survey;
  const tested = Boolean(row) && row.difference !== null && row.mean_b !== null;
  const zero = tested ? row.mean_b : null;
  const ci = tested ? [row.ci_low, row.ci_high] : [];
  const finite = tested ? [zero, zero + row.difference, ...ci.filter(Number.isFinite).map((x) => zero + x)] : [];
  const all = [...rows.map((r) => r.value), ...finite];
  const span = Math.max(...all) - Math.min(...all) || Math.abs(all[0]) / 10 || 1;
  const domain = [Math.min(...all) - 0.06 * span, Math.max(...all) + 0.06 * span];
  const above = rows.filter((r) => r.role === "a").filter((r) => rows.every((o) => o.role === "a" || r.value > o.value));
  const nA = rows.filter((r) => r.role === "a").length;
  const larger = tested && row.difference > 0 ? a : b;
  const title = !tested ? `Not compared yet: ${survey.title(index)} of ${a} and ${b} sites in the ${window} window`
    : row.difference === 0 ? `${sentence(a)} and ${b} sites have the same mean ${survey.title(index)} in the ${window} window`
    : `${sentence(larger)} sites have the higher ${survey.title(index)} in the ${window} window, ` +
      `by ${short(Math.abs(row.difference))} on average`;
  const draw = (width) => {
    const height = Math.min(430, Math.max(300, width * 0.6));
    const columns = tested ? 3 : 2;
    const lane = 13 / ((width - 110) / columns);
    const at = (r, column) => column + r.lane * lane;
    const marks = [];
    roles.forEach((role, column) => {
      const own = spread(rows.filter((r) => r.role === role), height - 70, domain[1] - domain[0]);
      const m = own.length ? mean(own.map((r) => r.value)) : null;
      if (m !== null)
        marks.push(Plot.ruleY([m], { x1: column - 0.3, x2: column + 0.3, stroke: look(role).colour, strokeWidth: 2,
          strokeDasharray: look(role).dash }));
      marks.push(sitesOf(role, own, { x: (r) => at(r, column), y: "value",
        channels: { site: "site", dates: "dates", segments: "kept" },
        tip: { fill: "var(--paper)", format: { x: false, y: short, symbol: false, fill: false, stroke: false } } }));
      if (own.length <= 8 && width > 560)
        marks.push(Plot.text(own, { x: (r) => at(r, column), y: "value", text: (r) => cut(r.site, Math.floor(((width - 110) / columns) * 0.6 / 6)), dx: 10,
          textAnchor: "start", fill: "var(--soft)", stroke: "var(--paper)", strokeWidth: 3, fontSize: 11,
          filter: (r) => own.every((o) => o === r || Math.abs(o.value - r.value) * (height - 70) > 12 * (domain[1] - domain[0])) }));
    });
    if (tested) marks.push(...differenceMarks(row, zero, domain));
    const names = [`\u25cf ${cut(a, 14)}`, `\u25a1 ${cut(b, 14)}`, width > 480 ? `difference, ${cut(a, 9)} \u2212 ${cut(b, 9)}` : "difference"];
    return plot(width, { height, marginLeft: 54, marginRight: tested ? 54 : 12, marginTop: 28, marginBottom: 34,
      x: { domain: [-0.5, columns - 0.5], axis: null }, y: { domain, label: null, grid: false }, marks: [
        Plot.axisY({ anchor: "left", label: null, tickFormat: tick, ticks: 6, tickSize: 4 }),
        tested ? Plot.axisY(differenceTicks(zero, domain).map((t) => t.at), { anchor: "right", label: null, tickSize: 4,
          tickFormat: (v) => differenceTicks(zero, domain).find((t) => t.at === v).text }) : null,
        Plot.text(names.slice(0, columns), { x: (_, i) => i, frameAnchor: "bottom", dy: 26, text: (d) => d, fontWeight: 700 }),
        Plot.text([survey.unit(index)], { frameAnchor: "top-left", dx: -50, dy: -22, textAnchor: "start", fill: "var(--soft)" }),
        ...marks,
      ] });
  };
  putFigure(place, {
    name: `${index}-${window}-sites`, title,
    subtitle: `${sentence(survey.title(index))} (${survey.unit(index)}), mean of the ${window} window over dates; ` +
      `${survey.n(rows)}. ` + (tested ? `The interval holds the shifts that the sites do not contradict at ` +
      `${Math.round(100 * survey.survey.level)} %: ${interval(...ci)}; p = ${pValue(row.p)} from ${count(row.relabellings)} relabellings of the sites, ` +
      `least attainable ${pValue(row.p_min)}.` : (row?.verdict ?? "")),
    alt: `${title}. Values from ${words(Math.min(...rows.map((r) => r.value)))} to ` +
      `${words(Math.max(...rows.map((r) => r.value)))}. ${above.length} of ${nA} ${a} sites lie above every ${b} site.` +
      (tested ? ` Difference ${short(row.difference)}, interval ${interval(...ci)}.` : ""),
    draw, tables: [[survey.tables.windows, "values of the sites by window"], [survey.tables.contrasts, "all contrasts"]],
  });
}

/** The difference with its interval; an open end leaves as an arrow. */
function differenceMarks(row, zero, domain) {
  const clip = (x, edge) => (Number.isFinite(x) && x !== null ? zero + x : edge);
  const low = clip(row.ci_low, domain[0]), high = clip(row.ci_high, domain[1]);
  const arrow = (open, at, text) => (open ? [Plot.text([text], { x: 2, y: at, text: (d) => d, fontSize: 15 })] : []);
  return [
    Plot.ruleY([zero], { x1: 0.72, x2: 2.5, stroke: "var(--ink)", strokeOpacity: 0.5, strokeDasharray: "2 3" }),
    Plot.ruleX([2], { y1: low, y2: high, stroke: "var(--ink)", strokeWidth: 1.6 }),
    ...arrow(!Number.isFinite(row.ci_low), domain[0], "\u2193"),
    ...arrow(!Number.isFinite(row.ci_high), domain[1], "\u2191"),
    Plot.dot([zero + row.difference], { x: 2, y: (d) => d, symbol: "diamond", fill: "var(--ink)", r: 6 }),
  ];
}
