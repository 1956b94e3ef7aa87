// What the screens said: a column a screen, a row a site, bars of the share of its segments; filled where the screen leaves them out.
import { putFigure, putNothing, records, svgElement } from "./dom.js";
import { cut, look, sign } from "./marks.js";
import { count, percent, several } from "./numbers.js";

const kRow = 18, kHead = 46, kNumber = 46, kGap = 20;

/** A screen: its rows by site, how many segments in all, and the longest bar. */
function screensOf(rows, sites) {
  return [...new Set(rows.map((row) => row.reason))].map((reason) => {
    const own = rows.filter((row) => row.reason === reason && row.flagged > 0);
    return { reason, excludes: own.some((row) => row.excludes === 1), total: own.reduce((sum, row) => sum + row.flagged, 0),
      most: Math.max(...own.map((row) => row.flagged / row.segments)), of: new Map(own.map((row) => [row.site, row])), sites };
  }).sort((p, q) => q.excludes - p.excludes || q.total - p.total);
}

export function screensChart(place, survey) {
  const rows = records(survey.tables.screens).filter((row) => row.flagged > 0);
  if (!rows.length) return putNothing(place, "No screen fired on any segment.");
  const order = { a: 0, b: 1 }, flagged = new Set(rows.map((row) => row.site));
  const sites = survey.sites.filter((site) => flagged.has(site.name)).sort((p, q) => (order[p.role] ?? 2) - (order[q.role] ?? 2));
  const screens = screensOf(rows, sites), most = screens.reduce((p, q) => (q.total > p.total ? q : p));
  const title = `Flagged most often: ${most.reason}, on ${count(most.total)} ${most.total === 1 ? "segment" : "segments"}`;
  const inWords = (row, screen) => `${row.site}, ${screen.reason}: ${count(row.flagged)} of ${several(row.segments, "segment")}, ${percent(row.flagged / row.segments)}` +
    (row.excludes === 1 ? ", left out" : ", kept");
  putFigure(place, {
    name: "screens", title,
    subtitle: "Share of a site's complete segments on which a screen fired. Filled bars are left out of all averages; open ones are only flagged, and kept. " +
      `Each column has a scale of its own, up to its longest bar. n = ${several(sites.length, "site")} with a flag.`,
    alt: `${title}. ` + screens.map((screen) => `${screen.reason}, ${screen.excludes ? "left out" : "kept"}: ${several(screen.total, "segment")}`).join("; ") + ".",
    draw: (width) => screensPlot(screens, sites, width),
    values: (svg) => sites.flatMap((site) => screens.filter((screen) => screen.of.has(site.name)).map((screen) => ({ group: site.name,
      ...svg.end(screen, site), words: inWords(screen.of.get(site.name), screen) }))),
    tables: [[survey.tables.screens, "flags by site and screen"]],
  }, survey);
}

function screensPlot(screens, sites, width) {
  const letters = Math.min(width > 620 ? 24 : 19, Math.max(...sites.map((site) => [...site.name].length))), room = 28 + 6.5 * letters;
  const across = Math.max(1, Math.min(screens.length, Math.floor((width - room) / 120))), each = Math.min(240, (width - room) / across);
  const bands = Math.ceil(screens.length / across), high = kHead + kRow * sites.length + 14, height = bands * high;
  const svg = svgElement("svg", { class: "chart", width, height, viewBox: `0 0 ${width} ${height}`, "font-size": 13, fill: "var(--ink)" });
  const corner = (i) => ({ x: room + (i % across) * each, y: Math.floor(i / across) * high + kHead });
  const long = (screen, site) => {
    const row = screen.of.get(site.name);
    return row ? Math.max(1.5, (row.flagged / row.segments / screen.most) * (each - kNumber - kGap)) : 0;
  };
  screens.forEach((screen, i) => drawScreen(svg, screen, sites, corner(i), each, long));
  for (let band = 0; band < bands; band++)
    sites.forEach((site, s) => svg.append(svgElement("text", { x: room - 14, y: band * high + kHead + s * kRow + 13, "text-anchor": "end",
      fill: look(site.role).colour }, `${cut(site.name, letters)} ${sign(site.role)}`)));
  svg.cuts = Array.from({ length: bands * sites.length }, (_, i) => Math.floor(i / sites.length) * high + (i % sites.length ? kHead + (i % sites.length) * kRow + 2 : 0));
  svg.end = (screen, site) => {
    const { x, y } = corner(screens.indexOf(screen));
    return { x: x + long(screen, site), y: y + sites.indexOf(site) * kRow + kRow / 2 };
  };
  return svg;
}

function drawScreen(svg, screen, sites, { x, y }, each, long) {
  svg.append(svgElement("text", { x, y: y - 26, "font-weight": 700 }, cut(screen.reason, Math.floor(each / 8))),
    svgElement("text", { x, y: y - 10, "font-size": 12, fill: "var(--soft)" }, `${count(screen.total)}, ${screen.excludes ? "left out" : "kept"}`),
    svgElement("path", { d: `M${x} ${y - 3}v${kRow * sites.length + 6}`, stroke: "var(--ink)", "stroke-opacity": 0.6 }));
  sites.forEach((site, s) => {
    const row = screen.of.get(site.name), top = y + s * kRow;
    if (!row) return;
    svg.append(svgElement("rect", { x: x + 0.5, y: top + 4, width: long(screen, site), height: kRow - 8, stroke: "var(--ink)",
      fill: screen.excludes ? "var(--ink)" : "none", "fill-opacity": 0.8 }),
      svgElement("text", { x: x + long(screen, site) + 6, y: top + 13, "font-size": 12 }, percent(row.flagged / row.segments)));
  });
}
