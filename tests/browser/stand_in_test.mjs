// The page that measures, with a stand-in for the compiled program (stand_in.js): what its own script does. What the compiled
// program does is tried by measure_page_test.mjs.      stand_in_test.mjs SOURCE WEB [PICTURE_FOLDER]
import { execFileSync } from "node:child_process";
import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { cornerAndPaper, startBrowser, openPage } from "./browser.mjs";

const [, , source, web, pictures] = process.argv;
const faults = [];
let checks = 0;
const check = (holds, what) => {
  checks += 1;
  if (!holds) faults.push(what);
};
const folder = mkdtempSync("/tmp/hearwood-page-");
copyFileSync(`${source}/tests/browser/stand_in.js`, `${folder}/hearwood.js`);
writeFileSync(`${folder}/hearwood.wasm`, "");
execFileSync("/usr/bin/python3", [`${source}/tests/browser/assemble.py`, `${source}/src`, folder, "0", `${folder}/measure.html`]);
const { browser, axePath } = await startBrowser(web);
const open = async (name) => {
  const opened = await openPage(browser, `${folder}/${name}`);
  await opened.page.context().setOffline(true);
  return opened;
};
const named = (...names) => names.map((name) => ({ name, mimeType: "audio/wav", buffer: Buffer.from("x") }));
const idle = (page) => page.waitForFunction(() => !document.documentElement.classList.contains("busy"), null, { timeout: 120000 });
const told = (page) => page.textContent("#progress");
const states = (page) => page.$$eval("#files > .recording", (rows) =>
  Object.fromEntries(rows.map((row) => [row.querySelector("button").textContent, `${row.dataset.state}: ${row.cells[3].textContent}`])));
async function saved(page) {
  const waiting = page.waitForEvent("download");
  await page.click("#save");
  return readFileSync(await (await waiting).path(), "utf8");
}
const wild = 'no "time" <b>here</b>.wav';

{
  const { page, faults: met, close } = await open("measure.html");
  check(await page.isDisabled("#save"), "there is something to save before anything was measured");
  await page.setInputFiles("#choose", named("notes.txt"));
  check((await told(page)) === "no recording among them; 1 other file passed over; what it reads is said below", await told(page));
  // Two choices at once: the second finds workers that have not begun yet.
  await page.setInputFiles("#choose", named("REC_1.flac", "a-long-name-".repeat(9) + ".wav", "cut.wav", "bad.wav", "throws.wav", "night.mp3", "._x.wav", wild));
  await page.setInputFiles("#choose", named("second.wav"));
  await idle(page);
  check((await told(page)) === "8 of 8 recordings done; 2 other files passed over; 3 not measured, and the list says why", await told(page));
  const seen = await states(page);
  check(seen["REC_1.flac"] === "measured: whole; clipped: up to 0.12 % of a segment's samples", seen["REC_1.flac"]);
  check(seen["cut.wav"].startsWith("damaged: damaged: truncated: 30.0 s"), seen["cut.wav"]);
  check(seen["bad.wav"] === "unreadable: unreadable: no sound in it", seen["bad.wav"]);
  check(seen["throws.wav"] === "unreadable: could not be measured here (the file went away); try the program, and keep the file", seen["throws.wav"]);
  check(seen["night.mp3"] === "unreadable: not read here: MP3; the program reads it", seen["night.mp3"]);
  check(wild in seen && (await page.$$("#files b")).length === 0, "a file's name became markup");
  check(seen["second.wav"].startsWith("measured"), seen["second.wav"]);
  const files = (await saved(page)).trim().split("\n").slice(1).map((line) => line.split(",").slice(3, -37).join());
  const whole = ["REC_1.flac", "a-long-name-".repeat(9) + ".wav", "cut.wav", wild.replaceAll('"', '""'), "second.wav"];
  check(files.join() === whole.flatMap((name) => Array(3).fill(`"${name}"`)).join(), `the file holds ${files}`);

  await page.click("#files button");
  await page.waitForSelector("#files canvas");
  check((await page.$$("#files tr:not([hidden]) table tbody tr")).length === 3, "not each segment under an opened name");
  for (const scheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme: scheme });
    for (const width of [390, 768, 1280]) {
      await page.setViewportSize({ width, height: 900 });
      const wide = await page.evaluate(() => document.documentElement.scrollWidth);
      check(wide <= width, `${wide} wide where ${width} is there`);
      if (pictures) await page.screenshot({ path: `${pictures}/${width}-${scheme}.png`, fullPage: true });
    }
    const [drawn, paper] = await page.evaluate(cornerAndPaper);
    check(drawn === paper, `${scheme}: round the spectrogram the paper is ${drawn}, the page's is ${paper}`);
    await page.evaluate(readFileSync(axePath, "utf8"));
    for (const { id, nodes } of (await page.evaluate(() => axe.run())).violations)
      check(false, `${scheme}: ${id}: ${nodes.map((node) => node.html.slice(0, 120)).join(" | ")}`);
  }

  // Cancelled in the middle: what is done is kept, and it takes more after that.
  await page.setInputFiles("#choose", named(...Array.from({ length: 60 }, (_, i) => `many${i}.wav`)));
  await page.waitForFunction(() => document.querySelectorAll("#files > .recording[data-state=measured]").length > 6);
  await page.click("#cancel");
  await idle(page);
  const kept = (await saved(page)).split("\n").length;
  check(Object.values(await states(page)).some((state) => state.endsWith("cancelled")), "nothing is told to be cancelled");
  await page.setInputFiles("#choose", named("after.wav"));
  await idle(page);
  check((await saved(page)).split("\n").length === kept + 3, "nothing is measured after cancelling");
  check(met.length === 0, met.join("\n"));
  await close();
}

// A browser that cannot run the program is told once, and nothing waits for ever.
{
  writeFileSync(`${folder}/none.html`, readFileSync(`${folder}/measure.html`, "utf8").replace("new Worker(workerUrl)", 'new Worker(workerUrl, { name: "none" })'));
  const { page, faults: met, close } = await open("none.html");
  await page.setInputFiles("#choose", named("a.wav", "b.wav"));
  await idle(page);
  check((await told(page)) === "This browser cannot run the page's program (no SIMD); a browser of 2023 or later can.", await told(page));
  check(Object.values(await states(page)).every((state) => state.endsWith("not measured")), "something waits for ever");
  check(met.length === 0, met.join("\n"));
  await close();
}
await browser.close();
rmSync(folder, { recursive: true });
console.log(faults.join("\n"));
console.log(`${checks} checks, ${faults.length} failed`);
process.exit(faults.length > 0 ? 1 : 0);
