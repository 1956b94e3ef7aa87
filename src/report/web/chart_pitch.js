// The picture of the day and of pitch: what stands out in each class by hour and band on one scale, and their difference,
// outlined where the test says that something is there. A cell chosen tells what every site has in it.
import { el, putFigure, putNothing, svgElement } from "./dom.js";
import { cut, strip } from "./marks.js";
import { clock, mean, pValue, percent, several } from "./numbers.js";

/** Cells with the classes' means, their difference and what the tests say. */
function cellsOf(survey) {
  const { cells, sites, tests } = survey.pitch;
  const role = (name) => survey.siteByName.get(name).role;
  const known = sites.map((site) => ({ ...site, role: role(site.name) }));
  const meanOf = (which, i) => {
    const values = known.filter((site) => site.role === which).map((site) => site.values[i]);
    return values.some((x) => x === null) ? null : mean(values);
  };
  return cells.map(([hour, low, high], i) => {
    const a = meanOf("a", i), b = meanOf("b", i);
    const difference = tests?.difference[i] ?? (a === null || b === null ? null : a - b);
    return { i, hour, low, high, a, b, difference, p: tests?.p[i] ?? null, cluster: tests?.cluster[i] ?? 0, clusterP: tests?.cluster_p[i] ?? null,
      sites: known.map((site) => ({ name: site.name, role: site.role, value: site.values[i] })) };
  });
}

/** Patches and single cells that are shown to differ: [{cells, p, sign}], the largest first. */
function patchesOf(survey, cells) {
  const limit = 1 - survey.survey.level + 1e-12, patches = new Map();
  for (const cell of cells)
    if (cell.cluster > 0 && cell.clusterP !== null && cell.clusterP <= limit) {
      if (!patches.has(cell.cluster)) patches.set(cell.cluster, { cells: [], p: cell.clusterP });
      patches.get(cell.cluster).cells.push(cell);
    }
  for (const cell of cells)
    if (cell.p !== null && cell.p <= limit && ![...patches.values()].some((patch) => patch.cells.includes(cell)))
      patches.set(`cell ${cell.i}`, { cells: [cell], p: cell.p });
  return [...patches.values()].map((patch) => ({ ...patch, sign: Math.sign(patch.cells[0].difference) }))
    .sort((p, q) => q.cells.length - p.cells.length);
}

const kilohertz = (hz) => String(Number((hz / 1000).toPrecision(3)));

/** "05:00 to 07:00, 2 to 4.5 kHz": whole hours and bands that hold the patch. Hours that run over midnight start where the gap ends. */
function extent({ cells }) {
  const hours = [...new Set(cells.map((c) => c.hour))].sort((p, q) => p - q);
  const pitch = `${kilohertz(Math.min(...cells.map((c) => c.low)))} to ${kilohertz(Math.max(...cells.map((c) => c.high)))} kHz`;
  if (hours.length === 24) return `the whole day, ${pitch}`;
  const gap = hours.length < 24 && hours.includes(0) && hours.includes(23) ? hours.find((h) => !hours.includes((h + 23) % 24) && h !== 0) : undefined;
  const from = gap ?? hours[0], to = gap === undefined ? hours.at(-1) : [...hours].reverse().find((h) => !hours.includes((h + 1) % 24));
  return `${clock(from)} to ${clock((to + 1) % 24)}, ${pitch}`;
}

function titleOf(survey, patches) {
  const { a, b } = survey.survey;
  if (!survey.pitch.tests) return `What stands out at ${a} and at ${b} sites through the day, and in which pitch`;
  if (!patches.length) return `No part of the day and of pitch is shown to differ between ${a} and ${b} sites`;
  const first = patches[0];
  return `Somewhere in ${extent(first)}, more stands out at ${first.sign > 0 ? a : b} sites` +
    (patches.length > 1 ? `, and in ${several(patches.length - 1, "patch", "patches")} besides` : "");
}

export function pitchChart(place, survey) {
  if (!survey.pitch.cells?.length) return putNothing(place, survey.pitch.words);
  const cells = cellsOf(survey), patches = patchesOf(survey, cells);
  const drawn = cells.filter((c) => c.a !== null && c.b !== null);
  if (!drawn.length) return putNothing(place, "No hour and band has a value at every site compared.");
  const scale = scaleOf(drawn);
  const { a, b } = survey.survey, title = titleOf(survey, patches);
  const n = (role) => survey.pitch.sites.filter((site) => survey.siteByName.get(site.name).role === role).length;
  const heard = survey.hear && el("div", { class: "tools", "aria-live": "polite" });
  const figure = putFigure(place, {
    name: "day-and-pitch", title,
    ...(heard ? { chosen: (value) => hearCell(heard, survey, value.group), choosing: "offers a pair of sounds from that hour" } : {}),
    subtitle: `Share of the time in which a sound stands out of its own background, by hour of the local clock and by pitch; mean of ${n("a")} ${a} and ` +
      `${n("b")} ${b} sites. Both classes on one scale, by the square root; the difference on its own, struck through where more stands out at ${b} sites by a third of its scale. Outlined: ` +
      "patches of neighbouring cells, or single cells, that are shown to differ once all are considered.",
    alt: `${title}. ${survey.pitch.words}`,
    note: [survey.pitch.words, flaggedWords(survey)].filter(Boolean).join(" "),
    draw: (width) => pitchPlot(survey, drawn, patches, scale, width),
    values: (svg) => drawn.map((cell) => ({ group: cell.hour, x: svg.at(cell)[0], y: svg.at(cell)[1], words: cellWords(survey, cell) })),
    tables: [[tableOf(survey, cells), "values by hour and band"]],
  }, survey);
  if (heard) figure.querySelector(".readout").after(heard);
}

/** A pair from the hour, or from the nearest that has one. */
function hearCell(place, survey, hour) {
  const pair = survey.hear.nearest(hour), { a, b } = survey.survey;
  const button = (role, name) => el("button", { type: "button", class: "key", click: () => survey.hear.play(pair, role) }, `\u25b6\ufe0e Hear ${name}`);
  place.replaceChildren(el("span", {}, `${pair.title}${pair.hour === hour ? "" : `; none is from ${clock(hour)}, this is the nearest hour that has one`}.`),
    button("a", a), button("b", b), el("button", { type: "button", class: "key", click: () => survey.hear.stop() }, "\u25a0\ufe0e Stop"));
}

function cellWords(survey, cell) {
  const { a, b } = survey.survey;
  const told = cell.sites.filter((s) => s.value !== null).sort((p, q) => q.value - p.value);
  const values = told.length <= 16 ? ` Sites: ${told.map((s) => `${s.name} ${percent(s.value)}`).join(", ")}.` : "";
  return `${clock(cell.hour)} to ${clock((cell.hour + 1) % 24)}, ${kilohertz(cell.low)} to ${kilohertz(cell.high)} kHz: ${a} ${percent(cell.a)}, ${b} ${percent(cell.b)} of the time` +
    `${cell.p === null ? "" : `; p ${pValue(cell.p)} once all cells are considered`}.${values}`;
}

function tableOf(survey, cells) {
  const { a, b } = survey.survey;
  return { file: null, columns: ["hour", "from (Hz)", "below (Hz)", `share, ${a}`, `share, ${b}`, "difference", "p_adjusted", "patch", "p of the patch",
    ...survey.pitch.sites.map((s) => s.name)],
  rows: cells.map((c) => [c.hour, c.low, c.high, c.a, c.b, c.difference, c.p, c.cluster || null, c.clusterP, ...c.sites.map((s) => s.value)]) };
}

/** Edges of a set of cells: lines between a cell in it and a neighbour that is not, as a path. */
function outline(cells, box) {
  const has = new Set(cells.map((c) => `${c.hour} ${c.low}`));
  let path = "";
  for (const c of cells) {
    const [x1, x2, y1, y2] = [box.x(c.hour), box.x(c.hour + 1), box.y(c.high), box.y(c.low)];
    if (!has.has(`${c.hour - 1} ${c.low}`)) path += `M${x1} ${y1}V${y2}`;
    if (!has.has(`${c.hour + 1} ${c.low}`)) path += `M${x2} ${y1}V${y2}`;
    if (!cells.some((o) => o.hour === c.hour && o.low === c.high)) path += `M${x1} ${y1}H${x2}`;
    if (!cells.some((o) => o.hour === c.hour && o.high === c.low)) path += `M${x1} ${y2}H${x2}`;
  }
  return path;
}

const quantile = (sorted, share) => sorted[Math.round(share * (sorted.length - 1))];

/**
 * Ends of the colours. Even in steady noise something stands out now and then: the classes' scale begins there, at the 5 % quantile of
 * all cells, and ends at the 97 % quantile, so that choirs that never stop do not hide all else. The difference ends at 99.5 %.
 */
function scaleOf(cells) {
  const shares = cells.flatMap((c) => [c.a, c.b]).sort((p, q) => p - q);
  const differences = cells.map((c) => Math.abs(c.difference)).sort((p, q) => p - q);
  const floor = quantile(shares, 0.05), most = quantile(differences, 0.995) || 0.001;
  const top = Math.max(quantile(shares, 0.97), floor + 0.001);
  return { floor, top, most, shade: (share) => Math.sqrt(Math.max(0, Math.min(1, (share - floor) / (top - floor)))),
    fade: (difference) => Math.min(1, Math.abs(difference) / most) };
}

/** "Kept though flagged ...: engine at 10:00 (four sites)": noise that runs through every pitch. */
function flaggedWords(survey) {
  const hours = new Map();
  for (const flag of survey.keptFlags.filter((f) => f.segments >= 0.1 * f.kept && survey.siteByName.get(f.site)?.role !== "other")) {
    const key = `${flag.reason} at ${clock(flag.hour)}`;
    hours.set(key, (hours.get(key) ?? 0) + 1);
  }
  const told = [...hours].sort((p, q) => q[1] - p[1]).slice(0, 6).map(([key, sites]) => `${key} (${several(sites, "site")})`);
  return told.length ? `Kept though flagged, so what runs through every pitch there may be no animal: ${told.join(", ")}.` : "";
}

const kLeft = 40, kTop = 46, kBelow = 44, kGap = 18, kUnder = 46, kKey = 44;

function pitchPlot(survey, cells, patches, scale, width) {
  const across = width >= 640 ? 3 : 1, marginRight = survey.bands.length ? 62 : 8;
  const each = across === 3 ? Math.floor((width - kLeft - marginRight - 2 * kGap) / 3) : width - kLeft - marginRight;
  const high = across === 3 ? 300 : 210, ceiling = Math.max(...cells.map((c) => c.high));
  const height = across === 3 ? kTop + high + kBelow + kKey : 3 * (kTop + high + kUnder) + 2 * kKey;
  const svg = svgElement("svg", { class: "chart", width, height, viewBox: `0 0 ${width} ${height}`, "font-size": 13, fill: "var(--ink)" });
  const { a, b } = survey.survey, last = survey.palette.sequence.length - 1;
  const panels = [
    { title: `\u25cf ${cut(a, 20)}`, fill: (c) => [survey.palette.sequence[Math.round(scale.shade(c.a) * last)], 1], lines: "#fff" },
    { title: `\u25a1 ${cut(b, 20)}`, fill: (c) => [survey.palette.sequence[Math.round(scale.shade(c.b) * last)], 1], lines: "#fff" },
    { title: `${cut(a, 12)} \u2212 ${cut(b, 12)}`, fill: (c) => [c.difference > 0 ? "var(--a)" : "var(--b)", scale.fade(c.difference)], lines: "var(--ink)" },
  ];
  panels.forEach((panel, k) => {
    const left = kLeft + (across === 3 ? k * (each + kGap) : 0), above = kTop + (across === 3 ? 0 : k * (kTop + high + kUnder));
    const box = { left, above, each, high, x: (hour) => Math.round(left + (hour / 24) * each), y: (hz) => Math.round(above + high - (hz / ceiling) * high) };
    panel.box = box;
    drawPanel(svg, survey, panel, cells, { pitchTicks: across === 1 || k === 0, bands: across === 1 || k === 2, ceiling });
    if (k === 2) strikeThrough(svg, cells.filter((c) => c.difference < 0 && scale.fade(c.difference) >= kStruck), box);
    if (k === 2) drawPatches(svg, survey, patches, box);
  });
  keys(svg, survey, scale, panels[2].box, height);
  const first = panels[2].box;
  svg.at = (cell) => [(first.x(cell.hour) + first.x(cell.hour + 1)) / 2, (first.y(cell.low) + first.y(cell.high)) / 2];
  return svg;
}

/** From this part of the difference's scale on a cell of the second class is struck through, so that grey paper tells the two apart. */
const kStruck = 1 / 3;

function strikeThrough(svg, cells, box) {
  const d = cells.map((c) => `M${box.x(c.hour) + 1} ${box.y(c.low) - 1}L${box.x(c.hour + 1) - 1} ${box.y(c.high) + 1}`).join("");
  svg.append(svgElement("path", { d, stroke: "var(--ink)", "stroke-opacity": 0.7, "stroke-width": 1, fill: "none" }));
}

/** What the colours say: of both classes at the left, of the difference below its panel. */
function keys(svg, survey, scale, last, height) {
  const wideKey = Math.min(340, last.left > kLeft ? 2 * last.each : last.each);
  const ends = wideKey < 280 ? [(x) => `\u2264 ${percent(x)}`, (x) => `\u2265 ${percent(x)} of the time`] : [(x) => `${percent(x)} or less`, (x) => `${percent(x)} or more of the time`];
  const key = strip(survey, [scale.floor, scale.top], ends, wideKey);
  key.setAttribute("x", kLeft);
  key.setAttribute("y", height - kKey * (last.left > kLeft ? 1 : 2));
  const steps = 41, wide = Math.min(340, last.each) / steps, y = height - kKey + 18, { a, b } = survey.survey;
  const own = svgElement("g", { "shape-rendering": "crispEdges" });
  for (let i = 0; i < steps; i++) {
    const share = (2 * i) / (steps - 1) - 1, x = Math.round(last.left + i * wide);
    own.append(svgElement("rect", { x, y, width: Math.round(last.left + (i + 1) * wide) - x, height: 14, fill: share > 0 ? "var(--a)" : "var(--b)", "fill-opacity": Math.abs(share).toFixed(3) }));
    if (share <= -kStruck && i % 2 === 0) own.append(svgElement("path", { d: `M${x + 1} ${y + 13}l${2 * wide - 2} -12`, stroke: "var(--ink)", "stroke-opacity": 0.7 }));
  }
  const named = [[`${cut(b, 10)} +${percent(scale.most)}`, last.left, "start"], [`${cut(a, 10)} +${percent(scale.most)}`, last.left + steps * wide, "end"]];
  for (const [words, x, anchor] of named) own.append(svgElement("text", { x, y: y - 5, "text-anchor": anchor }, words));
  svg.append(key, own);
}

function drawPanel(svg, survey, { title, fill, lines, box }, cells, { pitchTicks, bands, ceiling }) {
  const text = (x, y, words, more = {}) => svg.append(svgElement("text", { x, y, fill: "var(--ink)", ...more }, words));
  text(box.left, box.above - 26, title, { "font-weight": 700 });
  const group = svgElement("g", { "shape-rendering": "crispEdges" });
  for (const c of cells) {
    const [colour, opacity] = fill(c);
    group.append(svgElement("rect", { x: box.x(c.hour), y: box.y(c.high), width: box.x(c.hour + 1) - box.x(c.hour), height: box.y(c.low) - box.y(c.high),
      fill: colour, ...(opacity < 1 ? { "fill-opacity": opacity.toFixed(3) } : {}) }));
  }
  group.append(svgElement("rect", { x: box.left, y: box.above, width: box.each, height: box.high, fill: "none", stroke: "var(--line)" }));
  svg.append(group);
  for (const [event, name] of [[survey.sun.sunrise, "\u2191 sun"], [survey.sun.sunset, "\u2193 sun"]]) {
    if (event === null) continue;
    const x = box.left + (event / 1440) * box.each;
    svg.append(svgElement("line", { x1: x, x2: x, y1: box.above, y2: box.above + box.high, stroke: lines, "stroke-opacity": 0.8, "stroke-dasharray": "2 3" }));
    text(x, box.above - 7, name, { "text-anchor": "middle", "font-size": 12, fill: "var(--soft)" });
  }
  for (const hour of box.each < 220 ? [0, 12] : [0, 6, 12, 18])
    text(box.x(hour), box.above + box.high + 16, clock(hour), { "text-anchor": hour ? "middle" : "start", "font-size": 12 });
  windowBars(svg, survey, box, text);
  if (pitchTicks) {
    for (let khz = 2; khz * 1000 < ceiling; khz += 2) text(box.left - 6, box.y(khz * 1000) + 4, String(khz), { "text-anchor": "end", "font-size": 12 });
    text(box.left - 36, box.above - 7, "kHz", { "font-size": 12, fill: "var(--soft)" });
  }
  if (bands) bandBars(svg, survey, box, text, ceiling);
}

/** The survey's windows of less than half a day below the hours, those that fit by name. */
function windowBars(svg, survey, box, text) {
  for (const { name, from, to } of survey.windows) {
    if (from === null || to === null || to <= from || to - from > 400) continue;
    const [x1, x2] = [from, to].map((minute) => box.left + (minute / 1440) * box.each), y = box.above + box.high + 23;
    svg.append(svgElement("line", { x1, x2, y1: y, y2: y, stroke: "var(--ink)", "stroke-width": 2 }));
    text((x1 + x2) / 2, y + 14, cut(name, 10), { "text-anchor": "middle", "font-size": 12, fill: "var(--soft)" });
  }
}

/** Named bands to the right of the last panel, side by side where they overlap. */
function bandBars(svg, survey, box, text, ceiling) {
  const placed = [];
  for (const band of survey.bands) {
    const [low, high] = [band.low, Math.min(band.high, ceiling)];
    if (high <= low) continue;
    const lane = placed.filter((o) => o.low < high && o.high > low).length, x = box.left + box.each + 6 + 5 * lane;
    placed.push({ low, high });
    svg.append(svgElement("line", { x1: x, x2: x, y1: box.y(low), y2: box.y(high), stroke: "var(--ink)", "stroke-width": 2 }));
    text(x + 5, (box.y(low) + box.y(high)) / 2 + 4, cut(band.name, 7), { "font-size": 12, fill: "var(--soft)" });
  }
}

/** Outlines of the patches, and the three largest named beside them. */
function drawPatches(svg, survey, patches, box) {
  for (const patch of patches)
    svg.append(svgElement("path", { d: outline(patch.cells, box), fill: "none", stroke: "var(--ink)", "stroke-width": 1.8 }));
  patches.slice(0, 3).forEach((patch) => {
    const words = `more at ${cut(patch.sign > 0 ? survey.survey.a : survey.survey.b, 12)} sites`, wide = 6.6 * words.length;
    const middle = (Math.min(...patch.cells.map((c) => box.x(c.hour))) + Math.max(...patch.cells.map((c) => box.x(c.hour + 1)))) / 2;
    const x = Math.min(box.left + box.each - wide / 2 - 3, Math.max(box.left + wide / 2 + 3, middle)), y = Math.min(...patch.cells.map((c) => box.y(c.high)));
    svg.append(svgElement("text", { x, y: Math.max(box.above + 13, y - 5), "text-anchor": "middle", "font-size": 12, fill: "var(--ink)", stroke: "var(--paper)",
      "stroke-width": 3, "paint-order": "stroke" }, words));
  });
}
