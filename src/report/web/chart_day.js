// The day: an index by hour of the clock, around sunrise, and site by hour.
import * as Plot from "@observablehq/plot";
import { choice, putFigure, putNothing } from "./dom.js";
import { cut, hatch, lineLabels, lines, nameRoom, plot, roles, sequence, strip } from "./marks.js";
import { clock, mean, pValue, sentence, several, short, tick } from "./numbers.js";

const alpha = (survey) => 1 - survey.survey.level;

function dayTitle(survey, index) {
  const tested = survey.profile.filter((row) => row.index === index && row.p_adjusted !== null);
  const differ = tested.filter((row) => row.p_adjusted <= alpha(survey) + 1e-12);
  if (!tested.length) return `How the ${survey.title(index)} goes through the day`;
  if (!differ.length) return `No single hour sets the classes apart in ${survey.title(index)}`;
  const most = differ.reduce((p, q) => (Math.abs(q.difference) > Math.abs(p.difference) ? q : p));
  const higher = most.difference > 0 ? survey.survey.a : survey.survey.b;
  return `The classes differ in ${differ.length} of ${tested.length} hours, most at ${clock(most.hour)}, ` +
    `where ${higher} sites are higher`;
}

export function dayChart(place, survey) {
  if (!survey.hours.some((row) => row.role !== "other"))
    return putNothing(place, "No hour of a compared site has a kept segment yet.");
  const holder = document.createElement("div");
  const draw = (index) => {
    holder.replaceChildren();
    const rows = survey.hours.filter((row) => row[index] !== null);
    if (!rows.length) return putNothing(holder, `No site has a value of ${survey.title(index)}.`);
    const tested = survey.profile.filter((row) => row.index === index && row.p_adjusted !== null);
    const differ = tested.filter((row) => row.p_adjusted <= alpha(survey) + 1e-12);
    const title = dayTitle(survey, index);
    putFigure(holder, {
      name: `${index}-by-hour`, title,
      subtitle: `${sentence(survey.title(index))} (${survey.unit(index)}) by hour of the local clock; ${survey.n(rows)}. ` +
        "Thin lines are sites, thick ones the means of the classes (where half of the sites have a value), ribbons one standard error of the mean over sites." +
        (tested.length ? ` Bars below: hours with adjusted p of ${pValue(alpha(survey))} or less (maximum test over the hours).` : ""),
      alt: `${title}. ${dayWords(survey, rows, index)}`,
      draw: (width) => hourPlot(survey, rows, index, differ, width),
      tables: [[survey.tables.hours, "values of the sites by hour"], [survey.tables.profile, "differences by hour"]],
    });
  };
  place.append(choice("Index", survey.indices.map((c) => [c.name, c.title]), survey.primary.index, draw), holder);
  draw(survey.primary.index);
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

function hourPlot(survey, rows, index, differ, width) {
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
      Plot.crosshairX(rows.filter((row) => row.role !== "other"), { x: "hour", y: index, textFill: "var(--ink)",
        textStroke: "var(--paper)", ruleStroke: "var(--ink)" }),
    ] });
}

export function dawnChart(place, survey) {
  const index = survey.primary.index;
  const rows = survey.sunriseSteps.filter((row) => row.value !== null && row.role !== "other");
  if (!rows.length) return putNothing(place, "No kept segment lies near a sunrise, so dawn cannot be drawn.");
  const means = survey.classMeans(rows, "minutes", "value");
  const peaks = roles.map((role) => means.filter((row) => row.role === role)
    .reduce((p, q) => (!p || q.mean > p.mean ? q : p), null));
  const when = (m) => (m === 0 ? "at sunrise" : `${Math.abs(m)} min ${m < 0 ? "before" : "after"} sunrise`);
  const title = peaks[0] && peaks[1]
    ? `At dawn, ${survey.survey.a} sites peak ${when(peaks[0].x)} and ${survey.survey.b} sites ${when(peaks[1].x)}`
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
    tables: [[survey.tables.sunrise, "values of the sites by minutes from sunrise"]],
  });
}

export function heatMap(place, survey) {
  const index = survey.primary.index;
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
          Plot.cell(rows, { x: "hour", y: "site", fill: index, inset: 0.3, stroke: "var(--line)", strokeWidth: 0.6,
            tip: { fill: "var(--paper)", format: { fill: short, x: clock } } }),
        ] });
      const key = strip(survey, domain, ends, Math.min(220, width - room));
      key.setAttribute("x", room);
      key.setAttribute("y", 0);
      svg.append(key);
      return svg;
    },
    tables: [[survey.tables.hours, "values of the sites by hour"]],
  });
}

