// Elements, tables and figures. All text goes in as text nodes: nothing a sheet says becomes markup.
import { cell } from "./numbers.js";
import { savePng, saveSvg } from "./save.js";

export function el(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (typeof value === "function") element.addEventListener(key, value);
    else if (value !== false && value !== null) element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...children);
  return element;
}

/** Rows of {columns, rows} as objects, for charts. JSON has no infinity: open interval ends come as words. */
export function records(table) {
  if (!table) return [];
  const value = (name, x) => (name.startsWith("ci_") && typeof x === "string" ? (x === "inf" ? Infinity : -Infinity) : x);
  return table.rows.map((row) => Object.fromEntries(table.columns.map((name, i) => [name, value(name, row[i])])));
}

/** The whole table as HTML; numbers to the right. */
export function tableElement(table, caption) {
  const numeric = table.columns.map((_, i) => table.rows.some((row) => typeof row[i] === "number"));
  const kind = (i) => (numeric[i] ? { class: "number" } : {});
  const head = el("tr", {}, ...table.columns.map((name, i) => el("th", { scope: "col", ...kind(i) }, name)));
  const body = table.rows.map((row) => el("tr", {}, ...row.map((value, i) => el("td", kind(i), cell(value)))));
  return el("table", {}, el("caption", {}, caption), el("thead", {}, head), el("tbody", {}, ...body));
}

/** A table that is built when it is first opened. */
export function tableBehind(table, name) {
  const rows = table.rows.length;
  const origin = table.file ? `the same as tables/${table.file}` : "worked out for this chart";
  const summary = el("summary", {}, `Table: ${name}`);
  const details = el("details", { class: "behind", "data-file": table.file ?? "" }, summary);
  details.addEventListener("toggle", () => {
    if (!details.open || details.querySelector("table")) return;
    const caption = `${name}, ${rows} ${rows === 1 ? "row" : "rows"}, ${origin}`;
    const region = { class: "scroll", tabindex: "0", role: "region", "aria-label": caption };
    details.append(el("div", region, tableElement(table, caption)));
  });
  return details;
}

let figures = 0;

/**
 * Puts a chart under its heading: `chart` = {title, subtitle, alt, draw(width) -> SVG, table, tableName, name,
 * note}. Redrawn when the width changes; draw may give back null where there is nothing to show.
 */
export function putFigure(place, chart) {
  const id = `chart-${++figures}`;
  const holder = el("div", { class: "holder" });
  const caption = el("figcaption", { id }, el("h3", {}, chart.title), el("p", { class: "subtitle" }, chart.subtitle));
  const figure = el("figure", { "aria-labelledby": id }, caption, ...(chart.before ?? []), holder);
  let width = 0;
  const draw = () => {
    const now = Math.floor(holder.clientWidth);
    if (now === width || now === 0) return;
    width = now;
    const svg = chart.draw(width);
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", chart.alt);
    holder.replaceChildren(svg);
  };
  place.append(figure);
  draw();
  new ResizeObserver(() => requestAnimationFrame(draw)).observe(holder);
  if (chart.note) figure.append(el("p", { class: "note" }, chart.note));
  figure.append(tools(chart, holder));
  return figure;
}

function tools(chart, holder) {
  const svg = () => holder.querySelector("svg");
  const button = (word, save) =>
    el("button", { type: "button", "aria-label": `${word}: ${chart.title}`, click: () => save(svg(), chart) }, word);
  const row = el("div", { class: "tools" }, button("Save as SVG", saveSvg), button("Save as PNG", savePng));
  for (const [table, name] of chart.tables ?? []) if (table) row.prepend(tableBehind(table, name));
  return row;
}

/** Says in a sentence why there is no chart. */
export function putNothing(place, why) {
  place.append(el("p", { class: "nothing" }, why));
}

/** A labelled choice; `use` is called with the value chosen. */
export function choice(label, options, chosen, use) {
  const select = el("select", { change: () => use(select.value) });
  for (const [value, text] of options) select.append(el("option", { value, selected: value === chosen }, text));
  return el("label", { class: "choice" }, `${label} `, select);
}
