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

// 1. The program's numbers, each as near as its own rounding allows: tests/rounding.py derives the bounds in bounds.csv and says from what.
// Flags, what is kept, the reasons and whatever has no bound are held to the letter.
{
  const { page, faults: met, close } = await open();
  await watchFrames(page);
  await page.setInputFiles("#choose", filesOf("good"));
  await idle(page);
  const ours = rowsOf(await saved(page)), theirs = rowsOf(readFileSync(`${sounds}/segments.csv`, "utf8"));
  check(ours.header.join() === theirs.header.join(), `columns differ: ${ours.header} / ${theirs.header}`);
  const column = (name) => theirs.header.indexOf(name);
  const good = new Set(readdirSync(`${sounds}/good`));
  const fileOf = (row) => row[column("file")].split("/").pop();
  const key = (row) => [fileOf(row), row[column("channel")], row[column("segment")]].join();
  const wanted = new Map(theirs.rows.filter((row) => good.has(fileOf(row))).map((row) => [key(row), row]));
  check(ours.rows.length === wanted.size, `${ours.rows.length} rows, the program has ${wanted.size}`);
  // What only a survey knows. The rest is held to the letter: date, hour, flags and reasons too.
  const surveyed = new Set(["site", "stand", "deployment", "file", "start_utc", "start_local", "window", "minutes_from_sunrise",
    ...theirs.header.filter((name) => name.startsWith("even_"))]);
  const limits = rowsOf(readFileSync(`${sounds}/bounds.csv`, "utf8"));
  const stem = (name) => name.slice(0, name.lastIndexOf("."));
  const bounds = new Map(limits.rows.map((row) => [row.slice(0, 3).join(), row]));
  const worst = new Map(); // kind of column -> the largest difference, and the largest share of its bound
  let compared = 0, same = 0;
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
      // Whether a recording lies outside its deployment the page cannot know.
      const due = name === "flags" || name === "reasons" ? want[i].split(";").filter((flag) => flag !== "outside").join(";") : want[i];
      if (row[i] === due) {
        same += 1;
        return;
      }
      const a = Number(row[i]), b = Number(due), off = Math.abs(a - b);
      const [file, ...rest] = key(row).split(",");
      const bound = Number(bounds.get([stem(file), ...rest].join())?.[limits.header.indexOf(name)] || NaN);
      if (row[i] !== "" && due !== "" && off <= bound && bound < Infinity) {
        const kind = `${/\.(ogg|oga|opus)$/.test(file) ? "lossy " : ""}${name}`;
        const [most, share] = worst.get(kind) ?? [0, 0];
        worst.set(kind, [Math.max(most, off / Math.max(1, Math.abs(b))), Math.max(share, off / bound)]);
      } else faults.push(`${key(row)} ${name}: '${row[i]}', the program has '${due}', and rounding explains ${bound}`);
    });
  }
  check(compared > 4000, `only ${compared} values compared`);
  const longest = await page.evaluate(() => window.longest);
  check(longest < MOST_STILL_MS, `the page stood still for ${longest} ms`);
  console.log(`${compared} values of ${ours.rows.length} segments: ${same} to the last digit, the others within their rounding; ` +
    `the page never stood still for more than ${Math.round(longest)} ms`);
  for (const [kind, [most, share]] of [...worst].sort((one, other) => other[1][0] - one[1][0]).slice(0, 12))
    console.log(`  ${kind}: ${most.toExponential(1)} at most, ${(100 * share).toFixed(0)} % of its bound`);
  await page.click("#files button");
  await page.waitForSelector("#files canvas");
  const painted = await page.$eval("#files canvas", (canvas) =>
    new Set(canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data).size);
  check(painted > 20, `the spectrogram has ${painted} levels`);
  check((await page.$$("#files tr:not([hidden]) table tr")).length >= 2, "no numbers under an opened name");
  // At every width, by day and by night: nothing is cut off, and no barrier is found.
  for (const scheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme: scheme });
    for (const width of [390, 768, 1280]) {
      await page.setViewportSize({ width, height: 900 });
      const wide = await page.evaluate(() => document.documentElement.scrollWidth);
      check(wide <= width, `${wide} wide where ${width} is there`);
      if (pictures) await page.screenshot({ path: `${pictures}/measure-${width}-${scheme}.png` });
    }
    const [drawn, paper] = await page.evaluate(cornerAndPaper);
    check(drawn === paper, `${scheme}: round the spectrogram the paper is ${drawn}, the page's is ${paper}`);
    await page.evaluate(readFileSync(axePath, "utf8"));
    for (const { id, nodes } of (await page.evaluate(() => axe.run())).violations)
      faults.push(`${scheme}: ${id}: ${nodes.slice(0, 3).map((node) => node.html.slice(0, 120)).join(" | ")}`);
  }
  check(met.length === 0, met.join("\n"));
  await close();
}

// 2. Hostile recordings: each is told with the program's own state and reason, and a name is no markup.
{
  const { page, faults: met, close } = await open();
  await page.setInputFiles("#folder", `${sounds}/bad`);
  await idle(page);
  const told = await page.$$eval("#files > .recording", (rows) =>
    rows.map((row) => [row.cells[0].querySelector("button").textContent, row.cells[3].textContent, row.dataset.state]));
  const theirs = rowsOf(readFileSync(`${sounds}/recordings.csv`, "utf8"));
  const cell = (row, name) => row[theirs.header.indexOf(name)];
  const bad = theirs.rows.filter((row) => cell(row, "deployment") === "DS1");
  check(told.length === bad.length && bad.length === readdirSync(`${sounds}/bad`).length, `${told.length} told, the program has ${bad.length}`);
  for (const [name, words, state] of told) {
    const want = bad.find((row) => cell(row, "file").endsWith(name.split("/").pop()));
    check(want && state === cell(want, "state"), `${name}: ${state}, the program says ${want && cell(want, "state")}`);
    const note = want ? cell(want, "note") : "?";
    check(words.includes(note), `${name}: '${words}', the program says '${note}'`);
    console.log(`  ${name}: ${words}`);
  }
  check((await page.$$("#files b")).length === 0, "a file's name became markup");
  // What is no recording is counted, an MP3 is named, hidden files are passed over as the program does.
  await page.setInputFiles("#choose", ["notes.txt", "night.mp3", "._REC_20310504_100000.wav"].map((name) =>
    ({ name, mimeType: "application/octet-stream", buffer: Buffer.from("x") })));
  check(/2 other files passed over/.test(await page.textContent("#progress")), await page.textContent("#progress"));
  check(/MP3; the program reads it/.test(await page.textContent("#files > .recording:nth-last-child(2)")), await page.textContent("#files > .recording:nth-last-child(2)"));
  check(met.length === 0, met.join("\n"));
  if (pictures) await page.screenshot({ path: `${pictures}/measure-bad.png`, fullPage: true });
  await close();
}

// 2b. A folder dropped from the file manager, with folders in it, and files beside it: the browser's own way for dragged files.
{
  const { page, faults: met, close } = await open();
  const wild = 'night "one" <b>& é.wav', top = `${sounds}/dropped`, [one, ...others] = filesOf("many");
  mkdirSync(`${top}/card/deeper`, { recursive: true });
  mkdirSync(`${top}/card/empty`);
  copyFileSync(one, `${top}/card/${wild}`);
  others.slice(0, 120).forEach((file) => copyFileSync(file, `${top}/card/deeper/${file.split("/").pop()}`));
  writeFileSync(`${top}/card/notes.txt`, "nothing to hear");
  const session = await page.context().newCDPSession(page);
  const { x, y, width, height } = await page.locator("#place").boundingBox();
  const drag = (type) => session.send("Input.dispatchDragEvent", { type, x: x + width / 2, y: y + height / 2,
    data: { items: [], files: [`${top}/card`, others[200]], dragOperationsMask: 1 } });
  await drag("dragEnter");
  await drag("dragOver");
  check(await page.$eval("#place", (place) => place.classList.contains("over")), "nothing shows where to drop");
  await drag("drop");
  await page.waitForFunction(() => document.querySelectorAll("#files > .recording").length >= 122, null, { timeout: 60000 });
  await idle(page);
  const names = await page.$$eval("#files > .recording button", (buttons) => buttons.map((button) => button.textContent));
  // A browser hands over at most a hundred entries of a folder at a time.
  check(names.length === 122 && names.includes(`card/${wild}`), `${names.length} of 122 recordings of a dropped folder: ${names.slice(0, 3)}`);
  check(names.filter((name) => name.startsWith("card/deeper/")).length === 120, "not all of an inner folder");
  check((await saved(page)).trim().split("\n").length === 123, "not a row for each dropped recording");
  check(/122 of 122 recordings done; 1 other file passed over/.test(await page.textContent("#progress")), await page.textContent("#progress"));
  check(met.length === 0, met.join("\n"));
  rmSync(top, { recursive: true });
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
  await again.page.waitForFunction(() => document.querySelectorAll("#files > .recording[data-state=measured]").length > 3);
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
