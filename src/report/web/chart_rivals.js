// What else sets the classes apart: every number of the sheets and sounds as a standardised difference on one axis, those that make the
// stand apart from the rest, and the answer itself beside them.
import * as Plot from "@observablehq/plot";
import { putFigure, putNothing, records } from "./dom.js";
import { cut, placer, plot } from "./marks.js";
import { several, short } from "./numbers.js";

/** Half a standard deviation is a doubt, a whole one a serious one: the audit's own limits. */
const kDoubt = 0.5, kSerious = 1, kWidest = 4;

const infinite = (x) => (typeof x === "string" ? (x.startsWith("-") ? -Infinity : Infinity) : x);

function rowsOf(survey) {
  const rows = records(survey.tables.audit).map((row) => ({ ...row, standardised: infinite(row.standardised) }))
    .filter((row) => row.standardised !== null);
  const part = (row) => row.part_of_stand === 1, band = (row) => row.number.startsWith("background ");
  const line = (label, kind, own) => ({ label, kind, rows: own });
  const size = (p) => Math.abs(p.standardised);
  const alone = rows.filter((row) => !part(row) && !band(row)).sort((p, q) => size(q) - size(p)).map((row) => line(survey.numberName(row.number), "nuisance", [row]));
  const bands = rows.filter((row) => !part(row) && band(row));
  const stand = rows.filter(part).sort((p, q) => size(q) - size(p)).map((row) => line(survey.numberName(row.number), "stand", [row]));
  return [...alone, ...(bands.length ? [line(`background, ${several(bands.length, "band")}`, "nuisance", bands)] : []), ...stand];
}

function titleOf(survey, lines, answer) {
  const rivals = lines.filter((line) => line.kind === "nuisance").flatMap((line) => line.rows);
  if (!rivals.length) return "No number of the sheets could be a rival explanation";
  const most = rivals.reduce((p, q) => (Math.abs(q.standardised) > Math.abs(p.standardised) ? q : p)), size = Math.abs(most.standardised);
  if (size < kDoubt) return `None of ${several(rivals.length, "number")} besides the stand sets the classes half a standard deviation apart`;
  const called = survey.numberName(most.number), own = answer ? `; the answer by ${short(Math.abs(answer.hedges_g))}` : "";
  return size === Infinity ? `Besides the stand, the classes do not overlap in ${called}`
    : `Besides the stand, ${called} sets the classes furthest apart: by ${short(size)} standard deviations${own}`;
}

export function rivalsChart(place, survey) {
  const lines = rowsOf(survey);
  if (!lines.length) return putNothing(place, "No number of the sheets or sounds could be compared between the classes.");
  const row = survey.contrast(survey.primary.index, survey.primary.window), answer = row && row.hedges_g !== null ? row : null;
  const { a, b } = survey.survey, title = titleOf(survey, lines, answer);
  if (answer) lines.unshift({ label: survey.title(answer.index), kind: "answer", rows: [{ number: answer.index, standardised: answer.hedges_g }] });
  putFigure(place, {
    name: "rivals", title,
    subtitle: `Difference ${a} minus ${b} of each number that was looked at, in standard deviations of sites within a class (within blocks). Diamond: the answer, Hedges' g. ` +
      "Filled: what could be another cause; open: what makes the stand, as survey.toml says. Dashed: half a standard deviation and one, from where the audit calls it a doubt and a serious one. A number beside an arrow lies outside.",
    alt: `${title}. ${lines.flatMap((line) => line.rows).slice(0, 8).map((row) => `${survey.numberName(row.number)} ${short(row.standardised)}`).join(", ")}.`,
    draw: (width) => rivalsPlot(lines, width),
    values: (svg) => lines.flatMap((line, i) => line.rows.map((row) => ({ group: i, x: placer(svg).x(svg.inside(row.standardised)), y: placer(svg).y(i), words: words(survey, line, row) }))),
    tables: [[survey.tables.audit, "numbers looked at"]],
  }, survey);
}

function words(survey, line, row) {
  const { a, b } = survey.survey, unit = row.unit && row.unit !== "1" ? ` ${row.unit}` : "";
  if (line.kind === "answer") return `The answer, ${line.label}, ${survey.primary.window}: Hedges' g ${short(row.standardised)}`;
  return `${survey.numberName(row.number)}: ${short(row.mean_a)}${unit} at ${a}, ${short(row.mean_b)}${unit} at ${b}, ${short(row.standardised)} standard deviations` +
    (line.kind === "stand" ? "; part of the stand" : row.severity === "note" ? "" : `; ${row.severity}`);
}

function rivalsPlot(lines, width) {
  const finite = lines.flatMap((line) => line.rows.map((row) => Math.abs(row.standardised))).filter(Number.isFinite);
  const limit = Math.min(kWidest, Math.max(2, ...finite)) * 1.05, room = width > 620 ? 226 : 132;
  const inside = (x) => Math.max(-limit, Math.min(limit, x));
  const marks = lines.flatMap((line, i) => line.rows.map((row) => ({ y: i, x: inside(row.standardised), kind: line.kind, single: line.rows.length === 1, out: Math.abs(row.standardised) > limit, value: row.standardised })));
  const of = (kind, single) => marks.filter((mark) => mark.kind === kind && mark.single === single && !mark.out);
  const svg = plot(width, {
    height: 46 + 22 * lines.length, marginLeft: room, marginRight: 44, marginTop: 8, marginBottom: 30,
    x: { domain: [-limit, limit] }, y: { type: "point", domain: lines.map((_, i) => i), padding: 0.6 },
    marks: [
      Plot.axisY({ tickFormat: (i) => cut(lines[i].label, width > 620 ? 32 : 17), tickSize: 0, label: null }),
      Plot.axisX({ label: null, ticks: 7, tickSize: 4 }),
      Plot.ruleX([0], { stroke: "var(--ink)", strokeOpacity: 0.6 }),
      Plot.ruleX([-kSerious, -kDoubt, kDoubt, kSerious], { stroke: "var(--faint)", strokeDasharray: "2 4" }),
      Plot.dot(of("answer", true), { x: "x", y: "y", symbol: "diamond", fill: "var(--ink)", r: 6 }),
      Plot.dot(of("nuisance", true), { x: "x", y: "y", fill: "var(--ink)", r: 4.5 }),
      Plot.dot(of("nuisance", false), { x: "x", y: "y", fill: "var(--ink)", fillOpacity: 0.4, r: 2.6 }),
      Plot.dot(of("stand", true), { x: "x", y: "y", fill: "var(--paper)", stroke: "var(--ink)", strokeWidth: 1.5, r: 4.5 }),
      Plot.text(marks.filter((mark) => mark.out), { x: "x", y: "y", text: (d) => (d.value > 0 ? `\u2192 ${short(d.value)}` : `${short(d.value)} \u2190`),
        fill: "var(--ink)" }),
    ],
  });
  svg.inside = inside;
  return svg;
}
