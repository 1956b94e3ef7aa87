// The answer: every site of both classes, and the difference with its interval on an axis that shares the
// sites' scale, zero at the second class's mean.
import * as Plot from "@observablehq/plot";
import { putFigure, putNothing } from "./dom.js";
import { cut, look, placer, plot, roles, sitesOf } from "./marks.js";
import { count, interval, mean, pValue, reaches, sentence, several, short, tick } from "./numbers.js";

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
  if (!row.shown) return `No difference is shown in ${name}: ${difference}`;
  const higher = sentence(row.difference > 0 ? a : b), by = short(Math.abs(row.difference));
  const counted = survey.columnByName.get(row.index)?.unit === "1/min";
  return (counted ? `${higher} sites have more ${name}, by ${by} a minute` : `${higher} sites have the higher ${name}, by ${by}`) +
    (row.role === "primary" ? "" : " (after adjustment)");
}

function answerSubtitle(survey, row, index, window) {
  const { a, b, level } = survey.survey;
  const what = `${sentence(survey.title(index))} (${survey.unit(index)}), mean of the ${window} window over dates.`;
  if (!row || row.p === null) return `${what} ${row ? sentence(row.verdict.slice(row.verdict.indexOf(": ") + 2)) : ""}`;
  const left = survey.leftOut.map(({ site, why }) => `${site} (${why})`);
  return `${what} n = ${row.n_a} ${a} and ${row.n_b} ${b} sites. The interval holds the shifts that the sites do not contradict at ` +
    `${tick(100 * level)} %: ${interval(row.ci_low, row.ci_high)}; p = ${pValue(row.deciding)}` +
    (row.deciding === row.p ? "" : ` (the larger of ${pValue(row.p)} and, as the numbers of sites differ, ${pValue(row.p_unequal)})`) +
    ` from ${count(row.permutations)} permutations of the sites, least attainable ${pValue(row.p_min)}.` + (left.length ? ` Not compared, and drawn as crosses: ${left.join(", ")}.` : "");
}

export function answerChart(place, survey) {
  const { index, window } = survey.primary ?? {};
  const row = index && survey.contrast(index, window);
  const out = new Set(survey.leftOut.map(({ site }) => site));
  const rows = survey.windowMeans.filter((r) => r.window === window && r.role !== "other" && r[index] !== null)
    .map((r) => ({ site: r.site, role: r.role, out: out.has(r.site), value: r[index], dates: r.dates, kept: r.kept,
      block: survey.siteByName.get(r.site).block }));
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
  const sites = svg.places.map((r) => ({ group: `${r.block} ${r.role}`, x: at.x(r.column), y: at.y(r.value),
    words: `${r.site}, ${survey.className(r.role)}: ${short(r.value)}${unit}, over ${several(r.dates, "date")} and ${several(r.kept, "segment")}` +
      (r.out ? `; not compared: ${survey.leftOut.find(({ site }) => site === r.site).why}` : "") }));
  if (!tested) return sites;
  return [...sites, ...roles.map((role) => ({ group: "means", x: at.x(svg.last), y: at.y(role === "a" ? row.mean_a : row.mean_b),
    words: `Mean of the ${survey.className(role)} sites: ${short(role === "a" ? row.mean_a : row.mean_b)}${unit}` })),
  { group: "difference", x: at.x(svg.difference), y: at.y(row.mean_b + row.difference),
    words: `Difference ${survey.survey.a} minus ${survey.survey.b}: ${short(row.difference)}${unit}, interval ${interval(row.ci_low, row.ci_high)}` }];
}

/** Where the classes stand along x: side by side, or block by block where there is room for the pairs. */
function columnsOf(survey, rows, width) {
  const blocks = [...new Set(rows.map((r) => r.block))].sort();
  const paired = survey.survey.block !== "" && blocks.length > 1 && blocks.length <= (width - 150) / 56;
  if (!paired) return { paired, blocks: [], count: 2, of: (r) => (r.role === "a" ? 0 : 1) };
  return { paired, blocks, count: blocks.length, of: (r) => blocks.indexOf(r.block) + (r.role === "a" ? -0.2 : 0.2) };
}

/** Means of the classes within a block, joined: how far apart, and which way. */
function pairLines(columns, places) {
  const inside = places.filter((r) => !r.out);
  return columns.blocks.flatMap((block, i) => {
    const ends = roles.map((role) => inside.filter((r) => r.block === block && r.role === role).map((r) => r.value));
    if (ends.some((values) => !values.length)) return [];
    const [y1, y2] = ends.map(mean);
    return [Plot.link([{ x1: i - 0.2, y1, x2: i + 0.2, y2 }], { x1: "x1", y1: "y1", x2: "x2", y2: "y2", stroke: "var(--ink)", strokeOpacity: 0.35, strokeWidth: 1.2 })];
  });
}

function answerPlot(survey, rows, row, tested, width) {
  const { a, b } = survey.survey;
  const zero = tested ? row.mean_b : null;
  const finite = tested ? [zero, zero + row.difference, ...[row.ci_low, row.ci_high].filter(Number.isFinite).map((x) => zero + x)] : [];
  const all = [...rows.map((r) => r.value), ...finite];
  const span = Math.max(...all) - Math.min(...all) || Math.abs(all[0]) / 10 || 1;
  const domain = [Math.min(...all) - 0.06 * span, Math.max(...all) + 0.06 * span];
  const height = Math.min(430, Math.max(300, width * 0.6));
  const columns = columnsOf(survey, rows, width), last = columns.count - 0.45, difference = columns.count + (columns.paired ? 0.25 : 0);
  const lane = 11 / ((width - 110) / (columns.count + 1)), end = tested ? difference + 0.5 : columns.count - 0.5;
  const places = roles.flatMap((role) => {
    const own = rows.filter((r) => r.role === role);
    const groups = columns.paired ? columns.blocks.map((block) => own.filter((r) => r.block === block)) : [own];
    return groups.flatMap((group) => spread(group, height - 70, domain[1] - domain[0])).map((r) => ({ ...r, column: columns.of(r) + r.lane * lane }));
  });
  const room = Math.floor(((width - 110) / columns.count) * 0.6 / 6);
  const apart = (r) => places.every((o) => o === r || o.role !== r.role || Math.abs(o.value - r.value) * (height - 70) > 12 * (domain[1] - domain[0]));
  const named = places.filter((r) => (!columns.paired && width > 560 && places.length <= 16 && apart(r)) || r.out);
  const meanOf = { a: row?.mean_a, b: row?.mean_b };
  const close = tested && Math.abs(row.mean_a - row.mean_b) * (height - 70) < 30 * (domain[1] - domain[0]);
  const marks = [
    ...(tested ? roles.map((role) => Plot.ruleY([meanOf[role]], { x1: columns.paired ? -0.45 : columns.of({ role }) - 0.3, x2: columns.paired ? last : columns.of({ role }) + 0.3,
      stroke: look(role).colour, strokeWidth: columns.paired ? 1.4 : 2, strokeDasharray: look(role).dash })) : []),
    ...pairLines(columns, places),
    ...roles.map((role) => sitesOf(role, places.filter((r) => !r.out), { x: "column", y: "value" })),
    sitesOf("out", places.filter((r) => r.out).map((r) => ({ ...r, role: "out" })), { x: "column", y: "value" }),
    Plot.text(named, { x: "column", y: "value", text: (r) => cut(r.site, room),
      dx: 10, textAnchor: "start", fill: "var(--soft)", stroke: "var(--paper)", strokeWidth: 3, fontSize: 12 }),
    ...(tested && columns.paired ? roles.map((role) => Plot.text([meanOf[role]], { x: last, y: (v) => v, text: (v) => short(v), textAnchor: "end", lineAnchor: close && (meanOf[role] === Math.min(row.mean_a, row.mean_b)) ? "top" : "bottom",
      dy: close && meanOf[role] === Math.min(row.mean_a, row.mean_b) ? 5 : -4, fill: look(role).colour, fontWeight: 700, stroke: "var(--paper)", strokeWidth: 3 })) : []),
    ...(tested ? differenceMarks(row, zero, domain, difference) : []),
  ];
  const letters = Math.max(5, Math.floor((width - 110) / (columns.count + 1) / 7.4));
  const heads = columns.paired ? columns.blocks.map((block) => cut(block, letters)) : [`\u25cf ${cut(a, letters)}`, `\u25a1 ${cut(b, letters)}`];
  const ticks = tested ? differenceTicks(zero, domain) : [];
  const svg = plot(width, { height, marginLeft: 54, marginRight: tested ? 54 : 12, marginTop: 34, marginBottom: 34,
    x: { domain: [-0.5, end], axis: null }, y: { domain, label: null, grid: false }, marks: [
      Plot.axisY({ anchor: "left", label: null, tickFormat: tick, ticks: 6, tickSize: 4 }),
      tested ? Plot.axisY(ticks.map((t) => t.at), { anchor: "right", label: null, tickSize: 4,
        tickFormat: (v) => ticks.find((t) => t.at === v).text }) : null,
      Plot.text(heads, { x: (_, i) => i, frameAnchor: "bottom", dy: 26, text: (d) => d, fontWeight: columns.paired ? 400 : 700, fontSize: width < 400 ? 11.5 : 13 }),
      tested ? Plot.text([width > 480 ? `${cut(a, 9)} \u2212 ${cut(b, 9)}` : "diff."], { x: difference, frameAnchor: "bottom", dy: 26, text: (d) => d, fontWeight: 700 }) : null,
      Plot.text([survey.unit(survey.primary.index)], { frameAnchor: "top-left", dx: -50, dy: -26, textAnchor: "start", fill: "var(--soft)" }),
      ...(columns.paired ? roles.map((role, i) => Plot.text([`${role === "a" ? "\u25cf" : "\u25a1"} ${cut(survey.className(role), 16)}`],
        { frameAnchor: "top-left", dx: 26 + i * Math.min(130, 40 + 8 * a.length), dy: -26, textAnchor: "start", text: (d) => d, fill: look(role).colour, fontWeight: 700 })) : []),
      ...marks,
    ] });
  Object.assign(svg, { places, last, difference });
  return svg;
}

/** The difference with its interval; an open end leaves as an arrow. */
function differenceMarks(row, zero, domain, x) {
  const clip = (value, edge) => (Number.isFinite(value) && value !== null ? zero + value : edge);
  const low = clip(row.ci_low, domain[0]), high = clip(row.ci_high, domain[1]);
  const arrow = (open, at, text) => (open ? [Plot.text([text], { x, y: at, text: (d) => d, fontSize: 15 })] : []);
  return [
    Plot.ruleY([zero], { x1: x - 0.3, x2: x + 0.5, stroke: "var(--ink)", strokeOpacity: 0.5, strokeDasharray: "2 3" }),
    Plot.ruleX([x], { y1: low, y2: high, stroke: "var(--ink)", strokeWidth: 1.6 }),
    ...arrow(!Number.isFinite(row.ci_low), domain[0], "\u2193"),
    ...arrow(!Number.isFinite(row.ci_high), domain[1], "\u2191"),
    Plot.dot([zero + row.difference], { x, y: (d) => d, symbol: "diamond", fill: "var(--ink)", r: 6 }),
  ];
}
