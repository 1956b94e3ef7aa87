// What has to hold on every page. Each check gives back a list of faults, empty when all is well.
import { readFileSync } from "node:fs";

/** A CSV file of the program as rows of text (RFC 4180). */
export function parseCsv(text) {
  const rows = [];
  let row = [], cell = "", quoted = false;
  for (let i = 0; i < text.length; i++) {
    const c = text[i];
    if (quoted && c === '"' && text[i + 1] === '"') cell += text[++i];
    else if (c === '"') quoted = !quoted;
    else if (!quoted && c === ",") row.push(cell), (cell = "");
    else if (!quoted && c === "\n") rows.push([...row, cell]), (row = []), (cell = "");
    else cell += c;
  }
  return rows;
}

const number = (text) => (text === "" ? NaN : Number(text.replace("\u2212", "-")));

/** A cell of the page against a cell of the file: equal numbers, or equal text less the guard apostrophe. */
function same(shown, written) {
  if (shown === written) return true;
  if (number(shown) === number(written)) return true;
  if (/^-?INF$/.test(written)) return shown === written.toLowerCase(); // the page's word for an open end
  return written.startsWith("'") && shown === written.slice(1);
}

/** Every table that says it is a file's holds what the file holds, row by row and cell by cell. */
export async function tablesEqualFiles(page, folder) {
  await page.evaluate(() => document.querySelectorAll("details").forEach((d) => (d.open = true)));
  await page.waitForTimeout(100);
  const tables = await page.evaluate(() => [...document.querySelectorAll("details.behind")].map((details) => ({
    file: details.dataset.file,
    rows: [...details.querySelectorAll("tr")].map((tr) => [...tr.children].map((cell) => cell.textContent)),
  })));
  const faults = [], files = new Set();
  for (const { file, rows } of tables) {
    if (!rows.length) faults.push(`a table (${file || "own"}) stayed empty`);
    if (!file) continue;
    files.add(file);
    const written = parseCsv(readFileSync(`${folder}/hearwood/tables/${file}`, "utf8"));
    if (rows.length !== written.length) faults.push(`${file}: ${rows.length} rows shown, ${written.length} written`);
    written.forEach((cells, r) => cells.forEach((cell, c) => {
      if (!same(rows[r]?.[c] ?? "nothing", cell)) faults.push(`${file} row ${r} column ${c}: '${rows[r]?.[c]}' is not '${cell}'`);
    }));
  }
  await page.evaluate(() => document.querySelectorAll("details").forEach((d) => (d.open = false)));
  return { faults: faults.slice(0, 5), files };
}

/** axe-core finds nothing serious. The source is evaluated by the browser's own tools, not by the page. */
export async function accessible(page, axePath) {
  await page.evaluate(readFileSync(axePath, "utf8"));
  const result = await page.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
  return result.violations.filter((v) => ["serious", "critical"].includes(v.impact))
    .map((v) => `${v.id}: ${v.help}: ${v.nodes.slice(0, 2).map((n) => n.html.slice(0, 160)).join(" | ")}`);
}

/** Every saved SVG is a document of its own that a browser shows. */
export async function savedSvgsOpen(page) {
  const faults = [];
  const buttons = await page.locator("button", { hasText: "Save as SVG" }).all();
  for (const button of buttons) {
    const [download] = await Promise.all([page.waitForEvent("download"), button.click()]);
    const svg = readFileSync(await download.path(), "utf8");
    const name = download.suggestedFilename();
    if (/var\(--|<style|<script|class=/.test(svg)) faults.push(`${name} leans on the page`);
    const size = await page.evaluate((source) => new Promise((done) => {
      const image = new Image();
      image.onload = () => done([image.naturalWidth, image.naturalHeight]);
      image.onerror = () => done(null);
      image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(source)}`;
    }), svg);
    if (!size || size[0] < 100 || size[1] < 100) faults.push(`${name} does not open (${size})`);
  }
  return { faults, count: buttons.length };
}

export async function savedPngOpens(page) {
  const button = page.locator("button", { hasText: "Save as PNG" }).first();
  const [download] = await Promise.all([page.waitForEvent("download"), button.click()]);
  const bytes = readFileSync(await download.path());
  return bytes.subarray(0, 8).toString("latin1") === "\x89PNG\r\n\x1a\n" && bytes.length > 5000 ? [] : ["no PNG was saved"];
}

/** Each place that the page keeps for a chart holds a chart or a sentence, and every chart says what it shows. */
export async function chartsDrawn(page) {
  return page.evaluate(() => {
    const faults = [];
    for (const place of document.querySelectorAll("[id^=draw-]")) {
      if (!place.textContent.trim()) faults.push(`${place.id} is empty`);
      if (place.textContent.includes("could not be drawn")) faults.push(`${place.id} could not be drawn`);
    }
    for (const svg of document.querySelectorAll("figure svg[role=img]"))
      if ((svg.getAttribute("aria-label") ?? "").length < 12) faults.push("a chart has no words");
    if (/NaN|undefined|\[object/.test(document.body.innerText)) faults.push("a number or word went missing in the text");
    return faults;
  });
}

export async function fitsWidth(page) {
  const [wide, width] = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]);
  return wide <= width ? [] : [`the page is ${wide} px wide in a window of ${width}`];
}

/** What the keyboard reaches shows that it has the focus. */
export async function focusVisible(page) {
  const faults = [];
  await page.evaluate(() => window.scrollTo(0, 0));
  for (let i = 0; i < 12; i++) {
    await page.keyboard.press("Tab");
    const seen = await page.evaluate(() => {
      const style = getComputedStyle(document.activeElement);
      return [document.activeElement.tagName, style.outlineStyle, parseFloat(style.outlineWidth)];
    });
    if (seen[0] === "BODY") {
      if (i === 0) faults.push("the keyboard reaches nothing");
      break;
    }
    if (seen[1] === "none" || !(seen[2] >= 2)) faults.push(`focus on ${seen[0]} is not visible`);
  }
  return faults;
}
