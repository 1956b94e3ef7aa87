// Every index's effect and interval in one picture.
import * as Plot from "@observablehq/plot";
import { choice, putFigure, putNothing } from "./dom.js";
import { earMarks, earNote, earWords } from "./ear.js";
import { cut, placer, plot } from "./marks.js";
import { interval, pValue, reaches, sentence, several, short, tick } from "./numbers.js";

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

/** How many of the indices differ once all are considered, and how many more only when taken alone. */
function effectsTitle(survey, rows, window) {
  const { a, b, level } = survey.survey;
  const reached = rows.filter((row) => row.shown), clear = reached.length;
  const declared = reached.some((row) => row.role === "primary") ? (clear === 1 ? ", the declared one," : ", the declared one among them,") : "";
  const alone = rows.filter((row) => reaches(row.deciding, level)).length - clear;
  const more = alone > 0 ? `, ${clear ? `${several(alone, "more", "more")} only` : `though ${several(alone, "does", "do")} so`} when taken alone` : "";
  return `After adjustment ${several(clear, "index", "indices")} of ${rows.length}${declared} ${clear === 1 ? "is" : "are"} shown to differ between ${a} and ${b} ` +
    `stands in the ${window} window${more}`;
}

function effectsIn(place, survey, window) {
  const rows = survey.contrasts.filter((row) => row.window === window && row.p !== null).map(standardised).filter(Boolean);
  if (!rows.length) return putNothing(place, `No index could be tested in the ${window} window.`);
  const { a, b, level } = survey.survey;
  const title = effectsTitle(survey, rows, window);
  rows.sort((p, q) => q.g - p.g);
  putFigure(place, {
    name: `effects-${window}`, title,
    subtitle: `Difference ${a} minus ${b} in standard deviations of sites within a class (Hedges' g), its ` +
      `${tick(100 * level)} % interval divided by the same deviation, unadjusted; p beside it is adjusted by the largest t over the secondary outcomes of all windows ` +
      "(the declared outcome's, in bold, is not adjusted), and a filled mark is one that is shown to differ. An arrow is an interval without an end.",
    alt: `${title}. ` + rows.slice(0, 6).map((r) => `${r.index}: g ${short(r.g)}, ${interval(r.low, r.high)}, p ${pValue(r.p_adjusted)}`)
      .join("; ") + (rows.length > 6 ? "; the rest is in the table. " : ". ") + earWords(survey, rows.map((r) => r.index)),
    note: earNote(survey, rows.map((r) => r.index)),
    draw: (width) => effectsPlot(survey, rows, width),
    values: (svg) => {
      const at = placer(svg);
      return rows.map((r) => ({ group: r.index, x: at.x(r.g), y: at.y(r.index), words: `${sentence(survey.title(r.index))}: ${a} ` +
        `${short(r.mean_a)}, ${b} ${short(r.mean_b)}, difference ${short(r.difference)} (${interval(r.ci_low, r.ci_high)}), g ${short(r.g)}, ` +
        `p ${pValue(r.p)}, adjusted ${pValue(r.p_adjusted)}` }));
    },
    tables: [[survey.tables.listening, "each index against the ear"], [survey.tables.contrasts, "all contrasts"]],
  }, survey);
}

function effectsPlot(survey, rows, width) {
  const finite = rows.flatMap((r) => [r.g, r.low, r.high, 0]).filter((x) => x !== null && Number.isFinite(x));
  const span = Math.max(...finite) - Math.min(...finite) || 1;
  const domain = [Math.min(...finite) - 0.05 * span, Math.max(...finite) + 0.05 * span];
  const clip = (x, edge) => (Number.isFinite(x) ? x : edge);
  const bold = (row) => row.role === "primary";
  // On narrow charts a name stands above its line, not beside it.
  const narrow = width < 560, name = (row) => cut(survey.title(row.index), narrow ? Math.floor((width - 90) / 6.8) : 42), row = narrow ? 36 : 22;
  const room = narrow ? 10 : 14 + 7 * Math.max(...rows.map((r) => name(r).length));
  const clear = rows.filter((row) => row.shown), unclear = rows.filter((row) => !row.shown);
  const dots = (own, fill) => Plot.dot(own, { x: "g", y: "index", r: 5, fill, stroke: "var(--ink)", strokeWidth: 1.6 });
  const { a, b } = survey.survey, named = narrow ? { textAnchor: "start", dy: -13, stroke: "var(--paper)", strokeWidth: 3, fill: "var(--ink)" } : { textAnchor: "end", dx: -10 };
  const ear = earMarks(survey, rows, { x: domain[1], dx: 86, width });
  return plot(width, { height: 74 + row * rows.length, marginLeft: room, marginRight: 78 + ear.room, marginTop: narrow ? 30 : 24, marginBottom: 42,
    x: { domain, label: "standard deviations", labelAnchor: "center", labelArrow: "none", ticks: width > 500 ? 8 : 4, tickFormat: tick },
    y: { domain: rows.map((r) => r.index), axis: null }, marks: [
      Plot.ruleX([0], { stroke: "var(--ink)", strokeOpacity: 0.6 }),
      Plot.gridY({ stroke: "var(--ink)", strokeOpacity: 0.12 }),
      Plot.text(rows.filter((r) => !bold(r)), { x: domain[0], y: "index", text: name, ...named }),
      Plot.text(rows.filter(bold), { x: domain[0], y: "index", text: name, ...named, fontWeight: 700 }),
      Plot.ruleY(rows, { y: "index", x1: (r) => clip(r.low, domain[0]), x2: (r) => clip(r.high, domain[1]), stroke: "var(--ink)", strokeWidth: 1.4 }),
      Plot.text(rows.filter((r) => r.low === -Infinity), { x: domain[0], y: "index", text: () => "\u25c2", dx: 1 }),
      Plot.text(rows.filter((r) => r.high === Infinity), { x: domain[1], y: "index", text: () => "\u25b8", dx: -1 }),
      dots(clear, "var(--ink)"), dots(unclear, "var(--paper)"),
      Plot.text(rows, { x: domain[1], y: "index", text: (r) => `p ${pValue(r.p_adjusted)}`, textAnchor: "start", dx: 8,
        fontWeight: 400 }),
      Plot.text([`\u2190 ${cut(b, 14)} higher`], { frameAnchor: "top-left", dx: -room, dy: narrow ? -22 : -18, text: (d) => d, fill: "var(--soft)",
        textAnchor: "start" }),
      ...ear.marks,
      Plot.text([`${cut(a, 14)} higher \u2192`], { frameAnchor: "top-right", dy: narrow ? -22 : -18, text: (d) => d, fill: "var(--soft)", textAnchor: "end" }),
    ] });
}
