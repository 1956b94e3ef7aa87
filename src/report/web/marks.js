// What all charts share: type, the two classes' marks and lines, the sequence of colours, the hatch.
import * as Plot from "@observablehq/plot";
import { svgElement } from "./dom.js";

export const roles = ["a", "b"];
const looks = {
  a: { colour: "var(--a)", symbol: "circle", fill: "var(--a)", dash: null },
  b: { colour: "var(--b)", symbol: "square", fill: "var(--paper)", dash: "5 3" },
  other: { colour: "var(--faint)", symbol: "times", fill: "none", dash: "1 3" },
  out: { colour: "var(--faint)", symbol: "times", fill: "none", dash: "1 3" }, // of the two classes, but not in the test
};
export const look = (role) => looks[role];

/** Plot.plot with the page's type; horizontal labels are the caller's. */
export function plot(width, options) {
  const svg = Plot.plot({
    width,
    className: "chart",
    style: { background: "none", color: "var(--ink)", fontFamily: "inherit", fontSize: "13px", overflow: "visible" },
    ...options,
  });
  // Plot's own style element would need an exception in the page's policy; page.css has its rules.
  svg.querySelectorAll("style").forEach((element) => element.remove());
  // The chart has one alternative text; names of its inner parts ("dot", "rule") would only be noise.
  for (const part of svg.querySelectorAll("[aria-label], [aria-description]")) {
    part.dataset.mark = part.getAttribute("aria-label") ?? "";
    part.removeAttribute("aria-label");
    part.removeAttribute("aria-description");
  }
  return svg;
}

/** Where values of the scales x and y stand in a chart, in px. */
export function placer(svg) {
  const of = (name) => {
    const scale = svg.scale(name);
    return (value) => (scale ? scale.apply(value) + (scale.bandwidth ?? 0) / 2 : NaN);
  };
  return { x: of("x"), y: of("y") };
}

/** The marks of one class: filled and round for the first, open and square for the second. */
export function sitesOf(role, rows, options) {
  const { colour, symbol, fill } = looks[role];
  return Plot.dot(rows.filter((row) => row.role === role),
    { symbol, fill, stroke: colour, strokeWidth: 1.6, r: 4.5, ...options });
}

/** Sites as thin lines, the class mean as a thick one with a ribbon of one standard error to each side. */
export function lines(survey, rows, x, y) {
  const means = survey.classMeans(rows, x, y);
  const sites = rows.filter((row) => row.role !== "other" && row[y] !== null).sort((p, q) => p[x] - q[x]);
  return roles.flatMap((role) => {
    const { colour, dash } = looks[role];
    const own = means.filter((row) => row.role === role);
    return [
      Plot.line(sites.filter((row) => row.role === role),
        { x, y, z: "site", stroke: colour, strokeWidth: 0.8, strokeOpacity: 0.45, strokeDasharray: dash }),
      Plot.areaY(own.filter((row) => row.low !== null), { x: "x", y1: "low", y2: "high", fill: colour, fillOpacity: 0.18 }),
      Plot.line(own, { x: "x", y: "mean", stroke: colour, strokeWidth: 2.6, strokeDasharray: dash }),
      own.length === 1 ? Plot.dot(own, { x: "x", y: "mean", fill: colour }) : null,
    ];
  });
}

/** The class's name beside the end of its mean line, pushed apart where the two would touch. */
export function lineLabels(survey, rows, x, y, height) {
  const means = survey.classMeans(rows, x, y);
  const ends = roles.map((role) => means.filter((row) => row.role === role).at(-1)).filter(Boolean);
  if (!ends.length) return [];
  const values = rows.filter((row) => row.role !== "other" && row[y] !== null).map((row) => row[y]);
  const span = Math.max(...values) - Math.min(...values) || 1;
  const close = ends.length === 2 && (Math.abs(ends[0].mean - ends[1].mean) / span) * height < 18;
  return ends.map((end) => {
    const above = ends.every((other) => other === end || end.mean > other.mean ||
      (end.mean === other.mean && end.role === "a"));
    return Plot.text([end], { x: "x", y: "mean", text: () => `${end.role === "a" ? "\u25cf" : "\u25a1"} ${survey.className(end.role)}`,
      textAnchor: "start", dx: 8, dy: close ? (above ? -9 : 9) : 0, fill: looks[end.role].colour, fontWeight: 700 });
  });
}

/** Space to the right for the classes' names. */
export const nameRoom = (survey) =>
  24 + 7.5 * Math.max(survey.survey.a.length, survey.survey.b.length);

/** A definition of the hatch that stands for missing, in a namespace of its own for each chart. */
export const hatch = (id) => () => svgElement("defs", {}, hatchPattern(id, "M0 0V5", 5, 45));

/** A pattern of ink: `path` within a square of `size` px, turned by `turn` degrees. */
export const hatchPattern = (id, path, size, turn = 0) =>
  svgElement("pattern", { id, width: size, height: size, patternUnits: "userSpaceOnUse", patternTransform: `rotate(${turn})` },
    svgElement("path", { d: path, stroke: "var(--ink)", "stroke-opacity": 0.5, "stroke-width": 1.2, fill: "none" }));

/** The class as a sign before a word. */
export const sign = (role) => ({ a: "\u25cf", b: "\u25a1" })[role] ?? "\u00d7";

/** The page's sequence as a Plot colour scale. */
export const sequence = (survey, domain) => ({ type: "linear", domain,
  clamp: true, interpolate: (t) => survey.palette.sequence[Math.round(t * (survey.palette.sequence.length - 1))] });

/** A strip of the sequence with the values at its ends, drawn as marks in a plot of its own. */
export function strip(survey, [low, high], [lowWords, highWords], width = 220) {
  const steps = survey.palette.sequence.map((colour, i) => ({ i, colour }));
  const last = steps.length - 1;
  return plot(width, { height: 40, marginLeft: 1, marginRight: 1, marginTop: 18, marginBottom: 8, axis: null,
    x: { domain: [0, last + 1] }, marks: [
      Plot.rect(steps, { x1: "i", x2: (d) => d.i + 1, y1: 0, y2: 1, fill: "colour", shapeRendering: "crispEdges" }),
      Plot.text([lowWords(low)], { x: 0, y: 1, dy: -9, textAnchor: "start" }),
      Plot.text([highWords(high)], { x: last + 1, y: 1, dy: -9, textAnchor: "end" }),
    ] });
}

/** Long names are cut in charts; tables carry them whole. */
export const cut = (name, length = 18) => ([...name].length > length ? `${[...name].slice(0, length - 1).join("")}\u2026` : name);
