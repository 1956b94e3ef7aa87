// How each index followed the ear in this survey's listening check: a mark and a word beside it. The shape says it
// without colour.
import * as Plot from "@observablehq/plot";
import { rho } from "./numbers.js";

const filled = { symbol: "triangle", fill: "var(--ink)" }, diamond = { symbol: "diamond", fill: "var(--paper)" };
/** Verdicts of listening.csv as the page says them. */
const looks = {
  "follows": { word: "followed", sign: "\u25b2", mark: filled },
  "does not follow": { word: "did not", sign: "\u00d7", mark: { symbol: "times", fill: "none" } },
  "opposite": { word: "went against", sign: "\u25bd", mark: { symbol: "triangle", fill: "var(--paper)", rotate: 180 } },
  "unclear": { word: "unclear", sign: "\u25c7", mark: diamond },
  "too few clips": { word: "too few clips", sign: "\u25c7", mark: diamond },
};
const kWordsFrom = 620; // px of chart width

/** Words and correlations fit beside the marks on wide charts; on narrow ones the marks stand alone. */
export function earMarks(survey, rows, { x, dx, width }) {
  const heard = rows.filter((row) => looks[survey.heard.get(row.index)?.verdict]);
  if (!heard.length) return { room: 0, marks: [] };
  const of = (row) => survey.heard.get(row.index);
  const wide = width >= kWordsFrom;
  const words = (row) => `${looks[of(row).verdict].word}${of(row).rho === null ? "" : ` (${rho(of(row).rho)})`}`;
  const text = { x, y: "index", dx: dx + 12, textAnchor: "start" };
  return { room: wide ? 172 : 32, marks: [
    ...Object.entries(looks).map(([verdict, { mark }]) => Plot.dot(heard.filter((row) => of(row).verdict === verdict),
      { ...mark, x, y: "index", dx, r: 4.5, stroke: "var(--ink)", strokeWidth: 1.6 })),
    wide ? Plot.text(heard, { ...text, text: words }) : null,
    Plot.text([wide ? "by ear (rho)" : "ear"], { frameAnchor: "top-right", dx: wide ? dx - 6 : dx + 10, dy: -18, text: (d) => d,
      fill: "var(--soft)", textAnchor: wide ? "start" : "end" }),
  ] };
}

const verdictsIn = (survey, indices, verdict) => indices.filter((index) => survey.heard.get(index)?.verdict === verdict);

/** The key of the marks, with what the check was; or that there was none. */
export function earNote(survey, indices) {
  if (!survey.heard.size) return "No listening check was made: whether any of these indices means animals here is not known.";
  const [first] = survey.heard.values();
  const signs = [...new Set(indices.map((index) => survey.heard.get(index)?.verdict).filter(Boolean))]
    .map((verdict) => `${looks[verdict].sign} ${looks[verdict].word}`);
  return `By ear: how each index went with how full of animal sound people found ${first.clips} clips of this survey, ` +
    `by rank correlation (${signs.join(", ")}).`;
}

/** The same for whoever does not see the chart. */
export function earWords(survey, indices) {
  if (!survey.heard.size) return "No listening check was made.";
  const said = Object.entries(looks).map(([verdict, { word }]) => [word, verdictsIn(survey, indices, verdict)])
    .filter(([, names]) => names.length).map(([word, names]) => `${word}: ${names.join(", ")}`);
  return `By ear: ${said.join("; ")}.`;
}
