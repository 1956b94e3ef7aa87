// Effort: a strip a site, dates to the right and the hours of the day downwards: ink for what is kept, a hatch of its own for
// each thing that took the rest, and its name above the strip.
import { putFigure, putNothing, svgElement } from "./dom.js";
import { cut, hatchPattern, look, sign } from "./marks.js";
import { clock, count, several, short, tick } from "./numbers.js";

const hours = (h) => (h < 100 ? short(h) : count(Math.round(h)));
const trimmed = (number) => (number.includes(".") ? number.replace(/\.?0+$/, "") : number);
/** "4 s", "15.4 min", "2.5 h" */
const span = (h) => (h < 1 / 60 ? `${Math.max(1, Math.round(3600 * h))} s` : h < 1 ? `${trimmed(short(60 * h))} min` : `${trimmed(hours(h))} h`);

/** What took time: a hatch, a name above the strip, and words for the title. Whatever else is dotted. */
const takers = {
  missing: { path: "M0 0V5", size: 5, turn: 45, words: "gaps in the recording" },
  rain: { path: "M1 0V4", size: 4, turn: 15, words: "rain" },
  wind: { path: "M0 2H3", size: 5, turn: 0, words: "wind" },
  engine: { path: "M0 1H6M0 3H3", size: 6, turn: 0, words: "engines" },
  dead: { path: "M0 0L5 5M5 0L0 5", size: 5, turn: 0, words: "a dead microphone" },
  short: { path: "M0 4L4 0", size: 9, turn: 0, words: "segments too short" },
  silenced: { path: "M0 1.5H4", size: 4, turn: 0, words: "silenced stretches" },
  "left out": { path: "M0 0V4", size: 4, turn: -45, words: "what a person left out" },
  "same sound": { path: "M0 0H6V6", size: 6, turn: 0, words: "recordings of another site" },
};
const taker = (word) => takers[word] ?? { path: "M1.5 1.5H2.7", size: 4, turn: 0, words: { clipped: "clipping",
  unread: "what could not be read" }[word] ?? word };
const patternOf = (word) => `took-${word.replace(/ /g, "-")}`;

/** Runs of hours that are alike, as objects. */
function runsOf(site) {
  return site.runs.map(([date, from, to, expected, present, usable, word]) =>
    ({ date, from, to, expected, present, usable, word, share: usable / Math.max(expected, present, 1e-9) }));
}

function titleOf({ present_h: recorded, usable_h: usable }, lost) {
  const [most] = Object.entries(lost).sort((p, q) => q[1] - p[1]);
  return `Of ${hours(recorded)} recorded hours ${hours(usable)} can be used` + (most ? `; most was lost to ${taker(most[0]).words}, ${span(most[1])}` : "");
}

export function hoursChart(place, survey) {
  const { dates, lost_h: lost, sites } = survey.hours_kept;
  if (!sites.length) return putNothing(place, "Nothing was recorded yet, so there is no calendar.");
  const order = (site) => `${site.block}\u0000${{ a: 0, b: 1 }[site.role] ?? 2}\u0000${site.name}`;
  const strips = sites.map((site) => ({ ...survey.siteByName.get(site.name), lost_h: site.lost_h, runs: runsOf(site) })).sort((p, q) => (order(p) < order(q) ? -1 : 1));
  for (const strip of strips) strip.lost = Object.entries(strip.lost_h).sort((p, q) => q[1] - p[1]);
  const title = titleOf(survey.totals, lost), words = Object.keys(lost);
  putFigure(place, {
    name: "effort", title,
    subtitle: `Each strip is a site: ${several(dates.length, "date")} to the right, from ${dates[0]} to ${dates.at(-1)}, the hours of the day downwards. Ink: kept, the ` +
      "fainter the less of what was due or recorded; a hatch: what took most of the rest, named above the strip with the time that it cost; blank: nothing was due. " +
      `n = ${several(strips.length, "site")}.`,
    alt: `${title}. ${Object.entries(lost).map(([word, h]) => `${taker(word).words}: ${span(h)}`).join(", ")}.`,
    draw: (width) => hoursPlot(strips, dates, words, width),
    values: (svg) => strips.flatMap((strip) => strip.runs.map((run) => ({ group: strip.name, ...svg.middle(strip, run), words: runWords(strip, run, dates) }))),
    tables: [[survey.tables.coverage, "minutes by site and date"]],
  }, survey);
}

function runWords(strip, run, dates) {
  const whole = run.to - run.from > 1 ? " each hour" : "";
  return `${strip.name}, ${dates[run.date]}, ${clock(run.from)} to ${run.to === 24 ? "24:00" : clock(run.to)}: ${tick(run.usable)} min kept of ${tick(run.present)} recorded` +
    `${whole}, ${tick(run.expected)} due${run.word ? `; most of the rest: ${run.word}` : ""}`;
}

const kLeft = 44, kGap = 22, kHead = 40, kBelow = 22, kKey = 40;

/** How many strips stand side by side: each at least as wide as its name, and two px a date. */
function layout(strips, dates, width) {
  const least = Math.max(180, 2.2 * dates.length);
  const across = Math.max(1, Math.min(4, strips.length, Math.floor((width - kLeft + kGap) / (least + kGap))));
  const each = Math.min(420, (width - kLeft - (across - 1) * kGap) / across), perHour = strips.length > 16 ? 3 : 4;
  return { across, each, perHour, high: 24 * perHour, row: kHead + 24 * perHour, rows: Math.ceil(strips.length / across) };
}

/** Ink by the share kept; what keeps less than two thirds shows the hatch of what took the rest. */
const inkOf = (share) => (share >= 0.95 ? 0.85 : share >= 0.66 ? 0.6 : share >= 0.33 ? 0.35 : share > 0 ? 0.15 : 0);
const hatched = (run) => run.word && run.share < 0.66;

function hoursPlot(strips, dates, words, width) {
  const plan = layout(strips, dates, width), keyRows = keyPlaces(words, width);
  const top = keyRows.high, height = top + plan.rows * plan.row + kBelow;
  const svg = svgElement("svg", { class: "chart", width, height, viewBox: `0 0 ${width} ${height}`, "font-size": 13, fill: "var(--ink)" });
  svg.append(svgElement("defs", {}, ...words.map((word) => hatchPattern(patternOf(word), taker(word).path, taker(word).size, taker(word).turn))));
  drawKey(svg, keyRows.places);
  const boxOf = (i) => ({ x: kLeft + (i % plan.across) * (plan.each + kGap), y: top + Math.floor(i / plan.across) * plan.row + kHead });
  strips.forEach((strip, i) => drawStrip(svg, strip, dates, boxOf(i), plan, { first: i % plan.across === 0, last: i + plan.across >= strips.length }));
  svg.cuts = Array.from({ length: plan.rows }, (_, row) => top + row * plan.row + 2);
  const column = plan.each / dates.length;
  svg.middle = (strip, run) => {
    const box = boxOf(strips.indexOf(strip));
    return { x: box.x + (run.date + 0.5) * column, y: box.y + (plan.perHour * (run.from + run.to)) / 2 };
  };
  return svg;
}

function drawStrip(svg, strip, dates, box, plan, { first, last }) {
  const text = (x, y, words, more = {}) => svg.append(svgElement("text", { x, y, "font-size": 12, ...more }, words));
  const letters = Math.floor(plan.each / 7);
  text(box.x, box.y - 22, `${sign(strip.role)} ${cut(strip.name, letters - 3)}`, { "font-size": 13, "font-weight": 700, fill: look(strip.role).colour });
  const lost = strip.lost.map(([word, h]) => `${word} ${span(h)}`).join(", ");
  text(box.x, box.y - 7, cut(lost || "nothing lost", letters + 3), { fill: "var(--soft)" });
  const column = plan.each / dates.length, rect = (run) => {
    const x1 = (box.x + run.date * column).toFixed(1), x2 = (box.x + (run.date + 1) * column - (column > 9 ? 1 : 0)).toFixed(1);
    return `M${x1} ${box.y + run.from * plan.perHour}H${x2}V${box.y + run.to * plan.perHour}H${x1}Z`;
  };
  const paths = new Map(), put = (key, run) => paths.set(key, (paths.get(key) ?? "") + rect(run));
  for (const run of strip.runs) {
    if (inkOf(run.share) > 0) put(inkOf(run.share), run);
    if (hatched(run)) put(run.word, run);
  }
  for (const [key, d] of paths)
    svg.append(svgElement("path", typeof key === "number" ? { d, fill: "var(--ink)", "fill-opacity": key } : { d, fill: `url(#${patternOf(key)})` }));
  svg.append(svgElement("rect", { x: box.x, y: box.y, width: plan.each, height: plan.high, fill: "none", stroke: "var(--line)" }));
  if (first) for (const hour of [0, 6, 12, 18]) text(box.x - 5, box.y + hour * plan.perHour + (hour ? 4 : 9), clock(hour), { "text-anchor": "end" });
  if (!last) return;
  text(box.x, box.y + plan.high + 16, dates[0].slice(5));
  if (dates.length > 1) text(box.x + plan.each, box.y + plan.high + 16, dates.at(-1).slice(5), { "text-anchor": "end" });
}

/** Swatches of the key from left to right, on as many lines as they need. */
function keyPlaces(words, width) {
  let x = kLeft, y = 4;
  const places = [["kept", null], ...words.map((word) => [word, word])].map(([name, word]) => {
    const wide = 34 + 7.4 * name.length;
    if (x + wide > width) [x, y] = [kLeft, y + 20];
    const place = { x, y, name, word };
    x += wide;
    return place;
  });
  return { places, high: y + kKey - 12 };
}

function drawKey(svg, places) {
  for (const { x, y, name, word } of places) {
    svg.append(svgElement("rect", { x, y, width: 18, height: 12, stroke: "var(--line)", ...(word ? { fill: `url(#${patternOf(word)})` } : { fill: "var(--ink)", "fill-opacity": inkOf(1) }) }),
      svgElement("text", { x: x + 23, y: y + 11, "font-size": 12 }, name));
  }
}
