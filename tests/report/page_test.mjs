// node page_test.mjs HEARWOOD PAGE_FIXTURES WEB: makes surveys in a fresh folder, writes their pages and looks at
// each in a headless browser.
import { execFileSync } from "node:child_process";
import { appendFileSync, mkdtempSync, readFileSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { openPage, startBrowser } from "../browser/browser.mjs";
import * as checks from "./page_checks.mjs";
import { drawnHolds, titlesHold } from "./page_titles.mjs";

const [hearwood, fixtures, web] = process.argv.slice(2);
const root = mkdtempSync(join(tmpdir(), "hearwood-page-"));
let passed = 0, failed = 0;

function report(name, faults) {
  if (faults.length === 0) passed++;
  else failed++;
  for (const fault of faults.slice(0, 8)) console.log(`FAILED ${name}: ${fault}`);
}

function run(program, ...options) {
  // Exit 1 tells of recordings that could not be used: expected of some of these surveys.
  try {
    execFileSync(program, options, { stdio: ["ignore", "pipe", "pipe"] });
  } catch (error) {
    if (error.status !== 1) throw new Error(`${options.join(" ")}: ${error.stderr}`);
  }
}

function make(name) {
  const folder = join(root, name);
  if (name === "demo") {
    run(hearwood, "demo", folder, "--quiet");
    run(hearwood, "run", folder, "--quiet");
  } else {
    run(fixtures, name, folder);
    if (["two", "sixty"].includes(name)) run(hearwood, "report", folder);
    if (["forty", "few", "dropped"].includes(name)) for (const stage of ["tabulate", "contrast", "report"]) run(hearwood, stage, folder);
  }
  return folder;
}

async function everyPage(browser, axePath, name, folder) {
  const file = join(folder, "hearwood/report/index.html");
  report(`${name} size`, statSync(file).size < 3e6 ? [] : [`${statSync(file).size} bytes`]);
  for (const [view, options] of [["wide", {}], ["phone", { viewport: { width: 390, height: 800 } }], ["dark", { colorScheme: "dark" }],
    ...(name === "demo" ? [["forced", { forcedColors: "active" }]] : [])]) {
    const { page, faults, close } = await openPage(browser, file, options);
    report(`${name} ${view} charts`, await checks.chartsDrawn(page));
    report(`${name} ${view} fits`, await checks.fitsWidth(page));
    if (view === "wide") for (const width of [768, 1600, 1280]) report(`${name} fits ${width}`, await checks.fitsWidth(page, width));
    if (["few", "two"].includes(name)) await page.evaluate(() => document.querySelectorAll("details").forEach((d) => (d.open = true))); // with every table open
    report(`${name} ${view} axe`, await checks.accessible(page, axePath));
    if (view === "wide") report(`${name} type`, await checks.typeLoaded(page));
    if (view === "wide") report(`${name} focus`, await checks.focusVisible(page));
    if (view === "wide") report(`${name} values by keyboard`, await checks.valuesByKeyboard(page));
    if (["wide", "phone"].includes(view)) report(`${name} ${view} print`, await checks.printed(page));
    report(`${name} ${view} console and network`, faults);
    await close();
  }
}

/** 40 sites and 60 dates: at most 4 MB, drawn, and no wider than the window. */
async function heavy(browser, folder) {
  const file = join(folder, "hearwood/report/index.html");
  report("sixty size", statSync(file).size < 4e6 ? [] : [`${statSync(file).size} bytes`]);
  const { page, faults, close } = await openPage(browser, file);
  report("sixty charts", await checks.chartsDrawn(page));
  for (const width of [390, 1600]) report(`sixty fits ${width}`, await checks.fitsWidth(page, width));
  report("sixty console", faults);
  await close();
}

async function tablesAndSaving(browser, name, folder, charts) {
  const { page, faults, close } = await openPage(browser, join(folder, "hearwood/report/index.html"));
  const tables = await checks.tablesEqualFiles(page, folder);
  report(`${name} tables`, tables.faults);
  for (const file of ["contrasts.csv", "profile.csv", "covariates.csv", "hours.csv", "windows.csv"])
    report(`${name} shows ${file}`, tables.files.has(file) ? [] : ["it is behind no chart"]);
  report(`${name} tables sort`, await checks.tablesSort(page));
  const saved = await checks.savedSvgsOpen(page);
  report(`${name} saved SVG`, saved.count === 2 * charts ? saved.faults : [`${saved.count} charts can be saved`]);
  report(`${name} saved PNG`, await checks.savedPngOpens(page));
  report(`${name} console and network after use`, faults);
  await close();
}

/** Every sentence with a number holds against the tables: a lone block, a dead site, a boat, no possible answer, a sign that turns. */
async function wordsHold(browser, folders) {
  const look = async (name, folder) => {
    const { page, faults, close } = await openPage(browser, join(folder, "hearwood/report/index.html"));
    const found = await checks.wordsHold(page, folder);
    report(`${name} words`, [...found.faults, ...faults]);
    report(`${name} titles`, await titlesHold(page, folder));
    report(`${name} drawn`, await drawnHolds(page, folder));
    await close();
    return found.seen;
  };
  for (const name of ["forty", "few", "demo"]) await look(name, folders[name]);
  const dropped = await look("dropped", folders.dropped);
  report("a lone block and a dead site", dropped.data.leftOut.length === 3 ? [] : [JSON.stringify(dropped.data.leftOut)]);
  report("a boat is named", /Ringed: kept though flagged.*engine at L03 at 05:00/.test(dropped.text) ? [] : ["it is not"]);
  report("nothing can be decided", /so few cannot decide/.test((await look("few", folders.few)).titles.answer) ? [] : ["not said"]);
  run(fixtures, "robust", folders.dropped);
  run(hearwood, "report", folders.dropped, "--quiet", "--no-pictures", "--no-clips");
  const robust = await look("robust", folders.dropped);
  report("three settings turn the sign", /9 of 12 settings, and turns under 3/.test(robust.titles.robustness) ? [] : [robust.titles.robustness]);
  appendFileSync(join(folders.dropped, "survey.toml"), "level = 0.9\n");
  for (const stage of ["contrast", "report"]) run(hearwood, stage, folders.dropped, "--quiet");
  const old = await look("old", folders.dropped);
  report("an old robustness is told and not drawn", /Robust\? An old run/.test(old.chips) && !("robustness" in old.titles) ? [] : [old.chips]);
}

/** Names from the sheets stay words. */
async function escaped(browser, folder) {
  const { page, faults, close } = await openPage(browser, join(folder, "hearwood/report/index.html"));
  const text = await page.evaluate(() => document.body.textContent);
  for (const name of ["<script>alert('L1')</script>", "\"quoted\" & 'single'", "frog \u{1F438} creek",
    "</script><img src=x onerror=alert(2)>"])
    report(`the name ${name}`, text.includes(name) ? [] : ["it is not on the page as it was written"]);
  const scripts = await page.evaluate(() => document.querySelectorAll("script").length);
  report("scripts", scripts === 2 ? [] : [`${scripts} script elements`]);
  report("dialogs", faults);
  await close();
}

/** The policy lets nothing run but the page's own script: a handler put in afterwards stays dead. */
async function policyHolds(browser, folder) {
  const { page, close } = await openPage(browser, join(folder, "hearwood/report/index.html"));
  const ran = await page.evaluate(async () => {
    const script = document.createElement("script");
    script.textContent = "window.intruder = true";
    document.body.append(script);
    const button = document.createElement("button");
    button.setAttribute("onclick", "window.intruder = true");
    document.body.append(button);
    button.click();
    await new Promise((done) => setTimeout(done, 50));
    return window.intruder === true;
  });
  report("policy", ran ? ["a script that is not the page's own ran"] : []);
  await close();
}

/** The index chosen above a chart is the one drawn; motion is left out where it is not wanted. */
async function choices(browser, folder) {
  const { page, faults, close } = await openPage(browser, join(folder, "hearwood/report/index.html"), { reducedMotion: "reduce" });
  const select = page.locator("#draw-day select"), subtitles = page.locator("#draw-day .subtitle");
  const before = await subtitles.allTextContents();
  const title = (await select.locator('option[value="standout"]').textContent()).trim();
  await select.selectOption("standout");
  const after = await subtitles.allTextContents();
  report("choice", after.length === 3 && title ? [] : [`${after.length} charts of the day, '${title}' chosen`]);
  for (const [i, text] of after.entries())
    report(`choice ${i}`, text !== before[i] && text.toLowerCase().includes(title.toLowerCase()) ? [] : [`'${title}' was chosen, and a chart says: ${text}`]);
  const scroll = await page.evaluate(() => getComputedStyle(document.documentElement).scrollBehavior);
  report("reduced motion", scroll === "auto" ? [] : [`scrolling is ${scroll}`]);
  report("choice console", faults);
  await close();
}

/** A clip plays from disk: the browser knows its length. */
async function clipsPlay(browser, folder) {
  const { page, faults, close } = await openPage(browser, join(folder, "hearwood/report/index.html"));
  const seconds = await page.evaluate(() => new Promise((done) => {
    const audio = document.querySelector(".clips audio");
    if (!audio) return done("there is none");
    audio.closest("details").open = true;
    audio.onloadedmetadata = () => done(audio.duration);
    audio.onerror = () => done(audio.error.message);
    audio.preload = "metadata";
    audio.load();
  }));
  report("clip", Math.abs(seconds - 6) < 0.1 ? [] : [`the first clip's length is ${seconds}`]);
  const pictures = await page.evaluate(async () => {
    const images = [...document.querySelectorAll("img")].slice(0, 40);
    await Promise.all(images.map((image) => ((image.loading = "eager"), image.closest("details")?.setAttribute("open", ""), image.decode().catch(() => 0))));
    return { all: images.length, broken: images.filter((image) => image.naturalWidth === 0).length };
  });
  report("pictures", pictures.all > 0 && pictures.broken === 0 ? [] : [`${pictures.broken} of ${pictures.all} pictures do not open`]);
  report("clip console", faults);
  await close();
}

/** Pairs: one sound at a time, the other side goes on where this one stands; blind hides what tells the sides apart; a cell offers the nearest. */
async function pairsPlay(browser, folder) {
  const { page, faults, close } = await openPage(browser, join(folder, "hearwood/report/index.html"));
  const sites = readFileSync(join(folder, "sites.csv"), "utf8").split("\n").slice(1).filter(Boolean).map((row) => row.split(","));
  const pairs = await page.evaluate(() => [...document.querySelectorAll(".pair")].map((pair) => ({ title: pair.querySelector("figcaption").textContent,
    whose: [...pair.querySelectorAll(".whose")].map((line) => line.textContent) })));
  report("six pairs", pairs.length === 6 ? [] : [`${pairs.length} pairs`]);
  for (const { title, whose } of pairs) {
    const [a, b] = whose.map((line) => sites.find((site) => line.includes(site[0])));
    report(`classes of ${title}`, a?.[3] === "rich" && b?.[3] === "poor" && a[4] === b[4] && title.includes(a[4]) ? [] : whose);
  }
  const first = page.locator(".pair").first(), playing = () => page.evaluate(() => [...document.querySelectorAll(".pair audio")].map((audio) => !audio.paused));
  await first.locator(".side.a button").click();
  await page.waitForFunction(() => document.querySelector(".pair .side.a audio").currentTime > 0.3);
  await first.locator("button", { hasText: "The other side" }).click();
  await page.waitForFunction(() => document.querySelector(".pair .side.b audio").currentTime > 0.3);
  const now = await playing();
  report("the other side plays alone", now[1] && now.filter(Boolean).length === 1 ? [] : [JSON.stringify(now)]);
  await page.locator("#pairs input[type=checkbox]").check();
  const hidden = await page.evaluate(() => ({ text: document.getElementById("pairs").innerText, alts: [...document.querySelectorAll("#pairs img")].map((image) => image.alt),
    marks: [...document.querySelectorAll("#pairs .whose strong")].map((strong) => getComputedStyle(strong).color) }));
  const told = [hidden.text, ...hidden.alts].filter((text) => sites.some((site) => text.includes(site[0])));
  report("blind hides the names", told.length === 0 && new Set(hidden.marks).size === 1 ? [] : told.concat(hidden.marks));
  report("blind stops what plays", (await playing()).some(Boolean) ? ["it plays on"] : []);
  const place = await first.locator(".side").evaluateAll((sides) => (sides[0].classList.contains("a") ? "Left" : "Right"));
  await first.locator(".guess button", { hasText: place }).click();
  report("a guess is counted", /Right: 1 of one guess/.test(await page.locator("#pairs .readout").innerText()) ? [] : [await page.locator("#pairs .readout").innerText()]);
  await page.locator("#draw-pitch .holder").focus();
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("Enter");
  const offered = await page.locator("#draw-pitch [aria-live].tools").innerText();
  report("a cell offers a pair", /Pair \d: .*(none is from 00:00|from 00:00)/s.test(offered) && /Hear rich/.test(offered) ? [] : [offered]);
  report("pairs console", faults);
  await close();
}

/** A listening check puts a mark beside each index: a shape and, where there is room, a word; words for who sees no chart. */
async function earMarks(browser, folder) {
  run(fixtures, "listened", folder);
  run(hearwood, "report", folder, "--quiet", "--no-clips", "--no-pictures");
  for (const [view, width] of [["wide", 1280], ["phone", 390]]) {
    const { page, faults, close } = await openPage(browser, join(folder, "hearwood/report/index.html"), { viewport: { width, height: 800 } });
    const seen = await page.evaluate(() => {
      const place = document.getElementById("draw-effects"), svg = place.querySelector("svg[role=img]");
      return { text: svg.textContent, note: place.querySelector(".note").textContent, alt: svg.getAttribute("aria-label") };
    });
    for (const words of ["followed (0.61)", "did not (0.02)", "went against (\u22120.50)", "unclear (0.40)"])
      report(`ear ${view} ${words}`, seen.text.includes(words) === (view === "wide") ? [] : [seen.text]);
    for (const key of ["\u25b2 followed", "\u00d7 did not", "\u25bd went against", "\u25c7 unclear", "40 clips"])
      report(`ear ${view} key`, seen.note.includes(key) ? [] : [`'${key}' is not in: ${seen.note}`]);
    report(`ear ${view} words`, /followed: aci; did not: ndsi; went against: ht; unclear: bi/.test(seen.alt) ? [] : [seen.alt]);
    report(`ear ${view} fits`, await checks.fitsWidth(page));
    report(`ear ${view} console`, faults);
    await close();
  }
}

/** The same survey gives the same page, whatever the number of threads. */
function deterministic(folder) {
  const file = join(folder, "hearwood/report/index.html");
  const before = readFileSync(file);
  run(hearwood, "report", folder, "--quiet", "--jobs", "3");
  report("same bytes again", before.equals(readFileSync(file)) ? [] : ["the page differs between two runs"]);
}

const { browser, axePath } = await startBrowser(web);
try {
  const folders = Object.fromEntries(["none", "one", "two", "few", "dropped", "forty", "demo"].map((name) => [name, make(name)]));
  for (const [name, folder] of Object.entries(folders)) await everyPage(browser, axePath, name, folder);
  await heavy(browser, make("sixty"));
  await tablesAndSaving(browser, "forty", folders.forty, 11);
  await tablesAndSaving(browser, "demo", folders.demo, 13);
  await wordsHold(browser, folders);
  await escaped(browser, folders.forty);
  await policyHolds(browser, folders.forty);
  await choices(browser, folders.forty);
  await clipsPlay(browser, folders.demo);
  await pairsPlay(browser, folders.demo);
  deterministic(folders.demo);
  await earMarks(browser, folders.demo);
} finally {
  await browser.close();
  rmSync(root, { recursive: true, force: true });
}
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed ? 1 : 0);
