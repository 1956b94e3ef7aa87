// The answer: every site of both classes, and the difference with its interval on an axis that shares the
// sites' scale, zero at the second class's mean.
import * as Plot from "@observablehq/plot";
import { putFigure, putNothing } from "./dom.js";
import { cut, look, placer, plot, roles, sitesOf } from "./marks.js";
import { count, interval, pValue, reaches, sentence, several, short, tick } from "./numbers.js";

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

/** What the row says, in the words of its verdict: higher only where a difference is shown. */
function answerTitle(survey, row, name) {
  const { a, b, level } = survey.survey;
  if (!row || row.p === null) return `Not compared: ${name} of ${a} and ${b} sites`;
  const difference = `${a} minus ${b} is ${short(row.difference)} in these sites`;
  if (!reaches(row.p_min, level)) return `Nothing is shown either way in ${name}: ${difference}, and so few cannot decide`;
  if (!reaches(row.p_adjusted, level)) return `No difference is shown in ${name}: ${difference}`;
  return `${sentence(row.difference > 0 ? a : b)} sites have the higher ${name}, by ${short(Math.abs(row.difference))}` +
    (row.role === "primary" ? "" : " (after adjustment)");
}

function answerSubtitle(survey, row, index, window) {
  const { a, b, level } = survey.survey;
  const what = `${sentence(survey.title(index))} (${survey.unit(index)}), mean of the ${window} window over dates.`;
  if (!row || row.p === null) return `${what} ${row?.verdict ?? ""}`;
  const left = survey.leftOut.map(({ site, why }) => `${site} (${why})`);
  return `${what} n = ${row.n_a} ${a} and ${row.n_b} ${b} sites. The interval holds the shifts that the sites do not contradict at ` +
    `${tick(100 * level)} %: ${interval(row.ci_low, row.ci_high)}; p = ${pValue(row.p)} from ${count(row.relabellings)} permutations of the sites, ` +
    `least attainable ${pValue(row.p_min)}.` + (left.length ? ` Not compared, and drawn as crosses: ${left.join(", ")}.` : "");
}

export function answerChart(place, survey) {
  const { index, window } = survey.primary ?? {};
  const row = index && survey.contrast(index, window);
  const out = new Set(survey.leftOut.map(({ site }) => site));
  const rows = survey.windowMeans.filter((r) => r.window === window && r.role !== "other" && r[index] !== null)
    .map((r) => ({ site: r.site, role: r.role, out: out.has(r.site), value: r[index], dates: r.dates, kept: r.kept }));
  if (!rows.length)
    return putNothing(place, "No site of the two classes has a value yet, so there is nothing to draw.");
  const tested = Boolean(row) && row.p !== null;
  const inside = rows.filter((r) => !r.out);
  const above = inside.filter((r) => r.role === "a").filter((r) => inside.every((o) => o.role === "a" || r.value > o.value));
  const title = answerTitle(survey, row, `${survey.title(index)} of the ${window} window`);
  putFigure(place, {
    name: `${index}-${window}-sites`, title, subtitle: answerSubtitle(survey, row, index, window),
    alt: `${title}. Values from ${words(Math.min(...rows.map((r) => r.value)))} to ` +
      `${words(Math.max(...rows.map((r) => r.value)))}. ${above.length} of ${inside.filter((r) => r.role === "a").length} ` +
      `${survey.survey.a} sites lie above every ${survey.survey.b} site.` +
      (tested ? ` Difference ${short(row.difference)}, interval ${interval(row.ci_low, row.ci_high)}.` : ""),
    draw: (width) => answerPlot(survey, rows, row, tested, width),
    values: (svg) => answerValues(survey, svg, rows, row, tested),
    tables: [[survey.tables.windows, "values of the sites by window"], [survey.tables.contrasts, "all contrasts"]],
  }, survey);
}

function answerValues(survey, svg, rows, row, tested) {
  const at = placer(svg), unit = survey.unitBehind(survey.primary.index);
  const sites = svg.places.map((r) => ({ group: r.role, x: at.x(r.column), y: at.y(r.value),
    words: `${r.site}, ${survey.className(r.role)}: ${short(r.value)}${unit}, over ${several(r.dates, "date")} and ${several(r.kept, "segment")}` +
      (r.out ? `; not compared: ${survey.leftOut.find(({ site }) => site === r.site).why}` : "") }));
  if (!tested) return sites;
  return [...sites, { group: "difference", x: at.x(2), y: at.y(row.mean_b + row.difference),
    words: `Difference ${survey.survey.a} minus ${survey.survey.b}: ${short(row.difference)}${unit}, interval ${interval(row.ci_low, row.ci_high)}` }];
}

function answerPlot(survey, rows, row, tested, width) {
  const { a, b } = survey.survey;
  const zero = tested ? row.mean_b : null;
  const finite = tested ? [zero, zero + row.difference, ...[row.ci_low, row.ci_high].filter(Number.isFinite).map((x) => zero + x)] : [];
  const all = [...rows.map((r) => r.value), ...finite];
  const span = Math.max(...all) - Math.min(...all) || Math.abs(all[0]) / 10 || 1;
  const domain = [Math.min(...all) - 0.06 * span, Math.max(...all) + 0.06 * span];
  const height = Math.min(430, Math.max(300, width * 0.6));
  const columns = tested ? 3 : 2, lane = 13 / ((width - 110) / columns);
  const means = tested ? [row.mean_a, row.mean_b] : roles.map(() => null);
  const places = roles.flatMap((role, column) => spread(rows.filter((r) => r.role === role), height - 70, domain[1] - domain[0])
    .map((r) => ({ ...r, column: column + r.lane * lane })));
  const room = Math.floor(((width - 110) / columns) * 0.6 / 6);
  const apart = (r) => places.every((o) => o === r || o.role !== r.role || Math.abs(o.value - r.value) * (height - 70) > 12 * (domain[1] - domain[0]));
  const marks = [
    ...roles.flatMap((role, column) => (means[column] === null ? [] : [Plot.ruleY([means[column]], { x1: column - 0.3, x2: column + 0.3,
      stroke: look(role).colour, strokeWidth: 2, strokeDasharray: look(role).dash })])),
    ...roles.map((role) => sitesOf(role, places.filter((r) => !r.out), { x: "column", y: "value" })),
    sitesOf("out", places.filter((r) => r.out).map((r) => ({ ...r, role: "out" })), { x: "column", y: "value" }),
    Plot.text(places.filter((r) => (width > 560 && places.length <= 16 && apart(r)) || r.out), { x: "column", y: "value", text: (r) => cut(r.site, room),
      dx: 10, textAnchor: "start", fill: "var(--soft)", stroke: "var(--paper)", strokeWidth: 3, fontSize: 12 }),
    ...(tested ? differenceMarks(row, zero, domain) : []),
  ];
  const letters = Math.max(6, Math.floor((width - 70) / columns / 8));
  const names = [`\u25cf ${cut(a, letters)}`, `\u25a1 ${cut(b, letters)}`, width > 480 ? `difference, ${cut(a, 9)} \u2212 ${cut(b, 9)}` : "difference"];
  const ticks = tested ? differenceTicks(zero, domain) : [];
  const svg = plot(width, { height, marginLeft: 54, marginRight: tested ? 54 : 12, marginTop: 28, marginBottom: 34,
    x: { domain: [-0.5, columns - 0.5], axis: null }, y: { domain, label: null, grid: false }, marks: [
      Plot.axisY({ anchor: "left", label: null, tickFormat: tick, ticks: 6, tickSize: 4 }),
      tested ? Plot.axisY(ticks.map((t) => t.at), { anchor: "right", label: null, tickSize: 4,
        tickFormat: (v) => ticks.find((t) => t.at === v).text }) : null,
      Plot.text(names.slice(0, columns), { x: (_, i) => i, frameAnchor: "bottom", dy: 26, text: (d) => d, fontWeight: 700 }),
      Plot.text([survey.unit(survey.primary.index)], { frameAnchor: "top-left", dx: -50, dy: -22, textAnchor: "start", fill: "var(--soft)" }),
      ...marks,
    ] });
  svg.places = places;
  return svg;
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
