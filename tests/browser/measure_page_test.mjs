// The page that measures, opened from disk in Chromium with the network off: its numbers against the program's, hostile
// recordings, a thousand files, cancelling, staying responsive.   measure_page_test.mjs PAGE SOUNDS WEB [PICTURE_FOLDER]
import { readFileSync, readdirSync } from "node:fs";
import { startBrowser, openPage } from "./browser.mjs";

const [, , pagePath, sounds, web, pictures] = process.argv;
const faults = [];
let checks = 0;
const check = (holds, what) => {
  checks += 1;
  if (!holds) faults.push(what);
};
const filesOf = (folder) => readdirSync(`${sounds}/${folder}`).sort().map((name) => `${sounds}/${folder}/${name}`);

function rowsOf(text) {
  const lines = text.trim().split("\n").map((line) => line.split(","));
  return { header: lines[0], rows: lines.slice(1) };
}

const { browser } = await startBrowser(web);
const open = async () => {
  const opened = await openPage(browser, pagePath);
  await opened.page.context().setOffline(true);
  return opened;
};
const idle = (page, timeout = 240000) =>
  page.waitForFunction(() => !document.documentElement.classList.contains("busy"), null, { timeout });
async function saved(page) {
  const waiting = page.waitForEvent("download");
  await page.click("#save");
  return readFileSync(await (await waiting).path(), "utf8");
}

// 1. The program's numbers. A part in a million is what docs/measures.md allows between processors' paths; the smallest values
// are differences of sums near full scale, for which the same part of full scale holds.
{
  const { page, faults: met, close } = await open();
  // The longest time that the page could not be painted while it worked.
  await page.evaluate(() => {
    window.longest = 0;
    let last = performance.now();
    const watch = (now) => {
      window.longest = Math.max(window.longest, now - last);
      last = now;
      requestAnimationFrame(watch);
    };
    requestAnimationFrame(watch);
  });
  await page.setInputFiles("#choose", filesOf("good"));
  await idle(page);
  const ours = rowsOf(await saved(page)), theirs = rowsOf(readFileSync(`${sounds}/expected.csv`, "utf8"));
  check(ours.header.join() === theirs.header.join(), `columns differ: ${ours.header} / ${theirs.header}`);
  const column = (name) => theirs.header.indexOf(name);
  const key = (row) => [row[column("file")].split("/").pop(), row[column("channel")], row[column("segment")]].join();
  const wanted = new Map(theirs.rows.map((row) => [key(row), row]));
  check(ours.rows.length === wanted.size, `${ours.rows.length} rows, the program has ${wanted.size}`);
  const surveyed = new Set(["site", "stand", "deployment", "file", "start_utc", "start_local", "window", "minutes_from_sunrise", "flags", "kept",
    "reasons", ...theirs.header.filter((name) => name.startsWith("even_"))]);
  let compared = 0, worst = 0, different = 0;
  for (const row of ours.rows) {
    const want = wanted.get(key(row));
    if (!want) {
      faults.push(`the program has no row ${key(row)}`);
      continue;
    }
    check(want[column("start_local")].startsWith(row[column("start_local")]), `${key(row)} starts at ${row[column("start_local")]}`);
    theirs.header.forEach((name, i) => {
      if (surveyed.has(name)) return;
      compared += 1;
      const a = Number(row[i]), b = Number(want[i]);
      if ((row[i] === "") !== (want[i] === "")) different += 1, faults.push(`${key(row)} ${name}: '${row[i]}', the program has '${want[i]}'`);
      else if (row[i] !== "") {
        const off = Math.abs(a - b) / Math.max(1, Math.abs(b));
        worst = Math.max(worst, off);
        if (!(off <= 2e-6)) different += 1, faults.push(`${key(row)} ${name}: ${row[i]}, the program has ${want[i]}`);
      }
    });
  }
  check(compared > 2000 && different === 0, `${compared} numbers compared, ${different} differ`);
  const longest = await page.evaluate(() => window.longest);
  check(longest < 1000, `the page stood still for ${longest} ms`);
  console.log(`${compared} numbers of ${ours.rows.length} segments are the program's to ${worst.toExponential(1)}; the page never stood still for more than ${Math.round(longest)} ms`);
  await page.click("#files details summary");
  await page.waitForSelector("#files canvas");
  if (pictures) await page.screenshot({ path: `${pictures}/measure.png`, fullPage: false });
  check(met.length === 0, met.join("\n"));
  await close();
}

// 2. Hostile recordings: each is told with its reason, and a name is no markup.
{
  const { page, faults: met, close } = await open();
  await page.setInputFiles("#choose", filesOf("bad"));
  await idle(page);
  const states = await page.$$eval("#files > tr", (rows) => rows.map((row) => [row.cells[0].querySelector("summary").textContent, row.cells[3].textContent]));
  for (const [name, state] of states) console.log(`  ${name}: ${state}`);
  const stateOf = (part) => (states.find(([name]) => name.includes(part)) ?? ["", "not listed"])[1];
  check(/damaged|unreadable/.test(stateOf("100000.flac")), `cut FLAC: ${stateOf("100000.flac")}`);
  check(/damaged/.test(stateOf("100100.wav")), `4 GB promised: ${stateOf("100100.wav")}`);
  for (const part of ["100200", "100300", "100400", "100500"]) check(/unreadable/.test(stateOf(part)), `${part}: ${stateOf(part)}`);
  check(/no start time/.test(stateOf("<b>here</b>")), `no time: ${stateOf("here")}`);
  check((await page.$$("#files b")).length === 0, "a file's name became markup");
  check(met.length === 0, met.join("\n"));
  if (pictures) await page.screenshot({ path: `${pictures}/measure-bad.png`, fullPage: true });
  await close();
}

// 3. A thousand files, one after another; 4. cancelled in the middle, what is done is kept.
{
  const { page, faults: met, close } = await open();
  await page.setInputFiles("#choose", filesOf("many"));
  await idle(page);
  check((await saved(page)).trim().split("\n").length === 1001, "not a row for each of a thousand files");
  check(/1000 of 1000 recordings done/.test(await page.textContent("#progress")), await page.textContent("#progress"));
  check(met.length === 0, met.join("\n"));
  await close();
  const again = await open();
  await again.page.setInputFiles("#choose", filesOf("many"));
  await again.page.waitForFunction(() => document.querySelectorAll("#files > tr[data-state=measured]").length > 3);
  await again.page.click("#cancel");
  await idle(again.page, 2000);
  const kept = (await saved(again.page)).trim().split("\n").length - 1;
  check(kept > 0 && kept < 1000, `${kept} kept after cancelling`);
  // It takes more after that.
  await again.page.setInputFiles("#choose", filesOf("many").slice(0, 3));
  await idle(again.page);
  check((await saved(again.page)).trim().split("\n").length - 1 === kept + 3, "nothing is measured after cancelling");
  check(again.faults.length === 0, again.faults.join("\n"));
  await again.close();
}
await browser.close();
console.log(faults.slice(0, 40).join("\n"));
console.log(`${checks} checks, ${faults.length} failed`);
process.exit(faults.length > 0 ? 1 : 0);
