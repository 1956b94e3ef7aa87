// The page that measures, opened from disk in Chromium with the network off: its numbers against the program's, hostile
// recordings, a dropped folder, a thousand files, 2 GB in bounded memory, cancelling, staying responsive, every width by day and by night.
//   measure_page_test.mjs PAGE SOUNDS WEB [PICTURE_FOLDER]
import { copyFileSync, mkdirSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { cornerAndPaper, startBrowser, openPage } from "./browser.mjs";

const [, , pagePath, sounds, web, pictures] = process.argv;
const faults = [];
let checks = 0;
const check = (holds, what) => {
  checks += 1;
  if (!holds) faults.push(what);
};
const filesOf = (folder) => readdirSync(`${sounds}/${folder}`).sort().map((name) => `${sounds}/${folder}/${name}`);

/** RFC 4180, but for line ends inside quotes. */
function rowsOf(text) {
  const cells = (line) => [...`${line},`.matchAll(/(?:"((?:[^"]|"")*)"|([^,]*)),/g)].map(([, quoted, plain]) => quoted?.replaceAll('""', '"') ?? plain);
  const lines = text.trim().split("\n").map(cells);
  return { header: lines[0], rows: lines.slice(1) };
}

const { browser, axePath } = await startBrowser(web);
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

/** What Chromium's processes hold in memory that no file backs, in MB. */
function memory() {
  let sum = 0;
  const own = new Map();
  for (const entry of readdirSync("/proc").filter((name) => /^\d+$/.test(name))) {
    try {
      const status = readFileSync(`/proc/${entry}/status`, "utf8");
      const number = (name) => Number(new RegExp(`^${name}:\\s+(\\d+)`, "m").exec(status)?.[1] ?? 0);
      own.set(number("Pid"), { parent: number("PPid"), anonymous: number("RssAnon") / 1024 });
    } catch {
      // It has ended meanwhile.
    }
  }
  const ours = (pid) => pid === process.pid || (own.has(pid) && ours(own.get(pid).parent));
  for (const [pid, { anonymous }] of own) if (pid !== process.pid && ours(pid)) sum += anonymous;
  return sum;
}

/** The longest time that the page could not be painted, from now on. */
const watchFrames = (page) => page.evaluate(() => {
  window.longest = 0;
  let last = performance.now();
  const watch = (now) => {
    window.longest = Math.max(window.longest, now - last);
    last = now;
    requestAnimationFrame(watch);
  };
  requestAnimationFrame(watch);
});
const MOST_STILL_MS = 1000;

// 5. A recording of 2 GB goes through memory in pieces, and can be given up in the middle.
{
  const { page, faults: met, close } = await open();
  await page.setInputFiles("#choose", filesOf("good").slice(0, 4));
  await idle(page);
  const before = memory();
  let most = 0;
  const sampled = setInterval(() => (most = Math.max(most, memory())), 200);
  await watchFrames(page);
  const began = Date.now();
  await page.setInputFiles("#choose", filesOf("long"));
  await idle(page, 900000);
  const took = (Date.now() - began) / 1000;
  clearInterval(sampled);
  const rows = (await saved(page)).trim().split("\n").filter((line) => line.includes("20310506"));
  const size = statSync(filesOf("long")[0]).size, minutes = size / (96000 * 2 * 60);
  check(rows.length === Math.floor(minutes), `${rows.length} rows of ${minutes} minutes`);
  // The browser lets some hundred megabytes of pieces lie before it clears them away (a saw's teeth, whatever the length); a page
  // that held the recording would need more than its 2,200 MB.
  check(most - before < 600, `memory grew from ${before} to ${most} MB`);
  const longest = await page.evaluate(() => window.longest);
  check(longest < MOST_STILL_MS, `the page stood still for ${longest} ms`);
  console.log(`${(size / 1e9).toFixed(1)} GB: ${rows.length} segments in ${took.toFixed(0)} s, ${(minutes * 60 / took).toFixed(0)} times real time; ` +
    `memory from ${before.toFixed(0)} to at most ${most.toFixed(0)} MB`);
  await page.setInputFiles("#choose", filesOf("long"));
  await page.waitForFunction(() => /measured \d+ of/.test(document.querySelector("#files > .recording:nth-last-child(2)").cells[3].textContent), null, { timeout: 60000 });
  await page.click("#cancel");
  await idle(page, 2000);
  check(/cancelled/.test(await page.textContent("#files > .recording:nth-last-child(2) > td:last-child")), "a long recording is not given up");
  check(met.length === 0, met.join("\n"));
  await close();
}
await browser.close();
console.log(faults.slice(0, 40).join("\n"));
console.log(`${checks} checks, ${faults.length} failed`);
process.exit(faults.length > 0 ? 1 : 0);
