// The primary contrast under every setting: estimates and intervals, sorted, with marks below for the levels of each
// choice, and how the estimate moves when each site is left out. In standard deviations: a difference in the index's own unit
// changes with the frame length, for one.
import * as Plot from "@observablehq/plot";
import { putFigure, putNothing } from "./dom.js";
import { cut, placer, plot } from "./marks.js";
import { count, interval, pValue, short, tick } from "./numbers.js";

const infinite = (x) => (x === "inf" ? Infinity : x === "-inf" ? -Infinity : x);
const open = (row) => ({ ...row, low: infinite(row.low), high: infinite(row.high) });

/** The worst first: how many settings turn the sign. */
function settingsTitle({ settings, same_sign: same }) {
  return same === settings ? `The difference keeps its sign under all ${count(settings)} settings`
    : `The difference keeps its sign under ${count(same)} of ${count(settings)} settings, and turns under ${count(settings - same)}`;
}

export function settingsChart(place, survey) {
  const { factors, words } = survey.robustness;
  const without = survey.robustness.without.map(open);
  const declared = survey.robustness.grid[0];
  const grid = survey.robustness.grid.map((row) => ({ ...open(row), declared: row === declared })).filter((row) => row.g !== null)
    .sort((p, q) => p.g - q.g).map((row, rank) => ({ ...row, rank }));
  if (!grid.length) return putNothing(place, "Under no setting could the primary contrast be tested.");
  const named = (row) => factors.map((factor, f) => `${factor.name} ${factor.levels[row.levels[f]]}`).join(", ");
  const told = (row) => `g ${short(row.g)} (${interval(row.low, row.high)}), p ${pValue(row.p)}${row.sign ? "" : ", the other sign"}` +
    `${row.verdict ? "" : ", another verdict"}`;
  const title = settingsTitle(survey.robustness);
  putFigure(place, {
    name: "robustness", title,
    subtitle: `${words} Each line is a setting, sorted: difference in standard deviations of sites within a class (Hedges' g), its interval ` +
      "divided by the same deviation; filled where it reaches the level, the declared one ringed. Ticks to the left: the declared setting with each " +
      "site left out. Marks below: which level of each choice the setting has, * as declared.",
    alt: `${title}. Hedges' g runs from ${short(grid[0].g)} to ${short(grid.at(-1).g)}.`,
    draw: (width) => settingsPlot(grid, without, factors, width),
    values: (svg) => {
      const at = placer(svg);
      return [...grid.map((row) => ({ group: "settings", x: at.x(row.rank), y: at.y(row.g),
        words: `${row.declared ? "As declared, " : ""}${named(row)}: ${told(row)}` })),
      ...without.map((row) => ({ group: "sites", x: svg.tickAt, y: at.y(row.g), words: `Without ${row.site}: ${told(row)}` }))];
    },
    tables: [[survey.tables.robustness, "one choice changed at a time, and each site left out"]],
  }, survey);
}

const kRow = 15, kCurve = 280, kTop = 12, kGap = 26;

function settingsPlot(grid, without, factors, width) {
  const narrow = width < 520;
  const rows = factors.flatMap((factor, f) => [{ head: factor.name },
    ...factor.levels.map((level, i) => ({ f, i, text: `${level}${i === 0 ? " *" : ""}` }))]);
  const room = narrow ? 120 : 190, below = kGap + kRow * rows.length;
  const finite = [...grid, ...without].flatMap((r) => [r.g, r.low, r.high, 0]).filter((x) => x !== null && Number.isFinite(x));
  const domain = [Math.min(...finite), Math.max(...finite)];
  const clip = (x, edge) => (Number.isFinite(x) ? x : edge);
  const height = kTop + kCurve + below + 8;
  const x = [-0.5, grid.length - 0.5], dx = -10;
  const line = (k) => kCurve + kGap + kRow * (k + 0.5) - kCurve / 2; // px below the middle of the curve's frame
  const clear = (row) => row.clear;
  const svg = plot(width, { height, marginLeft: room, marginRight: 8, marginTop: kTop, marginBottom: below + 8, x: { domain: x, axis: null },
    y: { domain, nice: false, label: null }, marks: [
      Plot.axisY({ anchor: "left", label: null, tickFormat: tick, ticks: 6, tickSize: 4, dx: -14 }),
      Plot.ruleY([0], { stroke: "var(--ink)", strokeOpacity: 0.6 }),
      ...[true, false].map((is) => Plot.ruleX(grid.filter((r) => clear(r) === is && r.low !== null), { x: "rank", y1: (r) => clip(r.low, domain[0]),
        y2: (r) => clip(r.high, domain[1]), stroke: "var(--ink)", strokeOpacity: is ? 0.45 : 0.22, strokeWidth: grid.length > 300 ? 0.7 : 1.2 })),
      Plot.dot(grid.filter(clear), { x: "rank", y: "g", r: 2, fill: "var(--ink)" }),
      Plot.dot(grid.filter((r) => !clear(r)), { x: "rank", y: "g", r: 2, fill: "var(--paper)", stroke: "var(--ink)", strokeWidth: 1 }),
      Plot.dot(grid.filter((r) => r.declared), { x: "rank", y: "g", r: 7, stroke: "var(--ink)", strokeWidth: 2 }),
      Plot.tickY(without, { y: "g", x: null, insetLeft: dx, insetRight: width - room - 8, stroke: "var(--ink)", strokeWidth: 1.4 }),
      ...rows.map((row, k) => Plot.text([row.head ?? row.text], { frameAnchor: "left", dx: row.head ? -room : -8, dy: line(k),
        textAnchor: row.head ? "start" : "end", fontWeight: row.head ? 700 : 400, fontSize: 12, text: (d) => cut(d, Math.floor((room - 14) / 7.2)) })),
    ] });
  const at = placer(svg);
  const marks = document.createElementNS("http://www.w3.org/2000/svg", "path");
  const step = (width - room - 8) / grid.length;
  marks.setAttribute("d", grid.flatMap((row) => rows.map((level, k) => (level.head || row.levels[level.f] !== level.i ? "" :
    `M${at.x(row.rank).toFixed(1)} ${kTop + kCurve / 2 + line(k) - 5}v10`))).join(""));
  marks.setAttribute("stroke", "var(--ink)");
  marks.setAttribute("stroke-width", Math.min(2, Math.max(0.6, step * 0.7)));
  marks.setAttribute("fill", "none");
  svg.append(marks);
  svg.tickAt = room - 5;
  return svg;
}
