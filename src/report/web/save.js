// Saving a chart: the SVG with its title and where it comes from, on white, with every style written out so that it
// stands alone; the PNG is that SVG at 300 dots an inch and the width of a page's type area. A table as CSV.
import { withPrintSize } from "./png_size.js";

const kept = ["fill", "fill-opacity", "stroke", "stroke-width", "stroke-opacity", "stroke-dasharray",
  "stroke-linecap", "stroke-linejoin", "opacity", "font-family", "font-size", "font-weight", "font-style",
  "font-variant-numeric", "text-anchor", "dominant-baseline", "paint-order", "visibility"];
const namespace = "http://www.w3.org/2000/svg";

function lines(text, width) {
  const result = [""];
  for (const word of text.split(" ")) {
    const longer = `${result.at(-1)} ${word}`.trim();
    if (longer.length > width && result.at(-1)) result.push(word);
    else result[result.length - 1] = longer;
  }
  return result;
}

function text(content, y, size, weight) {
  const element = document.createElementNS(namespace, "text");
  element.textContent = content;
  for (const [key, value] of Object.entries({ x: 8, y, "font-size": size, "font-weight": weight }))
    element.setAttribute(key, value);
  return element;
}

/** The chart as a document of its own, a string. */
export function standaloneSvg(svg, chart, survey) {
  const width = svg.viewBox.baseVal.width, height = svg.viewBox.baseVal.height;
  const paper = document.createElement("div");
  paper.className = "on-paper";
  const outer = document.createElementNS(namespace, "svg");
  const per = Math.max(20, Math.floor((width - 16) / 8.2));
  let y = 8;
  for (const line of lines(chart.title, per)) outer.append(text(line, (y += 20), 16, 700));
  for (const line of lines(chart.subtitle, Math.floor(per * 1.25))) outer.append(text(line, (y += 17), 12, 400));
  if (chart.note) for (const line of lines(chart.note, Math.floor(per * 1.25))) outer.append(text(line, (y += 17), 12, 400));
  y += 10;
  const bottom = y + height + 18;
  outer.append(text(`${survey.survey.title}${survey.dates ? `, ${survey.dates}` : ""}. ${survey.program}.`, bottom - 4, 11, 400));
  const inner = svg.cloneNode(true);
  for (const [key, value] of Object.entries({ x: 0, y, width, height })) inner.setAttribute(key, value);
  outer.append(inner);
  paper.append(outer);
  document.body.append(paper);
  outer.querySelectorAll("style, .ring").forEach((element) => element.remove());
  for (const element of outer.querySelectorAll("*")) {
    const style = getComputedStyle(element);
    for (const name of kept) {
      const value = style.getPropertyValue(name);
      if (value) element.setAttribute(name, value);
    }
    element.removeAttribute("style");
    element.removeAttribute("class");
    element.removeAttribute("data-mark");
  }
  const background = document.createElementNS(namespace, "rect");
  background.setAttribute("width", "100%");
  background.setAttribute("height", "100%");
  background.setAttribute("fill", getComputedStyle(paper).backgroundColor);
  outer.prepend(background);
  for (const [key, value] of Object.entries({ width, height: bottom, viewBox: `0 0 ${width} ${bottom}` }))
    outer.setAttribute(key, value);
  const result = new XMLSerializer().serializeToString(outer);
  paper.remove();
  return `<?xml version="1.0" encoding="UTF-8"?>\n${result}\n`;
}

function download(url, name) {
  const link = document.createElement("a");
  link.href = url;
  link.download = name;
  link.click();
}

function saveBlob(blob, name) {
  const url = URL.createObjectURL(blob);
  download(url, name);
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}

export function saveSvg(svg, chart, survey) {
  saveBlob(new Blob([standaloneSvg(svg, chart, survey)], { type: "image/svg+xml" }), `${chart.name}.svg`);
}

const kDotsPerInch = 300, kPageMillimetres = 174;

export function savePng(svg, chart, survey) {
  const image = new Image();
  image.onload = () => {
    const canvas = document.createElement("canvas");
    canvas.width = Math.round((kPageMillimetres / 25.4) * kDotsPerInch);
    canvas.height = Math.round((canvas.width * image.height) / image.width);
    canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    canvas.toBlob(async (blob) => {
      const bytes = withPrintSize(new Uint8Array(await blob.arrayBuffer()), kDotsPerInch);
      saveBlob(new Blob([bytes], { type: "image/png" }), `${chart.name}.png`);
    }, "image/png");
  };
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(standaloneSvg(svg, chart, survey))}`;
}

/** A cell as the program's own tables have it: RFC 4180, and an apostrophe before what a spreadsheet would run. */
function csvCell(value) {
  if (value === null || value === undefined) return "";
  if (typeof value === "number") return String(value);
  if (value === "inf" || value === "-inf") return value.toUpperCase(); // an open end, as R and Python read it
  const guarded = /^[=+\-@'\t\r]/.test(value) ? `'${value}` : value;
  return /[",\n\r]/.test(guarded) ? `"${guarded.replace(/"/g, '""')}"` : guarded;
}

export function saveCsv(table, name) {
  const lines = [table.columns, ...table.rows].map((row) => `${row.map(csvCell).join(",")}\n`);
  saveBlob(new Blob(lines, { type: "text/csv" }), table.file ?? `${name.replace(/[^a-z0-9]+/gi, "-")}.csv`);
}
