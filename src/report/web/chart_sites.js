// The sites: against columns of the sheet, and what the screens said.
import * as Plot from "@observablehq/plot";
import { putFigure, putNothing, records } from "./dom.js";
import { cut, placer, plot, roles, sitesOf } from "./marks.js";
import { pValue, rho, sentence, several, short, tick } from "./numbers.js";

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
  const title = `Of ${several(rows.length, "numeric column")} of the sheets, ${survey.numberName(strongest.column)} goes along most with ` +
    `${survey.title(index)} (rho ${rho(strongest.rho)})`;
  putFigure(place, {
    name: `${index}-against-site-sheet`, title,
    subtitle: `${sentence(survey.title(index))} (${survey.unit(index)}) of the ${window} window against the sheets' numbers. rho is ` +
      "Spearman's rank correlation over all sites, p by permutation of sites; a correlation is no cause, and class and block are ignored.",
    alt: `${title}. ` + rows.map((r) => `${survey.numberName(r.column)}: rho ${rho(r.rho)}, p ${pValue(r.p)}, n ${r.n}`).join("; ") + ".",
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
      x: { label: cut(survey.numberAxis(row.column), 24), labelAnchor: "center", labelArrow: "none", ticks: 4, tickFormat: tick, nice: true },
      y: { label: null, ticks: 4, tickFormat: tick, nice: true }, marks: [
        Plot.text([`rho ${rho(row.rho)}, p ${pValue(row.p)}, n ${row.n}`], { frameAnchor: "top-left", dy: -16, textAnchor: "start",
          text: (d) => d }),
        ...["other", ...roles].map((role) => sitesOf(role, own, { x: "x", y: "y" })),
      ] });
    const [left, top] = [(i % across) * each, Math.floor(i / across) * height], at = placer(inner);
    outer.values.push(...own.map((p) => ({ group: row.column, x: left + at.x(p.x), y: top + at.y(p.y),
      words: `${p.site}: ${survey.numberName(row.column)} ${short(p.x)}, ${survey.title(index)} ${short(p.y)}` })));
    inner.setAttribute("x", left);
    inner.setAttribute("y", top);
    outer.append(inner);
  });
  return outer;
}
