// A table of the page: headings in words, numbers that can be read, rows that can be sorted. What is saved as CSV is in full.
import { el } from "./dom.js";

/** Names of columns in words; the classes by their own names. */
function heading(name, survey) {
  const { a, b } = survey.survey;
  const known = {
    n_a: `n, ${a}`, n_b: `n, ${b}`, mean_a: `mean, ${a}`, mean_b: `mean, ${b}`, class_a: "class A", class_b: "class B", ci_low: "interval from",
    ci_high: "interval to", hedges_g: "Hedges' g", cliffs_delta: "Cliff's delta", p_min: "least attainable p",
    p_adjusted: "adjusted p", permutations: "permutations", rho: "rank correlation", n: "n", same_sign: "same sign",
    same_significance: "shows the same", expected_min: "expected (min)", present_min: "recorded (min)", usable_min: "usable (min)",
    minutes: "minutes from sunrise", from_s: "from (s)", to_s: "to (s)", hour: "hour of the day",
  };
  return known[name] ?? survey.columnByName.get(name)?.title ?? name.replace(/_/g, " ");
}

/** Decimals of a column: four significant digits of its largest number, none where all are whole. */
function decimals(values) {
  const numbers = values.filter((x) => typeof x === "number");
  if (numbers.every(Number.isInteger)) return 0;
  const most = Math.max(...numbers.map(Math.abs));
  return most === 0 ? 0 : Math.min(6, Math.max(0, 3 - Math.floor(Math.log10(most))));
}

/** A cell's words: equal decimals down the column, and two digits where that would leave nothing of a number. */
export function shown(value, places) {
  if (value === null || value === undefined) return "";
  if (value === "inf") return "no end";
  if (value === "-inf") return "no end";
  if (typeof value !== "number") return value;
  const text = value !== 0 && Math.abs(value) < 0.5 * 10 ** -places ? String(Number(value.toPrecision(2))) : value.toFixed(places);
  return text.replace(/-/g, "\u2212");
}

/** Numbers by size, words by alphabet, what is missing last, whichever way. */
function order(column, down) {
  return (p, q) => {
    const [x, y] = [p[column], q[column]];
    if (x === null || y === null) return (x === null) - (y === null);
    const size = typeof x === "number" && typeof y === "number" ? x - y : String(x).localeCompare(String(y), "en", { numeric: true });
    return down ? -size : size;
  };
}

export function tableElement(table, caption, survey) {
  const numeric = table.columns.map((_, i) => table.rows.some((row) => typeof row[i] === "number"));
  const places = table.columns.map((_, i) => decimals(table.rows.map((row) => row[i])));
  const wide = table.columns.map((_, i) => table.rows.some((row) => typeof row[i] === "string" && row[i].length > 60));
  const kind = (i) => (numeric[i] ? { class: "number" } : wide[i] ? { class: "wrap" } : {});
  const body = el("tbody", {});
  const fill = (rows) => body.replaceChildren(...rows.map((row) => el("tr", {}, ...row.map((value, i) => el("td", kind(i), shown(value, places[i]))))));
  const heads = table.columns.map((name, i) => {
    const button = el("button", { type: "button", title: name, click: () => {
      const down = head.getAttribute("aria-sort") === "ascending";
      for (const other of heads) other.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      fill([...table.rows].sort(order(i, down)));
    } }, heading(name, survey));
    const head = el("th", { scope: "col", ...kind(i) }, button);
    return head;
  });
  fill(table.rows);
  return el("table", {}, el("caption", {}, caption), el("thead", {}, el("tr", {}, ...heads)), body);
}
