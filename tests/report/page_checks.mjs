// What has to hold on every page. Each check gives back a list of faults, empty when all is well.
import { existsSync, readFileSync } from "node:fs";
import { inWords } from "./page_titles.mjs";

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

const number = (text) => (text === "" ? NaN : Number(text.replace(/\u2212/g, "-")));

/** A cell of the page against a cell of the file: equal text less the guard apostrophe, or the number rounded as shown. */
function same(shown, written) {
  if (shown === written || (shown === "no end" && /^-?INF$/.test(written))) return true;
  if (written.startsWith("'") && shown === written.slice(1)) return true;
  const places = (shown.split(".")[1] ?? "").length;
  return Math.abs(number(shown) - number(written)) <= 0.5000001 * 10 ** -places;
}

/** Every table that says it is a file's holds what the file holds: rounded where it is shown, in full where it is saved. */
export async function tablesEqualFiles(page, folder) {
  await page.evaluate(() => document.querySelectorAll("details").forEach((d) => (d.open = true)));
  await page.waitForTimeout(100);
  const tables = await page.evaluate(() => [...document.querySelectorAll("details.behind")].map((details) => ({
    file: details.dataset.file,
    rows: [...details.querySelectorAll("tr")].map((tr) => [...tr.children].map((cell) => cell.textContent)),
  })));
  const faults = [], files = new Set();
  faults.push(...await fitsWidth(page));
  for (const [i, { file, rows }] of tables.entries()) {
    if (!rows.length) faults.push(`a table (${file || "own"}) stayed empty`);
    if (!file) continue;
    const written = parseCsv(readFileSync(`${folder}/hearwood/tables/${file}`, "utf8"));
    if (rows.length !== written.length) faults.push(`${file}: ${rows.length} rows shown, ${written.length} written`);
    written.slice(1).forEach((cells, r) => cells.forEach((cell, c) => {
      if (!same(rows[r + 1]?.[c] ?? "nothing", cell)) faults.push(`${file} row ${r} column ${c}: '${rows[r + 1]?.[c]}' is not '${cell}'`);
    }));
    if (files.has(file)) continue;
    files.add(file);
    const [download] = await Promise.all([page.waitForEvent("download"),
      page.locator("details.behind").nth(i).locator("button", { hasText: "Save as CSV" }).click()]);
    const saved = parseCsv(readFileSync(await download.path(), "utf8"));
    const equal = (x, y) => x === y || (x !== "" && y !== "" && Number(x) === Number(y));
    if (saved.length !== written.length || !written.every((row, r) => row.every((cell, c) => equal(saved[r][c], cell))))
      faults.push(`${file}: what is saved is not what the program wrote`);
  }
  await page.evaluate(() => document.querySelectorAll("details").forEach((d) => (d.open = false)));
  return { faults: faults.slice(0, 5), files };
}

/** A press on a heading sorts a table by that column, a second one the other way; what is missing stays last. */
export async function tablesSort(page) {
  const details = page.locator('details.behind[data-file="contrasts.csv"]').first();
  await details.evaluate((d) => (d.open = true));
  const column = async (name) => {
    const names = await details.locator("th button").evaluateAll((buttons) => buttons.map((b) => b.title));
    const at = names.indexOf(name);
    await details.locator("th button").nth(at).click();
    return (await details.locator(`tbody tr td:nth-child(${at + 1})`).allTextContents()).filter((text) => text !== "").map(number);
  };
  const rising = (values) => values.every((x, i) => i === 0 || values[i - 1] <= x);
  const faults = [];
  if (!rising(await column("difference"))) faults.push("not sorted upwards");
  if (!rising((await column("difference")).reverse())) faults.push("not sorted downwards");
  await details.evaluate((d) => (d.open = false));
  return faults;
}

/** Every value of every chart can be reached by arrow keys, and is told in words. */
export async function valuesByKeyboard(page) {
  const faults = [];
  for (const holder of await page.locator("figure .holder[tabindex]").all()) {
    await holder.focus();
    const line = holder.locator("xpath=following-sibling::p[contains(@class, 'readout')]");
    const seen = new Set();
    for (let i = 0; i < 6; i++) {
      await page.keyboard.press("ArrowRight");
      seen.add(await line.textContent());
    }
    const name = await holder.getAttribute("aria-label");
    if ([...seen].some((words) => !/\d/.test(words) || /NaN|undefined|n\/a/.test(words))) faults.push(`${name}: ${[...seen].join(" | ")}`);
    if (!(await holder.evaluate((h) => h.querySelector(".ring") !== null))) faults.push(`${name}: no ring shows where the value stands`);
  }
  const [charts, reachable] = await page.evaluate(() => [document.querySelectorAll("figure:not(.pair)").length, document.querySelectorAll("figure .holder[tabindex]").length]);
  if (charts !== reachable) faults.push(`${charts} charts, ${reachable} with values`);
  return faults.slice(0, 5);
}

/** Print: drawn for the paper, no letter below 7 points (9.33 px), no heading with nothing below it. */
export async function printed(page) {
  const screen = page.viewportSize();
  await page.emulateMedia({ media: "print" });
  await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
  await page.setViewportSize({ width: 680, height: 1009 }); // A4 at 96 px an inch within margins of 15 mm, whatever the screen
  const faults = await page.evaluate(() => {
    const found = [];
    for (const text of document.querySelectorAll("figure svg text")) {
      const box = text.closest("svg.chart, svg[role=img]");
      const scale = box.viewBox.baseVal.width ? box.getBoundingClientRect().width / box.viewBox.baseVal.width : 1;
      const size = parseFloat(getComputedStyle(text).fontSize) * Math.min(1, scale);
      if (text.textContent.trim() && text.getBoundingClientRect().width && size < 9.3) found.push(`'${text.textContent}' is printed at ${size.toFixed(1)} px`);
    }
    // No chart is higher than a sheet, which would cut it anywhere; the caption stands above the first part of it.
    for (const figure of document.querySelectorAll("figure")) {
      const svgs = [...figure.querySelectorAll(".holder > svg")].map((svg) => svg.getBoundingClientRect());
      const high = svgs.map((box, i) => (i ? box.height : box.bottom - figure.getBoundingClientRect().top));
      if (high.some((h) => h > 1009)) found.push(`'${figure.querySelector("figcaption").textContent.slice(0, 60)}' needs ${high.map(Math.round)} px of a sheet of 1009`);
    }
    const visible = (element) => element.getClientRects().length > 0;
    const headings = [...document.querySelectorAll("h2, h3, h4")].filter(visible);
    for (const [i, heading] of headings.entries()) {
      const next = headings[i + 1], bottom = heading.getBoundingClientRect().bottom;
      const level = Number(heading.tagName[1]);
      if (next && Number(next.tagName[1]) <= level && next.getBoundingClientRect().top - bottom < 45 && !heading.closest("figcaption"))
        found.push(`the heading '${heading.textContent}' has nothing below it`);
    }
    return found;
  });
  await page.evaluate(() => dispatchEvent(new Event("afterprint")));
  await page.emulateMedia({ media: null });
  await page.setViewportSize(screen);
  return faults.slice(0, 5);
}

/** What the page says of its numbers, held against the tables that the commands wrote; worked out here anew. */
export async function wordsHold(page, folder) {
  const rows = objects(`${folder}/hearwood/tables/contrasts.csv`);
  const seen = await page.evaluate(() => ({
    answer: document.querySelector(".answer").textContent,
    plain: document.querySelector(".plain").textContent,
    chips: document.querySelector(".chips").textContent.replace(/\s+/g, " "),
    titles: Object.fromEntries([...document.querySelectorAll("[id^=draw-]")].map((place) => [place.id.slice(5), place.querySelector("h3")?.textContent ?? ""])),
    subtitles: Object.fromEntries([...document.querySelectorAll("[id^=draw-]")].map((place) => [place.id.slice(5), place.querySelector(".subtitle")?.textContent ?? ""])),
    text: document.body.innerText.replace(/\s+/g, " "),
    crosses: [...document.querySelectorAll("#draw-answer svg text")].map((t) => t.textContent),
    data: JSON.parse(document.getElementById("page-data").textContent),
  }));
  const faults = [], level = seen.data.survey.level;
  const fault = (good, words) => good || faults.push(words);
  const reaches = (p) => p !== "" && Number(p) <= 1 - level + 1e-12;
  const { index, window } = seen.data.primary;
  const primary = rows.find((row) => row.index === index && row.window === window);
  const { a, b } = seen.data.survey;

  // What decides: with unequal numbers of sites, in the whole or in a block, the larger of p and p_unequal.
  const values = objects(`${folder}/hearwood/tables/windows.csv`).filter((row) => row.window === window && row[index] !== "");
  const drawn = values.filter((row) => [a, b].includes(row.stand ?? row.nutrient_status));
  const classOf = (row) => row.stand ?? row.nutrient_status;
  const blockOf = Object.fromEntries(seen.data.sites.map((site) => [site.name, site.block]));
  const unequal = (row) => {
    const own = objects(`${folder}/hearwood/tables/windows.csv`).filter((v) => v.window === row.window && v[row.index] !== "" && [a, b].includes(classOf(v)));
    const blocks = new Map();
    for (const v of own) blocks.set(blockOf[v.site], [...(blocks.get(blockOf[v.site]) ?? []), classOf(v)]);
    return [...blocks.values()].some((c) => c.includes(a) && c.includes(b) && c.filter((x) => x === a).length !== c.filter((x) => x === b).length);
  };
  const deciding = (row) => (row.p_unequal !== "" && Number(row.p_unequal) > Number(row.p) && unequal(row) ? row.p_unequal : row.p);
  const isShown = (row) => row.p !== "" && reaches(row.p_adjusted) && reaches(deciding(row));
  const shown = isShown(primary) && reaches(primary.p_min);
  const claims = (text) => / have ((the )?higher|more) |(higher|lower) at .* than at /.test(text);
  fault(claims(seen.plain) === shown, `plain words: ${seen.plain}`);
  if (shown) {
    const left = new Set(seen.data.leftOut.map(({ site }) => site)), inside = drawn.filter((row) => !left.has(row.site));
    const [high, low] = Number(primary.difference) > 0 ? [a, b] : [b, a];
    const of = (name) => inside.filter((row) => classOf(row) === name).map((row) => Number(row[index]));
    const pairs = of(high).length * of(low).length, above = of(high).flatMap((x) => of(low).filter((y) => x > y)).length;
    fault(seen.plain.includes(above === pairs ? `each of the ${of(high).length} ${high} sites lies above each of the ${of(low).length} ${low} ones`
      : `of ${pairs} pairs of a ${high} and a ${low} site, the ${high} one is higher in ${above}`), `pairs: ${seen.plain}, ${above} of ${pairs}`);
  }
  const even = rows.find((row) => row.index === "even_events" && row.window === window);
  if (even && even.p !== "" && index !== "even_events" && reaches(primary.p_min)) {
    const same = reaches(deciding(even)) && Number(even.difference) * Number(primary.difference) > 0;
    const wanted = shown ? (!same ? "do not say so" : isShown(even) ? "say so too." : "say so too when taken alone") : reaches(deciding(even)) ? "differ when taken alone" : "show none either";
    fault(seen.plain.includes(`even terms ${wanted}`), `even terms: ${seen.plain}, p ${deciding(even)}`);
  }
  fault(claims(seen.answer) === shown, `answer: ${seen.answer}`);
  fault(claims(seen.titles.answer) === shown, `title of the answer: ${seen.titles.answer}`);
  fault(primary.verdict.replace(/ In the listening check.*/, "").slice(primary.verdict.indexOf(":")) === seen.answer.slice(seen.answer.indexOf(":"), seen.answer.indexOf(" Compared:")),
    `the answer is not the verdict: ${seen.answer} | ${primary.verdict}`);
  fault(seen.answer.includes(`${primary.n_a} ${a} and ${primary.n_b} ${b} sites`), `n of the answer: ${seen.answer}`);
  fault(seen.subtitles.answer.includes(`n = ${primary.n_a} ${a} and ${primary.n_b} ${b} sites`), `n of the chart: ${seen.subtitles.answer}`);
  const out = drawn.length - primary.n_a - primary.n_b;
  fault(seen.data.leftOut.filter(({ why }) => why !== "no value").length === out, `${out} sites with a value drop out, told are ${JSON.stringify(seen.data.leftOut)}`);
  for (const { site } of seen.data.leftOut) fault(seen.subtitles.answer.includes(site), `${site} drops out and is not named: ${seen.subtitles.answer}`);

  const tested = rows.filter((row) => row.window === window && row.p !== "" && row.hedges_g !== "");
  const clear = tested.filter(isShown).length, alone = tested.filter((row) => reaches(deciding(row))).length - clear;
  const words = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];
  const said = (n) => words[n] ?? String(n);
  fault(seen.titles.effects.startsWith(`After adjustment ${said(clear)} ind`) && new RegExp(` of ${tested.length}[ ,]`).test(seen.titles.effects), `effects: ${seen.titles.effects}, ${clear} of ${tested.length}`);
  fault(alone > 0 === seen.titles.effects.includes("when taken alone") && (alone === 0 || seen.titles.effects.includes(said(alone))), `effects alone: ${seen.titles.effects}, ${alone}`);

  const hours = objects(`${folder}/hearwood/tables/profile.csv`).filter((row) => row.index === index && row.p_adjusted !== "");
  const differ = hours.filter((row) => reaches(row.p_adjusted)).length;
  fault(differ ? seen.titles.day.includes(` in ${differ} of `) : /no single hour|goes through/.test(seen.titles.day), `day: ${seen.titles.day}, ${differ} of ${hours.length}`);

  const coverage = objects(`${folder}/hearwood/tables/coverage.csv`);
  const sum = (name) => coverage.reduce((total, row) => total + Number(row[name]), 0) / 60;
  const three = (x) => (x >= 1000 ? null : String(Number(x.toPrecision(3))));
  for (const name of ["present", "usable"]) {
    const value = three(sum(name));
    const told = /Of ([\d.,]+) recorded hours ([\d.,]+) can be used/.exec(seen.titles.calendar);
    fault(told, `calendar: ${seen.titles.calendar}`);
    if (value && told) fault(Number(told[name === "present" ? 1 : 2]) === Number(value), `${name}: ${value} h in the table, ${told[0]}`);
  }
  // The day and pitch: patches and single cells that are shown to differ once all are considered.
  const pitch = objectsIfThere(`${folder}/hearwood/tables/day_pitch.csv`);
  if (pitch.length) {
    const patches = new Set(pitch.filter((row) => row.cluster !== "" && reaches(row.cluster_p)).map((row) => row.cluster));
    const cells = pitch.filter((row) => row.p_adjusted !== "" && reaches(row.p_adjusted) && !patches.has(row.cluster)).length;
    const all = patches.size + cells, more = / in (\S+) patch(es)? besides/.exec(seen.titles.pitch)?.[1];
    fault(/No part of the day/.test(seen.titles.pitch) === (all === 0), `day and pitch: ${seen.titles.pitch}, ${all} patches`);
    fault(all < 2 ? !more : more === said(all - 1), `day and pitch: ${seen.titles.pitch}, ${all} patches`);
  }
  // The audit's widest difference of the sheets and sounds that is no part of the stand.
  const rivals = objectsIfThere(`${folder}/hearwood/tables/audit.csv`).filter((row) => row.part_of_stand !== "1" && Math.abs(infinite(row.standardised)) >= 0.5)
    .sort((p, q) => Math.abs(infinite(q.standardised)) - Math.abs(infinite(p.standardised)));
  fault(rivals.length ? seen.chips.includes(` ${inWords(rivals[0].number)} `) : /no number of the sheets is a rival/i.test(seen.chips), `another cause: ${seen.chips}, ${rivals[0]?.number}`);
  const besides = objectsIfThere(`${folder}/hearwood/tables/audit.csv`).filter((row) => row.part_of_stand !== "1" && row.standardised !== "")
    .sort((p, q) => Math.abs(infinite(q.standardised)) - Math.abs(infinite(p.standardised)));
  if (seen.titles.rivals) {
    const size = Math.abs(infinite(besides[0]?.standardised ?? "0")), title = seen.titles.rivals;
    fault(size >= 0.5 ? title.includes(inWords(besides[0].number)) : new RegExp(besides.length ? "None of" : "No number").test(title), `rivals: ${title}, ${besides[0]?.number} ${size}`);
    if (size >= 0.5 && size < Infinity) fault(Number(/by ([\d.]+) standard/.exec(title)?.[1]).toPrecision(2) === size.toPrecision(2), `rivals: ${title}, ${size}`);
  }
  fault(/Nobody has/.test(seen.chips) === !seen.data.tables.listening, `listened: ${seen.chips}`);
  const kept = seen.data.robustness;
  fault(/Robust\? The sign holds/.test(seen.chips) === Boolean(kept), `robust: ${seen.chips}`);
  fault(Boolean(seen.titles.robustness) === Boolean(kept), "robustness is drawn where none is of today");
  if (kept) {
    fault(seen.titles.robustness.includes(kept.same_sign === kept.settings ? `all ${kept.settings} settings` : `${kept.same_sign} of ${kept.settings} settings`),
      `robustness: ${seen.titles.robustness}`);
    fault(seen.chips.includes(kept.same_sign === kept.settings ? `under all ${kept.settings} settings` : `under ${kept.same_sign} of ${kept.settings} settings`), `robust: ${seen.chips}`);
    const drawn = kept.grid.filter((row) => Math.sign(row.g) === Math.sign(kept.grid[0].g)).length;
    fault(kept.grid.length === kept.settings && drawn === kept.same_sign, `robustness: ${drawn} of ${kept.grid.length} drawn settings agree, told are ${kept.same_sign}`);
    fault(/\ball\b/.test(seen.titles.robustness) === (kept.same_sign === kept.settings), `robustness says all: ${seen.titles.robustness}`);
  }
  return { faults, seen };
}

const infinite = (text) => (/inf/i.test(text) ? Infinity : Number(text));
const objectsIfThere = (path) => (existsSync(path) ? objects(path) : []);

/** A CSV file as objects. */
function objects(path) {
  const [header, ...rows] = parseCsv(readFileSync(path, "utf8"));
  return rows.map((row) => Object.fromEntries(header.map((name, i) => [name, row[i]])));
}

/** axe-core finds nothing of any impact. The source is evaluated by the browser's own tools, not by the page. */
export async function accessible(page, axePath) {
  await page.evaluate(readFileSync(axePath, "utf8"));
  const result = await page.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
  return result.violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.slice(0, 2).map((n) => n.html.slice(0, 160)).join(" | ")}`);
}

/** Every saved SVG is a document of its own that a browser shows, of the width it says, with where it comes from and no letter below 7 points. */
export async function savedSvgsOpen(page) {
  const faults = [];
  await page.evaluate(() => document.querySelectorAll("details.save").forEach((d) => (d.open = true)));
  const buttons = await page.locator("details.save button", { hasText: "SVG" }).all();
  for (const button of buttons) {
    const [download] = await Promise.all([page.waitForEvent("download"), button.click()]);
    const svg = readFileSync(await download.path(), "utf8");
    const name = download.suggestedFilename();
    // Its faces are in it; no other style is.
    if (/var\(--|<style(?!>@font-face)|<script|class=/.test(svg) || svg.split("<style").length !== 2 || /url\((?!"?data:|#|"#|&quot;#)/.test(svg)) faults.push(`${name} leans on the page`);
    const width = /(\d+)mm\.svg$/.exec(name)?.[1];
    if (Math.abs(parseFloat(/<svg[^>]* width="([\d.]+)mm"/.exec(svg)?.[1]) - Number(width)) > 0.3) faults.push(`${name} is not ${width} mm wide`);
    if (!/Hearwood \d+\.\d+\.\d+, saved \d{4}-\d\d-\d\d/.test(svg.replace(/<\/text><text[^>]*>/g, " "))) faults.push(`${name} does not say what made it, and when`);
    if (!/^[^]{0,4000}?<rect width="100%" height="100%" fill="rgb\(255, 255, 255\)"/.test(svg)) faults.push(`${name} is not on white`);
    const small = [...svg.matchAll(/<(?:text|tspan)[^>]* font-size="([\d.]+)px"[^>]*>([^<]+)</g)].filter(([, px]) => Number(px) < 9.3);
    if (small.length) faults.push(`${name}: '${small[0][2]}' is ${small[0][1]} px`);
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
  const faults = [];
  for (const millimetres of [174, 85]) {
    const button = page.locator("details.save button", { hasText: `PNG, ${millimetres} mm` }).first();
    await page.evaluate(() => document.querySelectorAll("details.save").forEach((d) => (d.open = true)));
    const [download] = await Promise.all([page.waitForEvent("download"), button.click()]);
    const bytes = readFileSync(await download.path()), dots = Math.round((millimetres / 25.4) * 300);
    if (bytes.subarray(0, 8).toString("latin1") !== "\x89PNG\r\n\x1a\n" || bytes.length < 5000) faults.push("no PNG was saved");
    else if (bytes.readUInt32BE(16) !== dots) faults.push(`a PNG of ${millimetres} mm is ${bytes.readUInt32BE(16)} dots wide, not ${dots}`);
  }
  return faults;
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

/** No sideways scrolling; in a window of `resized` px where that is given. */
export async function fitsWidth(page, resized) {
  if (resized) await page.setViewportSize({ width: resized, height: 900 });
  if (resized) await page.waitForTimeout(150);
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

/** The page brings its type along: the faces are loaded from the page itself, and letters and figures of text and charts are set in them. */
export const typeLoaded = (page) => page.evaluate(async () => {
  await document.fonts.ready;
  const loaded = [...document.fonts].filter((face) => face.status === "loaded" && /Hearwood Text/.test(face.family));
  const other = ["body", "h2", ".subtitle", ".chart text", "summary"].filter((where) => document.querySelector(where) && !getComputedStyle(document.querySelector(where)).fontFamily.startsWith('"Hearwood Text"'));
  return [...(loaded.length >= 2 ? [] : [`${loaded.length} faces are loaded`]), ...other.map((where) => `${where} is set in another face`)];
});
