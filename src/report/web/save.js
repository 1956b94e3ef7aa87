// Saving a chart: drawn anew for one or two columns of a page, as an SVG with its title and where it comes from, on white, with
// every style written out so that it stands alone; the PNG is that SVG at 300 dots an inch. A table as CSV.
import { withPrintSize } from "./png_size.js";

const kept = ["fill", "fill-opacity", "stroke", "stroke-width", "stroke-opacity", "stroke-dasharray",
  "stroke-linecap", "stroke-linejoin", "opacity", "font-family", "font-size", "font-weight", "font-style",
  "text-anchor", "dominant-baseline", "paint-order", "visibility"];
const namespace = "http://www.w3.org/2000/svg", kMargin = 8;

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
  for (const [key, value] of Object.entries({ x: kMargin, y, "font-size": size, "font-weight": weight }))
    element.setAttribute(key, value);
  return element;
}

const kDotsPerInch = 300, kPixelsPerInch = 96, kMillimetresPerInch = 25.4;

/** The page's own upright faces, so that what is saved is set as the page is wherever it is opened. */
const faces = () => [...document.styleSheets].flatMap((sheet) => [...sheet.cssRules]).filter((rule) => rule instanceof CSSFontFaceRule && rule.style.getPropertyValue("font-style") !== "italic")
  .map((rule) => rule.cssText).join("");

/** The chart as a document of its own, so many millimetres wide: {source, width, height} in px. */
function standaloneSvg(chart, survey, millimetres) {
  const width = Math.round((millimetres / kMillimetresPerInch) * kPixelsPerInch);
  const paper = document.createElement("div");
  paper.className = "on-paper";
  document.body.append(paper);
  const svg = chart.draw(width - 2 * kMargin), height = svg.viewBox.baseVal.height || Number(svg.getAttribute("height"));
  const outer = document.createElementNS(namespace, "svg");
  const size = millimetres < 120 ? 14 : 16, letters = (px, wide) => Math.max(20, Math.floor((width - 2 * kMargin) / (px * wide)));
  const small = letters(12, 0.56);
  let y = 8;
  for (const line of lines(chart.title, letters(size, 0.63))) outer.append(text(line, (y += size + 4), size, 700));
  for (const line of lines(chart.subtitle, small)) outer.append(text(line, (y += 17), 12, 400));
  if (chart.note) for (const line of lines(chart.note, small)) outer.append(text(line, (y += 17), 12, 400));
  y += 10;
  const bottom = y + height + 18;
  const from = lines(`${survey.survey.title}${survey.dates ? `, ${survey.dates}` : ""}. ${survey.program}, saved ${new Date().toISOString().slice(0, 10)}.`, letters(11, 0.56));
  from.forEach((line, i) => outer.append(text(line, bottom - 4 + 14 * i, 11, 400)));
  for (const [key, value] of Object.entries({ x: kMargin, y, width: width - 2 * kMargin, height })) svg.setAttribute(key, value);
  outer.append(svg);
  paper.append(outer);
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
  const whole = bottom + 14 * (from.length - 1), inMillimetres = (px) => `${((px / kPixelsPerInch) * kMillimetresPerInch).toFixed(2)}mm`;
  for (const [key, value] of Object.entries({ width: inMillimetres(width), height: inMillimetres(whole), viewBox: `0 0 ${width} ${whole}` }))
    outer.setAttribute(key, value);
  // Put in as text: as an element of the page it would be a style that the page's policy forbids.
  const result = new XMLSerializer().serializeToString(outer).replace(/<\/svg>$/, `<style>${faces()}text{font-variant-numeric:lining-nums tabular-nums}</style></svg>`);
  paper.remove();
  return { source: `<?xml version="1.0" encoding="UTF-8"?>\n${result}\n`, width, height: whole };
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

/** One column of a journal's page, and two. */
export const kWidths = [174, 85];

export function saveSvg(chart, survey, millimetres) {
  saveBlob(new Blob([standaloneSvg(chart, survey, millimetres).source], { type: "image/svg+xml" }), `${chart.name}-${millimetres}mm.svg`);
}

export function savePng(chart, survey, millimetres) {
  const { source, width, height } = standaloneSvg(chart, survey, millimetres), image = new Image();
  image.onload = () => {
    const canvas = document.createElement("canvas");
    canvas.width = Math.round((millimetres / kMillimetresPerInch) * kDotsPerInch);
    canvas.height = Math.round((canvas.width * height) / width);
    canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    canvas.toBlob(async (blob) => {
      const bytes = withPrintSize(new Uint8Array(await blob.arrayBuffer()), kDotsPerInch);
      saveBlob(new Blob([bytes], { type: "image/png" }), `${chart.name}-${millimetres}mm.png`);
    }, "image/png");
  };
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(source)}`;
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
