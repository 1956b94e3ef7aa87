// Places: for each block a small map with north, scale bar and a ring within which two sites hear the same animals, and beside it
// a card a site: its stand drawn to scale from what the site sheet knows, and its value.
import { putFigure, putNothing, svgElement } from "./dom.js";
import { cut, hatchPattern, look, sign } from "./marks.js";
import { several, short, tick } from "./numbers.js";

const rad = Math.PI / 180, earth = 6371.0088;

/** Kilometres east and north of the middle of the sites: good to a part in a thousand over 100 km. */
function flat(sites) {
  const middle = sites.reduce((sum, s) => sum + s.latitude, 0) / sites.length;
  const first = sites[0].longitude;
  const turn = (degrees) => ((degrees + 540) % 360) - 180;
  return sites.map((s) => ({ ...s, east: turn(s.longitude - first) * rad * earth * Math.cos(middle * rad), north: (s.latitude - middle) * rad * earth }));
}

function nearest(points) {
  let best = null;
  for (let i = 0; i < points.length; i++)
    for (let k = 0; k < i; k++) {
      const d = Math.hypot(points[i].east - points[k].east, points[i].north - points[k].north);
      if (!best || d < best.d) best = { d, one: points[k].name, other: points[i].name };
    }
  return best;
}

const distance = (km) => (km < 1 ? `${tick(Number((1000 * km).toPrecision(3)))} m` : `${tick(Number(km.toPrecision(3)))} km`);

/** Blocks in the order of their names, each with its sites, class A first; one group where there are no blocks. */
function groupsOf(survey) {
  const points = flat(survey.sites), { index, window } = survey.primary;
  const values = new Map(survey.windowMeans.filter((row) => row.window === window).map((row) => [row.site, row[index] ?? null]));
  const names = [...new Set(points.map((p) => p.block))].sort();
  const role = (p) => ({ a: 0, b: 1 })[p.role] ?? 2;
  return names.map((name) => ({ name, sites: points.filter((p) => p.block === name).sort((p, q) => role(p) - role(q) || (p.name < q.name ? -1 : 1))
    .map((p, i) => ({ ...p, number: i + 1, value: values.get(p.name) ?? null })) }));
}

export function placesChart(place, survey) {
  if (!survey.sites.length) return putNothing(place, "The site sheet has no sites yet.");
  const groups = groupsOf(survey), pair = nearest(flat(survey.sites)), reach = survey.survey.listening_m / 1000;
  const scale = scaleOf(survey.sites), { index, window } = survey.primary;
  const title = pair ? `The two nearest sites, ${cut(pair.one)} and ${cut(pair.other)}, are ${distance(pair.d)} apart` : "One site";
  const drawn = [scale.canopy && "canopy", scale.organic && "organic layer", scale.root && "root mat"].filter(Boolean);
  putFigure(place, {
    name: "places", title,
    subtitle: `${groups.length > 1 ? `A map for each ${survey.survey.block}` : "A map"} at the sites' coordinates, north up, no ground map, each with a scale bar of its own; rings reach ` +
      `${distance(reach)}, within which two recorders are taken to hear the same animals. Beside it the ${survey.title(index)} (${survey.unit(index)}) of the ${window} window` +
      (drawn.length ? ` and the stand as the site sheet has it, to one scale above the ground and one below: ${drawn.join(", ")}.` : ".") +
      ` Sites: ${survey.n(survey.sites.map((s) => ({ ...s, site: s.name })))}.`,
    alt: `${title}. ${groups.map((g) => `${g.name ? `${g.name}: ` : ""}${several(g.sites.length, "site")}`).join(", ")}.`,
    draw: (width) => placesPlot(survey, groups, reach, scale, width),
    values: (svg) => groups.flatMap((group) => group.sites.map((site) => ({ group: group.name, ...svg.at.get(site.name), words: siteWords(survey, site) }))),
    tables: [[survey.tables.sites, "sites and coordinates"]],
  }, survey);
}

function siteWords(survey, site) {
  const told = [["canopy", "canopy_height_m", "m"], ["organic layer", "organic_depth_cm", "cm"], ["root mat", "root_mat_cm", "cm"]]
    .filter(([, column]) => typeof site.numbers[column] === "number").map(([name, column, unit]) => `${name} ${tick(site.numbers[column])} ${unit}`);
  if (site.texture) told.push(site.texture);
  return `${site.name}, ${site.stand}${site.block ? `, ${site.block}` : ""}: ${survey.title(survey.primary.index)} ${short(site.value)}` +
    `${told.length ? `; ${told.join(", ")}` : ""}; ${site.latitude}, ${site.longitude}`;
}

const kBar = 24, kCard = 116, kAir = 80, kGround = 40, kHead = 28, kKey = 26;
/** Side of a map: smaller where four cards are to stand beside it on paper. */
const mapSide = (width) => (width < 720 ? 176 : 214);

/** Heights of the cards' parts: what no site has takes no room. */
function scaleOf(sites) {
  const most = (column) => Math.max(0, ...sites.map((s) => (typeof s.numbers[column] === "number" ? s.numbers[column] : 0)));
  const canopy = most("canopy_height_m"), organic = most("organic_depth_cm"), root = most("root_mat_cm"), depth = Math.max(organic, root);
  const texture = sites.some((s) => s.texture);
  return { canopy, organic, root, texture, perM: canopy ? kAir / canopy : 0, perCm: depth ? kGround / depth : 0,
    air: canopy ? kAir + 18 : 0, ground: depth ? kGround + 16 : 0, high: 36 + (canopy ? kAir + 18 : 0) + (depth ? kGround + 16 : 0) + (texture ? 16 : 0) + 6 };
}

function placesPlot(survey, groups, reach, scale, width) {
  const side = mapSide(width), beside = width >= side + 2 * kCard + 20, room = beside ? width - side - 26 : width, most = Math.max(...groups.map((g) => g.sites.length));
  const fit = Math.max(1, Math.min(most, Math.floor(room / kCard))), across = Math.ceil(most / Math.ceil(most / fit)), each = Math.min(210, room / across), mapHigh = side + kBar;
  const highs = groups.map((g) => {
    const cards = scale.high * Math.ceil(g.sites.length / across);
    return kHead + (beside ? Math.max(mapHigh, cards) : mapHigh + 8 + cards) + 4;
  });
  const keyed = scale.organic || scale.root, height = (keyed ? kKey : 0) + highs.reduce((sum, h) => sum + h, 0);
  const svg = svgElement("svg", { class: "chart", width, height, viewBox: `0 0 ${width} ${height}`, "font-size": 13, fill: "var(--ink)" });
  svg.append(svgElement("defs", {}, hatchPattern("root-mat", "M0 3H3M3 1H6M1 5H4", 6)));
  svg.at = new Map();
  if (keyed) drawKey(svg, scale);
  let top = keyed ? kKey : 0;
  svg.cuts = [];
  groups.forEach((group, g) => {
    svg.cuts.push(top);
    if (group.name) svg.append(svgElement("text", { x: 0, y: top + 18, "font-weight": 700, "font-size": 14 }, cut(titled(survey.survey.block, group.name), 40)));
    drawMap(svg, group.sites, reach, { x: 0.5, y: top + kHead, size: side });
    group.sites.forEach((site, i) => drawCard(svg, survey, site, scale, { x: (beside ? side + 26 : 0) + (i % across) * each, wide: each - 12,
      y: top + kHead + (beside ? 0 : mapHigh + 8) + Math.floor(i / across) * scale.high }));
    top += highs[g];
  });
  return svg;
}

const organicLook = { fill: "var(--ink)", "fill-opacity": 0.55 }, rootLook = { fill: "url(#root-mat)", stroke: "var(--line)" };

/** What the layers below the ground are. */
function drawKey(svg, scale) {
  let x = 0;
  for (const [is, name, fill] of [[scale.organic, "organic layer", organicLook], [scale.root, "root mat", rootLook]]) {
    if (!is) continue;
    svg.append(svgElement("rect", { x: x + 0.5, y: 2, width: 18, height: 12, ...fill }), svgElement("text", { x: x + 24, y: 13, "font-size": 12 }, name));
    x += 44 + 7 * name.length;
  }
}

/** "river Amerak"; the name alone where it says already what it is. */
const titled = (block, name) => (name.toLowerCase().includes(block.toLowerCase()) ? name : `${block} ${name}`);

/** The sites of a block on a square of paper, large enough for their rings. */
function drawMap(svg, sites, reach, { x, y, size }) {
  const extent = (of) => [Math.min(...sites.map(of)), Math.max(...sites.map(of))];
  const [west, east] = extent((p) => p.east), [south, north] = extent((p) => p.north);
  const span = Math.max(east - west, north - south) + 2 * Math.max(1.2 * reach, 0.02, 0.07 * Math.max(east - west, north - south)), perKm = size / span;
  const at = (p) => ({ x: x + size / 2 + (p.east - (west + east) / 2) * perKm, y: y + size / 2 - (p.north - (south + north) / 2) * perKm });
  svg.append(svgElement("rect", { x, y, width: size, height: size, fill: "none", stroke: "var(--line)" }));
  for (const site of sites) {
    const p = at(site);
    svg.append(svgElement("circle", { cx: p.x, cy: p.y, r: reach * perKm, fill: "none", stroke: look(site.role).colour, "stroke-opacity": 0.7, "stroke-dasharray": "3 3", class: "reach" }));
  }
  for (const site of sites) {
    const p = at(site), away = Math.min(Math.max(8, reach * perKm + 3), 22), left = p.x > x + size - away - 14;
    svg.append(markOf(site.role, p.x, p.y), svgElement("text", { x: p.x + (left ? -away : away), y: p.y + 4, "text-anchor": left ? "end" : "start", "font-size": 12, stroke: "var(--paper)",
      "stroke-width": 3, "paint-order": "stroke" }, String(site.number)));
    svg.at.set(site.name, p);
  }
  const power = 10 ** Math.floor(Math.log10(span / 3)), bar = [5, 2, 1].map((k) => k * power).find((d) => d <= span / 3) ?? power;
  svg.append(svgElement("path", { d: `M${x} ${y + size + 12}h${bar * perKm}`, stroke: "var(--ink)", "stroke-width": 2.2, class: "scale-bar" }),
    svgElement("text", { x: x + bar * perKm + 7, y: y + size + 16, "font-size": 12 }, distance(bar)),
    svgElement("text", { x: x + size, y: y - 7, "text-anchor": "end", "font-weight": 700 }, "N \u2191"));
}

/** A site's mark: filled and round for class A, open and square for B, a cross for others. */
function markOf(role, x, y) {
  const colour = look(role).colour;
  if (role === "a") return svgElement("circle", { cx: x, cy: y, r: 4.5, fill: colour });
  if (role === "b") return svgElement("rect", { x: x - 4, y: y - 4, width: 8, height: 8, fill: "var(--paper)", stroke: colour, "stroke-width": 1.6 });
  return svgElement("path", { d: `M${x - 4} ${y - 4}l8 8m0 -8l-8 8`, stroke: colour, "stroke-width": 1.6 });
}

function drawCard(svg, survey, site, scale, { x, y, wide }) {
  const text = (dx, dy, words, more = {}) => svg.append(svgElement("text", { x: x + dx, y: y + dy, "font-size": 12, ...more }, words));
  const number = (column) => (typeof site.numbers[column] === "number" ? site.numbers[column] : null);
  text(0, 12, `${site.number} ${sign(site.role)} ${short(site.value)}${site.value === null ? "" : survey.unitBehind(survey.primary.index)}`, { "font-size": 13, "font-weight": 700, fill: look(site.role).colour });
  text(0, 28, cut(site.name, Math.floor((wide + 6) / 5.8)));
  const ground = y + 36 + scale.air, canopy = number("canopy_height_m"), organic = number("organic_depth_cm"), root = number("root_mat_cm");
  if (canopy !== null) {
    const trees = Math.min(wide - 34, 112);
    drawTrees(svg, x, ground, trees, canopy * scale.perM);
    text(trees + 2, ground - y - canopy * scale.perM + 10, `${tick(canopy)} m`, { class: "canopy" });
  }
  if (scale.air || scale.ground) svg.append(svgElement("path", { d: `M${x} ${ground}h${wide - 8}`, stroke: "var(--ink)", "stroke-width": 1.2 }));
  const half = (wide - 8) / 2, layer = (dx, depth, fill, name) => {
    svg.append(svgElement("rect", { x: x + dx, y: ground, width: half - 2, height: Math.max(0.5, depth * scale.perCm), class: name, ...fill }));
    text(dx, ground - y + depth * scale.perCm + 13, `${tick(depth)} cm`);
  };
  if (organic !== null) layer(0, organic, organicLook, "organic");
  if (root !== null) layer(half, root, rootLook, "root");
  if (site.texture) text(0, 36 + scale.air + scale.ground + 13, cut(site.texture, Math.floor(wide / 5.8)), { fill: "var(--soft)" });
}

/** Trunks and crowns up to the canopy's height: a sign of a stand, not a portrait. */
function drawTrees(svg, x, ground, wide, high) {
  const trees = [[0.14, 0.86], [0.4, 1], [0.64, 0.92], [0.87, 0.97]];
  for (const [where, part] of trees) {
    const at = x + where * wide, top = ground - high * part, crown = Math.min(0.42 * high * part, 0.9 * wide / 4);
    svg.append(svgElement("path", { d: `M${at} ${ground}V${top + crown / 2}`, stroke: "var(--ink)", "stroke-width": 1.4, "stroke-opacity": 0.75 }),
      svgElement("ellipse", { cx: at, cy: top + crown, rx: wide / 8.4, ry: crown, fill: "var(--ink)", "fill-opacity": 0.16, stroke: "var(--ink)", "stroke-opacity": 0.6 }));
  }
}
