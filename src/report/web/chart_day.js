// The day: an index by hour of the clock, around sunrise, and site by hour.
import * as Plot from "@observablehq/plot";
import { choice, putFigure, putNothing } from "./dom.js";
import { cut, hatch, lineLabels, lines, nameRoom, placer, plot, roles, sequence, strip } from "./marks.js";
import { clock, mean, pValue, reaches, sentence, several, short, tick } from "./numbers.js";

const alpha = (survey) => 1 - survey.survey.level;
/** Hours of an index that differ once all of its hours are considered. */
const testedHours = (survey, index) => survey.profile.filter((row) => row.index === index && row.p_adjusted !== null);
const clearHours = (survey, index) => testedHours(survey, index).filter((row) => reaches(row.p_adjusted, survey.survey.level));

function dayTitle(survey, index) {
  const tested = testedHours(survey, index), differ = clearHours(survey, index);
  if (!tested.length) return `How the ${survey.title(index)} goes through the day`;
  if (!differ.length) return `After adjustment no single hour is shown to differ in ${survey.title(index)}`;
  const most = differ.reduce((p, q) => (Math.abs(q.difference) > Math.abs(p.difference) ? q : p));
  const higher = most.difference > 0 ? survey.survey.a : survey.survey.b;
  return `After adjustment the classes differ in ${differ.length} of ${several(tested.length, "hour")}, most at ${clock(most.hour)}, ` +
    `where ${higher} sites are higher`;
}

/** One choice of the index for all charts of the section. */
export function daySection(place, survey) {
  if (!survey.hours.some((row) => row.role !== "other"))
    return putNothing(place, "No hour of a compared site has a kept segment yet.");
  const holder = document.createElement("div");
  const draw = (index) => {
    holder.replaceChildren();
    for (const chart of [dayChart, dawnChart, heatMap]) chart(holder, survey, index);
  };
  place.append(choice("Index of all charts of the day", survey.indices.map((c) => [c.name, c.title]), survey.primary.index, draw), holder);
  draw(survey.primary.index);
}

/** Hours of a site in which a tenth or more of the kept segments carry a flag that does not exclude: boats, wind. */
function flaggedHours(survey, rows, index) {
  return survey.keptFlags.filter((flag) => flag.segments >= 0.1 * flag.kept)
    .map((flag) => ({ ...flag, point: rows.find((row) => row.site === flag.site && row.hour === flag.hour) }))
    .filter((flag) => flag.point && flag.point.role !== "other")
    .map((flag) => ({ ...flag, value: flag.point[index], words: `${flag.reason}, ${flag.site}` }));
}

function flaggedWords(flagged) {
  if (!flagged.length) return null;
  const parts = flagged.slice(0, 6).map((f) => `${f.reason} at ${f.site} at ${clock(f.hour)} (${f.segments} of ${several(f.kept, "segment")})`);
  const more = flagged.length > 6 ? `; ${flagged.length - 6} more such hours are in the table` : "";
  return `Ringed: kept though flagged, so what is high there may be no animal: ${parts.join("; ")}${more}.`;
}

function dayChart(holder, survey, index) {
  const rows = survey.hours.filter((row) => row[index] !== null);
  if (!rows.length) return putNothing(holder, `No site has a value of ${survey.title(index)}.`);
  const differ = clearHours(survey, index), flagged = flaggedHours(survey, rows, index);
  const title = dayTitle(survey, index);
  putFigure(holder, {
    name: `${index}-by-hour`, title,
    subtitle: `${sentence(survey.title(index))} (${survey.unit(index)}) by hour of the local clock; ${survey.n(rows)}. ` +
      "Thin lines are sites, thick ones the means of the classes (where half of the sites have a value), ribbons one standard error of the mean over sites." +
      (testedHours(survey, index).length ? ` Bars below: hours with adjusted p of ${pValue(alpha(survey))} or less (maximum test over the hours).` : ""),
    alt: `${title}. ${dayWords(survey, rows, index)}`,
    note: flaggedWords(flagged),
    draw: (width) => hourPlot(survey, rows, index, differ, flagged, width),
    values: (svg) => lineValues(svg, survey, rows, "hour", index, clock),
    tables: [[survey.tables.hours, "values of the sites by hour"], [survey.tables.profile, "differences by hour"],
      [survey.tables.kept_flags, "kept segments with a flag"]],
  }, survey);
}

/** Class means, then sites, of each step along x. */
function lineValues(svg, survey, rows, x, y, words) {
  const at = placer(svg), means = survey.classMeans(rows, x, y);
  const steps = [...new Set(rows.map((row) => row[x]))].sort((p, q) => p - q);
  return steps.flatMap((step) => [
    ...means.filter((m) => m.x === step).map((m) => ({ group: step, x: at.x(step), y: at.y(m.mean),
      words: `${words(step)}: mean of ${m.n} ${survey.className(m.role)} sites ${short(m.mean)}` })),
    ...rows.filter((row) => row[x] === step).map((row) => ({ group: step, x: at.x(step), y: at.y(row[y]),
      words: `${words(step)}: ${row.site}, ${survey.className(row.role)}, ${short(row[y])}` })),
  ]);
}

function dayWords(survey, rows, index) {
  const means = survey.classMeans(rows, "hour", index);
  return roles.map((role) => {
    const own = means.filter((row) => row.role === role);
    if (!own.length) return "";
    const top = own.reduce((p, q) => (q.mean > p.mean ? q : p));
    return `${sentence(survey.className(role))} sites are highest at ${clock(top.x)} with a mean of ${short(top.mean)}.`;
  }).join(" ");
}

function night({ sunrise, sunset }) {
  if (sunrise === null || sunset === null) return [];
  return [Plot.rectX([[0, sunrise / 60], [sunset / 60, 24]], { x1: (d) => d[0] - 0.5, x2: (d) => d[1] - 0.5,
    fill: "var(--ink)", fillOpacity: 0.06 })];
}

function hourPlot(survey, rows, index, differ, flagged, width) {
  const height = Math.min(380, Math.max(260, width * 0.5));
  return plot(width, { height, marginLeft: 54, marginRight: nameRoom(survey), marginTop: 24, marginBottom: 44,
    x: { domain: [-0.5, 23.5], label: null, ticks: width > 500 ? [0, 3, 6, 9, 12, 15, 18, 21] : [0, 6, 12, 18], tickFormat: clock },
    y: { label: null, ticks: 6, tickFormat: tick, nice: true }, marks: [
      ...night(survey.sun),
      Plot.text([survey.unit(index)], { frameAnchor: "top-left", dx: -50, dy: -20, textAnchor: "start", fill: "var(--soft)" }),
      ...lines(survey, rows, "hour", index),
      ...lineLabels(survey, rows, "hour", index, height - 68),
      Plot.tickX(differ, { x: "hour", stroke: "var(--ink)", strokeWidth: Math.max(4, (width / 26) * 0.8), insetTop: height - 72,
        insetBottom: 0 }),
      Plot.dot(flagged, { x: "hour", y: "value", r: 8, stroke: "var(--ink)", strokeWidth: 1.4 }),
      Plot.text([...flagged].sort((p, q) => q.value - p.value).slice(0, 2), { x: "hour", y: "value", text: (f) => cut(f.words, 28), dx: 12,
        textAnchor: "start", fontSize: 12, stroke: "var(--paper)", strokeWidth: 3, fill: "var(--ink)" }),
    ] });
}

const fromSunrise = (m) => (m === 0 ? "at sunrise" : `${Math.abs(m)} min ${m < 0 ? "before" : "after"} sunrise`);

function dawnChart(place, survey, index) {
  const rows = survey.sunriseSteps.filter((row) => row[index] !== null && row.role !== "other").map((row) => ({ ...row, value: row[index] }));
  if (!rows.length) return putNothing(place, "No kept segment lies near a sunrise, so dawn cannot be drawn.");
  const means = survey.classMeans(rows, "minutes", "value");
  const peaks = roles.map((role) => means.filter((row) => row.role === role)
    .reduce((p, q) => (!p || q.mean > p.mean ? q : p), null));
  const title = peaks[0] && peaks[1]
    ? `Around sunrise the mean of ${survey.survey.a} sites is highest ${fromSunrise(peaks[0].x)} and that of ${survey.survey.b} sites ${fromSunrise(peaks[1].x)}`
    : "Dawn, counted from sunrise";
  putFigure(place, {
    name: `${index}-from-sunrise`, title,
    subtitle: `${sentence(survey.title(index))} (${survey.unit(index)}) in steps of five minutes from sunrise; ${survey.n(rows)}. ` +
      "Thin lines are sites, thick ones the means of the classes (where half of the sites have a value), ribbons one standard error.",
    alt: `${title}. The highest means are ${peaks.map((p, i) => (p ? `${short(p.mean)} (${survey.className(roles[i])})` : "")).join(" and ")}.`,
    draw: (width) => {
      const height = Math.min(380, Math.max(260, width * 0.5));
      return plot(width, { height, marginLeft: 54, marginRight: nameRoom(survey), marginTop: 24, marginBottom: 44,
        x: { label: "minutes from sunrise", labelAnchor: "center", labelArrow: "none", tickFormat: tick, ticks: width > 500 ? 8 : 5 },
        y: { label: null, ticks: 6, tickFormat: tick, nice: true }, marks: [
          Plot.ruleX([0], { stroke: "var(--ink)", strokeDasharray: "2 3" }),
          Plot.text(["sunrise"], { x: 0, frameAnchor: "top", dy: -12, text: (d) => d, fill: "var(--soft)" }),
          Plot.text([survey.unit(index)], { frameAnchor: "top-left", dx: -50, dy: -20, textAnchor: "start", fill: "var(--soft)" }),
          ...lines(survey, rows, "minutes", "value"),
          ...lineLabels(survey, rows, "minutes", "value", height - 68),
        ] });
    },
    values: (svg) => lineValues(svg, survey, rows, "minutes", "value", fromSunrise),
    tables: [[survey.tables.sunrise, "values of the sites by minutes from sunrise"]],
  }, survey);
}

function heatMap(place, survey, index) {
  const rows = survey.hours.filter((row) => row[index] !== null);
  if (!rows.length) return putNothing(place, "No hour of a site has a value yet.");
  const values = rows.map((row) => row[index]).sort((p, q) => p - q);
  const quantile = (share) => values[Math.round(share * (values.length - 1))];
  const domain = [quantile(0.02), quantile(0.98)];
  const ends = [(x) => (values[0] < domain[0] ? `\u2264 ${short(x)}` : short(x)),
    (x) => (values.at(-1) > domain[1] ? `\u2265 ${short(x)}` : short(x))];
  if (domain[0] === domain[1]) domain[1] = domain[0] + 1;
  const bySite = new Map();
  for (const row of rows) if (!(bySite.get(row.site)?.[index] > row[index])) bySite.set(row.site, row);
  const tops = [...bySite.values()].map((row) => row.hour);
  const usual = tops.reduce((p, q) => (tops.filter((h) => h === q).length > tops.filter((h) => h === p).length ? q : p));
  const same = tops.filter((h) => h === usual).length;
  const title = `The hour from ${clock(usual)} is the highest` + (tops.length > 1 ? ` at ${same} of ${tops.length} sites` : "");
  const sites = survey.sites.filter((site) => bySite.has(site.name)).map((site) => ({ ...site,
    top: mean(rows.filter((row) => row.site === site.name).map((row) => row[index])) }));
  const order = ["a", "b", "other"].flatMap((role) => sites.filter((s) => s.role === role).sort((p, q) => q.top - p.top));
  const seen = new Set(rows.map((row) => `${row.site} ${row.hour}`));
  const gaps = order.flatMap((site) => [...Array(24).keys()].filter((hour) => !seen.has(`${site.name} ${hour}`))
    .map((hour) => ({ site: site.name, hour, role: site.role })));
  const mark = { a: "\u25cf", b: "\u25a1", other: "\u00d7" };
  putFigure(place, {
    name: `${index}-site-by-hour`, title,
    subtitle: `${sentence(survey.title(index))} (${survey.unit(index)}), mean over dates; a row is a site, a cell an hour of the local ` +
      `clock, hatching an hour without a kept segment; ${survey.n(rows)}. Sites of a class from high to low; colours end where the outer 2 % of cells begin.`,
    alt: `${title}. Cells range from ${short(values[0])} to ${short(values.at(-1))}; ${several(gaps.length, "cell")} without a value.`,
    draw: (width) => {
      const rowHeight = order.length > 16 ? 15 : 22, room = Math.min(150, 40 + 7 * Math.max(...order.map((s) => Math.min(18, s.name.length))));
      const height = 66 + rowHeight * order.length;
      const svg = plot(width, { height, marginLeft: room, marginRight: 8, marginTop: 46, marginBottom: 26,
        x: { domain: [...Array(24).keys()], label: null, tickSize: 0, tickFormat: (h) => (h % (width > 500 ? 3 : 6) ? "" : clock(h)) },
        y: { domain: order.map((site) => site.name), label: null, tickSize: 0,
          tickFormat: (name) => `${mark[survey.siteByName.get(name).role]} ${cut(name)}` },
        color: sequence(survey, domain), marks: [
          hatch("missing-hour"),
          Plot.cell(gaps, { x: "hour", y: "site", fill: "url(#missing-hour)" }),
          Plot.cell(rows, { x: "hour", y: "site", fill: index, inset: 0.3, stroke: "var(--line)", strokeWidth: 0.6 }),
        ] });
      const key = strip(survey, domain, ends, Math.min(220, width - room));
      key.setAttribute("x", room);
      key.setAttribute("y", 0);
      svg.append(key);
      return svg;
    },
    values: (svg) => {
      const at = placer(svg);
      return order.flatMap((site) => rows.filter((row) => row.site === site.name).map((row) => ({ group: site.name, x: at.x(row.hour),
        y: at.y(site.name), words: `${site.name}, ${clock(row.hour)}: ${short(row[index])}, over ${several(row.dates, "date")}` })));
    },
    tables: [[survey.tables.hours, "values of the sites by hour"]],
  }, survey);
}

