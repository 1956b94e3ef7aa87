// Next season: how wide the interval of the answer is with fewer dates a site, and where today's stand.
import * as Plot from "@observablehq/plot";
import { putFigure, putNothing } from "./dom.js";
import { placer, plot } from "./marks.js";
import { several, short, tick } from "./numbers.js";

export function nextChart(place, survey) {
  const rows = survey.effort.filter((row) => row.width !== null);
  if (rows.length < 2) return putNothing(place, "The interval has a bound at fewer than two numbers of dates, so no curve is drawn.");
  const { index, window } = survey.primary, last = rows.at(-1), half = rows[Math.ceil(rows.length / 2) - 1];
  const title = `With ${several(half.dates, "date")} a site the interval would be ${short(half.width)} wide; with today's ${last.dates} it is ${short(last.width)}`;
  putFigure(place, {
    name: "width-by-dates", title,
    subtitle: `Width of the interval of ${survey.title(index)}, ${window} (${survey.unit(index)}), with so many of each site's dates, drawn at random without ` +
      "replacement: median and quartiles over the draws. More dates than were recorded cannot be drawn.",
    alt: `${title}. ${rows.map((row) => `${several(row.dates, "date")}: ${short(row.width)}`).join(", ")}.`,
    draw: (width) => effortPlot(rows, last, Math.min(width, 620)),
    values: (svg) => rows.map((row) => ({ group: "widths", x: placer(svg).x(row.dates), y: placer(svg).y(row.width),
      words: `${several(row.dates, "date")} a site: ${short(row.width)} wide, quartiles ${short(row.low)} and ${short(row.high)}` })),
    tables: [[{ file: null, columns: ["dates", "width, median", "width, lower quartile", "width, upper quartile"],
      rows: rows.map((row) => [row.dates, row.width, row.low, row.high]) }, "width by dates"]],
  }, survey);
}

function effortPlot(rows, last, width) {
  const closed = rows.filter((row) => row.low !== null && row.high !== null), most = Math.max(...rows.map((row) => row.high ?? row.width));
  return plot(width, { height: 240, marginLeft: 48, marginRight: 80, marginTop: 18, marginBottom: 40,
    x: { domain: [rows[0].dates, last.dates] }, y: { domain: [0, most * 1.05] }, marks: [
      Plot.axisY({ label: null, ticks: 5, tickFormat: tick, tickSize: 4 }),
      Plot.axisX({ label: "dates a site", labelAnchor: "center", labelArrow: "none", tickFormat: (d) => (Number.isInteger(d) ? String(d) : ""), tickSize: 4, ticks: Math.min(8, rows.length) }),
      Plot.ruleX(closed, { x: "dates", y1: "low", y2: "high", stroke: "var(--ink)", strokeWidth: 1.2, strokeOpacity: 0.6 }),
      Plot.line(rows, { x: "dates", y: "width", stroke: "var(--ink)", strokeWidth: 1.6 }),
      Plot.dot(rows, { x: "dates", y: "width", r: 3.5, fill: (d) => (d === last ? "var(--ink)" : "var(--paper)"), stroke: "var(--ink)" }),
      Plot.text([last], { x: "dates", y: "width", text: () => "today", dx: 10, textAnchor: "start", fontWeight: 700 }),
    ] });
}
