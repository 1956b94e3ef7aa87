// Every index's effect and interval in one picture, and how robust the primary contrast is.
import * as Plot from "@observablehq/plot";
import { choice, putFigure, putNothing, records } from "./dom.js";
import { earMarks, earNote, earWords } from "./ear.js";
import { cut, plot } from "./marks.js";
import { interval, pValue, sentence, several, short, tick } from "./numbers.js";

/** The row in units of the deviation within classes: Hedges' g, its interval scaled by the same factor. */
function standardised(row) {
  if (row.hedges_g === null || !row.difference) return null;
  const scale = row.hedges_g / row.difference;
  const ends = [row.ci_low, row.ci_high].map((x) => (x === null ? null : x * scale));
  return { ...row, g: row.hedges_g, low: ends[0], high: ends[1] };
}

export function effectsChart(place, survey) {
  const windows = survey.windows.map((w) => w.name).filter((name) => survey.contrasts.some((row) => row.window === name));
  if (!windows.length) return putNothing(place, "No contrast has been worked out, so there are no effects to draw.");
  const holder = document.createElement("div");
  const draw = (window) => {
    holder.replaceChildren();
    effectsIn(holder, survey, window);
  };
  const first = windows.includes(survey.primary.window) ? survey.primary.window : windows[0];
  place.append(choice("Window", windows.map((w) => [w, w]), first, draw), holder);
  draw(first);
}

function effectsIn(place, survey, window) {
  const rows = survey.contrasts.filter((row) => row.window === window && row.p !== null).map(standardised).filter(Boolean);
  if (!rows.length) return putNothing(place, `No index could be tested in the ${window} window.`);
  const limit = 1 - survey.survey.level + 1e-12;
  const clear = rows.filter((row) => row.p_adjusted <= limit);
  const { a, b } = survey.survey;
  const title = `${sentence(clear.length ? several(clear.length, "index", "indices") : "no index")} of ${rows.length} ${clear.length > 1 ? "set" : "sets"} ` +
    `${a} and ${b} stands apart in the ${window} window`;
  rows.sort((p, q) => q.g - p.g);
  putFigure(place, {
    name: `effects-${window}`, title,
    subtitle: `Difference ${a} minus ${b} in standard deviations of sites within a class (Hedges' g), its ` +
      `${Math.round(100 * survey.survey.level)} % interval divided by the same deviation, p beside it adjusted by the largest t over the secondary outcomes ` +
      "(the declared outcome's, in bold, is not adjusted). An arrow is an interval without an end.",
    alt: `${title}. ` + rows.slice(0, 6).map((r) => `${r.index}: g ${short(r.g)}, ${interval(r.low, r.high)}, p ${pValue(r.p_adjusted)}`)
      .join("; ") + (rows.length > 6 ? "; the rest is in the table. " : ". ") + earWords(survey, rows.map((r) => r.index)),
    note: earNote(survey, rows.map((r) => r.index)),
    draw: (width) => effectsPlot(survey, rows, limit, width),
    tables: [[survey.tables.listening, "each index against the ear"], [survey.tables.contrasts, "all contrasts"]],
  });
}

function effectsPlot(survey, rows, limit, width) {
  const finite = rows.flatMap((r) => [r.g, r.low, r.high, 0]).filter((x) => x !== null && Number.isFinite(x));
  const span = Math.max(...finite) - Math.min(...finite) || 1;
  const domain = [Math.min(...finite) - 0.05 * span, Math.max(...finite) + 0.05 * span];
  const clip = (x, edge) => (Number.isFinite(x) ? x : edge);
  const bold = (row) => row.role === "primary";
  const room = Math.min(170, 16 + 7 * Math.max(...rows.map((r) => Math.min(r.index.length, 20))));
  const clear = rows.filter((row) => row.p_adjusted <= limit), unclear = rows.filter((row) => row.p_adjusted > limit);
  const dots = (own, fill) => Plot.dot(own, { x: "g", y: "index", r: 5, fill, stroke: "var(--ink)", strokeWidth: 1.6 });
  const { a, b } = survey.survey;
  const ear = earMarks(survey, rows, { x: domain[1], dx: 86, width });
  return plot(width, { height: 74 + 22 * rows.length, marginLeft: room, marginRight: 70 + ear.room, marginTop: 24, marginBottom: 42,
    x: { domain, label: "standard deviations", labelAnchor: "center", labelArrow: "none", ticks: width > 500 ? 8 : 4, tickFormat: tick },
    y: { domain: rows.map((r) => r.index), axis: null }, marks: [
      Plot.ruleX([0], { stroke: "var(--ink)", strokeOpacity: 0.6 }),
      Plot.gridY({ stroke: "var(--ink)", strokeOpacity: 0.12 }),
      Plot.text(rows.filter((r) => !bold(r)), { x: domain[0], y: "index", text: (r) => cut(r.index, 20), textAnchor: "end", dx: -10 }),
      Plot.text(rows.filter(bold), { x: domain[0], y: "index", text: (r) => cut(r.index, 20), textAnchor: "end", dx: -10, fontWeight: 700 }),
      Plot.ruleY(rows, { y: "index", x1: (r) => clip(r.low, domain[0]), x2: (r) => clip(r.high, domain[1]), stroke: "var(--ink)", strokeWidth: 1.4 }),
      Plot.text(rows.filter((r) => r.low === -Infinity), { x: domain[0], y: "index", text: () => "\u25c2", dx: 1 }),
      Plot.text(rows.filter((r) => r.high === Infinity), { x: domain[1], y: "index", text: () => "\u25b8", dx: -1 }),
      dots(clear, "var(--ink)"), dots(unclear, "var(--paper)"),
      Plot.text(rows, { x: domain[1], y: "index", text: (r) => `p ${pValue(r.p_adjusted)}`, textAnchor: "start", dx: 8,
        fontWeight: 400 }),
      Plot.text([`\u2190 ${cut(b, 14)} higher`], { frameAnchor: "top-left", dx: -room, dy: -18, text: (d) => d, fill: "var(--soft)",
        textAnchor: "start" }),
      ...ear.marks,
      Plot.text([`${cut(a, 14)} higher \u2192`], { frameAnchor: "top-right", dy: -18, text: (d) => d, fill: "var(--soft)", textAnchor: "end" }),
    ] });
}

/**
 * The primary contrast under other choices, one row a choice, as robustness.csv has them. In standard deviations: a
 * difference in the index's own unit changes with the frame length, for one.
 */
export function robustnessChart(place, survey) {
  const table = survey.tables.robustness;
  const rows = records(table).map(standardised).filter(Boolean)
    .map((row, i) => ({ ...row, key: `${i}`, label: [row.choice, row.variant].filter(Boolean).join(": ") }));
  if (!rows.length) return putNothing(place, "Under no other choice could the primary contrast be tested.");
  const same = rows.filter((row) => Math.sign(row.g) === Math.sign(rows[0].g)).length;
  const title = same === rows.length ? `The difference keeps its sign under all ${rows.length} choices tried`
    : `The difference keeps its sign under ${same} of ${rows.length} choices tried`;
  const extent = (of) => short(of(...rows.map((row) => row.g)));
  putFigure(place, {
    name: "robustness", title,
    subtitle: "The primary contrast worked out again with one choice changed at a time: difference in standard deviations of sites " +
      "within a class (Hedges' g), its interval divided by the same deviation. The first row is the survey as declared; an open mark: another verdict than there.",
    alt: `${title}. Hedges' g runs from ${extent(Math.min)} to ${extent(Math.max)}.`,
    draw: (width) => robustnessPlot(rows, width),
    tables: [[table, "the primary contrast under other choices"]],
  });
}

function robustnessPlot(rows, width) {
  const room = Math.min(width * 0.5, 16 + 6.6 * Math.max(...rows.map((r) => Math.min(r.label.length, 40))));
  const finite = rows.flatMap((r) => [r.g, r.low, r.high, 0]).filter((x) => x !== null && Number.isFinite(x));
  const domain = [Math.min(...finite), Math.max(...finite)];
  const end = (x, edge) => (Number.isFinite(x) ? x : edge);
  const text = new Map(rows.map((r) => [r.key, cut(r.label, Math.floor((room - 12) / 6.6))]));
  return plot(width, { height: 56 + 20 * rows.length, marginLeft: room, marginRight: 16, marginBottom: 42, marginTop: 8,
    x: { domain, nice: true, label: "standard deviations", labelAnchor: "center", labelArrow: "none", tickFormat: tick, ticks: width > 500 ? 8 : 4 },
    y: { domain: rows.map((r) => r.key), label: null, tickFormat: (key) => text.get(key), tickSize: 0 }, marks: [
      Plot.ruleX([0], { stroke: "var(--ink)", strokeOpacity: 0.6 }),
      Plot.ruleX([rows[0].g], { stroke: "var(--ink)", strokeOpacity: 0.35, strokeDasharray: "2 3" }),
      Plot.ruleY(rows, { y: "key", x1: (r) => end(r.low, domain[0]), x2: (r) => end(r.high, domain[1]), stroke: "var(--ink)", strokeWidth: 1.4 }),
      ...[0, 1].map((same) => Plot.dot(rows.filter((r) => (r.same_significance === 0 ? 0 : 1) === same), { x: "g", y: "key", r: 4.5,
        stroke: "var(--ink)", strokeWidth: 1.6, fill: same ? "var(--ink)" : "var(--paper)" })),
    ] });
}
