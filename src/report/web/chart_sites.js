// The sites: against columns of the sheet, on a map, day by day, and what the screens said.
import * as Plot from "@observablehq/plot";
import { putFigure, putNothing, records } from "./dom.js";
import { cut, hatch, look, placer, plot, roles, sequence, sitesOf, strip } from "./marks.js";
import { count, pValue, percent, rho, sentence, several, short, tick } from "./numbers.js";

export function covariateCharts(place, survey) {
  const { index, window } = survey.primary;
  const tested = survey.covariates.filter((row) => row.index === index && row.window === window && row.rho !== null);
  const rows = tested.filter((row) => survey.sites.some((site) => typeof site.numbers[row.column] === "number"));
  const value = new Map(survey.windowMeans.filter((r) => r.window === window).map((r) => [r.site, r[index]]));
  const points = rows.flatMap((row) => survey.sites.filter((s) => typeof s.numbers[row.column] === "number" &&
    typeof value.get(s.name) === "number").map((s) => ({ column: row.column, x: s.numbers[row.column], y: value.get(s.name),
    site: s.name, role: s.role })));
  if (!points.length)
    return putNothing(place, "No numeric column of the sheets has values at four sites or more.");
  const strongest = rows.reduce((p, q) => (Math.abs(q.rho) > Math.abs(p.rho) ? q : p));
  const title = `Of ${several(rows.length, "numeric column")} of the sheets, ${strongest.column} goes along most with ` +
    `${survey.title(index)} (rho ${rho(strongest.rho)})`;
  putFigure(place, {
    name: `${index}-against-site-sheet`, title,
    subtitle: `${sentence(survey.title(index))} (${survey.unit(index)}) of the ${window} window against the sheets' numbers. rho is ` +
      "Spearman's rank correlation over all sites, p by permutation of sites; a correlation is no cause, and class and block are ignored.",
    alt: `${title}. ` + rows.map((r) => `${r.column}: rho ${rho(r.rho)}, p ${pValue(r.p)}, n ${r.n}`).join("; ") + ".",
    draw: (width) => covariatePlot(survey, rows, points, index, width),
    values: (svg) => svg.values,
    tables: [[survey.tables.covariates, "rank correlations"], [survey.tables.windows, "values of the sites by window"]],
  }, survey);
}

/** Small charts side by side, each with its own horizontal scale: SVGs inside one SVG. */
function covariatePlot(survey, rows, points, index, width) {
  const across = width > 720 ? 3 : width > 460 ? 2 : 1, each = Math.floor(width / across), height = 230;
  const outer = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  outer.values = [];
  const total = height * Math.ceil(rows.length / across) + 8;
  for (const [k, v] of Object.entries({ class: "chart", width, height: total, viewBox: `0 0 ${width} ${total}` })) outer.setAttribute(k, v);
  rows.forEach((row, i) => {
    const own = points.filter((p) => p.column === row.column);
    const inner = plot(each, { height, marginLeft: 48, marginRight: 14, marginTop: 26, marginBottom: 44,
      x: { label: cut(row.column, 24), labelAnchor: "center", labelArrow: "none", ticks: 4, tickFormat: tick, nice: true },
      y: { label: null, ticks: 4, tickFormat: tick, nice: true }, marks: [
        Plot.text([`rho ${rho(row.rho)}, p ${pValue(row.p)}, n ${row.n}`], { frameAnchor: "top-left", dy: -16, textAnchor: "start",
          text: (d) => d }),
        ...["other", ...roles].map((role) => sitesOf(role, own, { x: "x", y: "y" })),
      ] });
    const [left, top] = [(i % across) * each, Math.floor(i / across) * height], at = placer(inner);
    outer.values.push(...own.map((p) => ({ group: row.column, x: left + at.x(p.x), y: top + at.y(p.y),
      words: `${p.site}: ${row.column} ${short(p.x)}, ${survey.title(index)} ${short(p.y)}` })));
    inner.setAttribute("x", left);
    inner.setAttribute("y", top);
    outer.append(inner);
  });
  return outer;
}

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

export function mapChart(place, survey) {
  if (!survey.sites.length) return putNothing(place, "The site sheet has no sites yet.");
  const points = flat(survey.sites), pair = nearest(points);
  const title = pair ? `The two nearest sites, ${cut(pair.one)} and ${cut(pair.other)}, are ${distance(pair.d)} apart` : "One site";
  const has = (role) => points.some((p) => p.role === role);
  const key = ["a", "b", "other"].filter(has).map((role) => ({ role, text: survey.className(role) }));
  putFigure(place, {
    name: "map", title,
    subtitle: `Sites at their coordinates, north up, no ground map; ${survey.n(survey.sites.map((s) => ({ ...s, site: s.name })))}.`,
    alt: `${title}. ` + key.map((k) => `${points.filter((p) => p.role === k.role).length} ${k.text}`).join(", ") + ".",
    draw: (width) => mapPlot(points, key, width),
    values: (svg) => {
      const at = placer(svg);
      return points.map((p) => ({ group: p.stand, x: at.x(p.east), y: at.y(p.north),
        words: `${p.name}, ${p.stand}${p.block ? `, ${p.block}` : ""}: ${p.latitude}, ${p.longitude}` }));
    },
    tables: [[survey.tables.sites, "sites and coordinates"]],
  }, survey);
}

function mapPlot(points, key, width) {
  const extent = (of) => [Math.min(...points.map(of)), Math.max(...points.map(of))];
  const [w, e] = extent((p) => p.east), [s, n] = extent((p) => p.north);
  const margin = { left: 20, right: 20, top: 34, bottom: 44 };
  const plotWidth = width - margin.left - margin.right;
  const reach = Math.max(e - w, 0.02) * 1.25;
  const plotHeight = Math.min(460, Math.max(220, (plotWidth * Math.max(n - s, 0.02) * 1.25) / reach));
  const perKm = Math.min(plotWidth / reach, plotHeight / (Math.max(n - s, 0.02) * 1.25));
  const middle = [(w + e) / 2, (s + n) / 2];
  const x = [middle[0] - plotWidth / perKm / 2, middle[0] + plotWidth / perKm / 2];
  const y = [middle[1] - plotHeight / perKm / 2, middle[1] + plotHeight / perKm / 2];
  const power = 10 ** Math.floor(Math.log10((x[1] - x[0]) / 3));
  const bar = [5, 2, 1].map((k) => k * power).find((d) => d <= (x[1] - x[0]) / 3) ?? power;
  const barAt = y[0] - 16 / perKm;
  const named = [];
  for (const p of [...points].sort((p, q) => q.north - p.north))
    if (named.every((o) => Math.abs(o.east - p.east) * perKm > 6.5 * Math.min(20, p.name.length) + 16 || Math.abs(o.north - p.north) * perKm > 13))
      named.push(p);
  return plot(width, { height: plotHeight + margin.top + margin.bottom, marginLeft: margin.left, marginRight: margin.right,
    marginTop: margin.top, marginBottom: margin.bottom, axis: null, x: { domain: x }, y: { domain: y }, clip: false, marks: [
      Plot.frame({ stroke: "var(--ink)", strokeOpacity: 0.25 }),
      ...["other", ...roles].map((role) => sitesOf(role, points, { x: "east", y: "north" })),
      ...["start", "end"].map((side) => Plot.text(named.filter((p) => (p.east > x[0] + 0.7 * (x[1] - x[0])) === (side === "end")),
        { x: "east", y: "north", text: (p) => cut(p.name, 20), dx: side === "end" ? -9 : 9, textAnchor: side, fontSize: 11.5,
          stroke: "var(--paper)", strokeWidth: 3, fill: "var(--ink)" })),
      Plot.ruleY([barAt], { x1: x[0], x2: x[0] + bar, stroke: "var(--ink)", strokeWidth: 2.5 }),
      Plot.text([distance(bar)], { x: x[0] + bar, y: barAt, dx: 8, textAnchor: "start", text: (d) => d }),
      Plot.text(["N \u2191"], { frameAnchor: "top-right", dx: -10, dy: 12, text: (d) => d, fontWeight: 700, fontSize: 15 }),
      ...key.map((k, i) => Plot.text([`${{ a: "\u25cf", b: "\u25a1", other: "\u00d7" }[k.role]} ${cut(k.text, 16)}`],
        { frameAnchor: "top-left", dx: i * 130, dy: -18, textAnchor: "start", text: (d) => d, fill: look(k.role).colour, fontWeight: 700 })),
    ] });
}

const hours = (h) => (h < 100 ? short(h) : count(Math.round(h)));

export function calendarChart(place, survey) {
  const rows = records(survey.tables.coverage).map((row) => ({ ...row, whole: Math.max(row.expected_min, row.present_min) }));
  if (!rows.length) return putNothing(place, "Nothing was recorded yet, so there is no calendar.");
  const { present_h: recorded, usable_h: usable } = survey.totals;
  const dates = [...new Set(rows.map((row) => row.date))].sort();
  const days = [];
  for (let d = new Date(`${dates[0]}T00:00Z`); d <= new Date(`${dates.at(-1)}T00:00Z`) && days.length < 800; d.setUTCDate(d.getUTCDate() + 1))
    days.push(d.toISOString().slice(0, 10));
  const heard = rows.filter((row) => row.present_min > 0);
  const seen = new Set(heard.map((row) => `${row.site} ${row.date}`));
  const sites = survey.sites.map((s) => s.name);
  const gaps = sites.flatMap((site) => days.filter((date) => !seen.has(`${site} ${date}`)).map((date) => ({ site, date })));
  const title = `Of ${hours(recorded)} recorded hours ${hours(usable)} can be used, over ${several(days.length, "date")}`;
  putFigure(place, {
    name: "coverage", title,
    subtitle: "Share of a site's minutes of a date that can be used: recorded, readable and kept by the screens, out of those " +
      `expected (of those recorded, where more was recorded). Hatching: nothing was recorded. n = ${several(sites.length, "site")}.`,
    alt: `${title}. ${several(gaps.length, "site and date", "sites and dates")} without a recording.`,
    draw: (width) => calendarPlot(survey, heard, gaps, sites, days, width),
    values: (svg) => {
      const at = placer(svg);
      return rows.map((r) => ({ group: r.site, x: at.x(r.date), y: at.y(r.site), words: `${r.site}, ${r.date}: ${tick(r.usable_min)} of ` +
        `${tick(r.present_min)} recorded minutes can be used, ${tick(r.expected_min)} were expected` }));
    },
    tables: [[survey.tables.coverage, "minutes by site and date"]],
  }, survey);
}

function calendarPlot(survey, rows, gaps, sites, days, width) {
  const room = Math.min(140, 20 + 7 * Math.max(...sites.map((s) => Math.min(18, s.length))));
  const rowHeight = sites.length > 16 ? 14 : 20, each = (width - room - 10) / days.length;
  const every = Math.max(1, Math.ceil(52 / each));
  const svg = plot(width, { height: 74 + rowHeight * sites.length, marginLeft: room, marginRight: 10, marginTop: 46, marginBottom: 28,
    x: { domain: days, label: null, tickSize: 0, tickFormat: (d, i) => (i % every ? "" : d.slice(5)), paddingInner: days.length > 120 ? 0 : 0.06 },
    y: { domain: sites, label: null, tickSize: 0, tickFormat: (s) => cut(s) }, color: sequence(survey, [0, 1]), marks: [
      hatch("nothing-recorded"),
      Plot.cell(gaps, { x: "date", y: "site", fill: "url(#nothing-recorded)" }),
      Plot.cell(rows, { x: "date", y: "site", fill: (r) => r.usable_min / r.whole, inset: 0.3, stroke: "var(--line)", strokeWidth: 0.6 }),
    ] });
  const key = strip(survey, [0, 1], ["0 % usable", "100 % usable"].map((words) => () => words), Math.min(220, width - room));
  key.setAttribute("x", room);
  svg.append(key);
  return svg;
}

export function screensChart(place, survey) {
  const rows = records(survey.tables.screens);
  if (!rows.length) return putNothing(place, "No screen fired on any segment.");
  const reasons = [...new Set(rows.map((row) => row.reason))];
  const totals = reasons.map((reason) => rows.filter((r) => r.reason === reason).reduce((n, r) => n + r.flagged, 0));
  const most = reasons[totals.indexOf(Math.max(...totals))];
  const excludes = new Map(rows.map((row) => [row.reason, row.excludes === 1]));
  const title = `The screen for ${most} fired most: on ${count(Math.max(...totals))} segments`;
  const sites = survey.sites.map((s) => s.name).filter((s) => rows.some((r) => r.site === s));
  putFigure(place, {
    name: "screens", title,
    subtitle: "Share of a site's complete segments on which a screen fired. Reasons that exclude are bold; the others only flag. " +
      `n = ${several(sites.length, "site")} with a flag.`,
    alt: `${title}. ` + reasons.map((r, i) => `${r}: ${count(totals[i])} segments`).join(", ") + ".",
    draw: (width) => {
      const room = Math.min(140, 20 + 7 * Math.max(...sites.map((s) => Math.min(18, s.length))));
      return plot(width, { height: 46 + 20 * sites.length, marginLeft: room, marginRight: 10, marginTop: 34, marginBottom: 8,
        x: { domain: reasons, axis: null }, y: { domain: sites, label: null, tickSize: 0, tickFormat: (s) => cut(s) },
        r: { domain: [0, 1], range: [0, 9] }, marks: [
          Plot.gridY({ stroke: "var(--ink)", strokeOpacity: 0.12 }),
          ...[true, false].map((bold) => Plot.text(reasons.filter((r) => excludes.get(r) === bold), { x: (r) => r, frameAnchor: "top",
            dy: -14, text: (r) => r, fontWeight: bold ? 700 : 400, fill: "var(--ink)" })),
          Plot.dot(rows, { x: "reason", y: "site", r: (r) => r.flagged / r.segments, fill: "var(--ink)", fillOpacity: 0.35, dx: -18 }),
          Plot.text(rows, { x: "reason", y: "site", text: (r) => percent(r.flagged / r.segments), dx: 12, fontSize: width > 500 ? 12 : 10.5,
            textAnchor: "middle" }),
        ] });
    },
    values: (svg) => {
      const at = placer(svg);
      return rows.map((r) => ({ group: r.site, x: at.x(r.reason), y: at.y(r.site),
        words: `${r.site}, ${r.reason}: ${count(r.flagged)} of ${several(r.segments, "segment")}, ${percent(r.flagged / r.segments)}` }));
    },
    tables: [[survey.tables.screens, "flags by site and screen"]],
  }, survey);
}
