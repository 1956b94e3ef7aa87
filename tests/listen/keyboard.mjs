// node keyboard.mjs WEB TASK: answers a listening sheet by keyboard alone in a headless browser, closes the browser half
// way and starts it again, and saves the CSV. TASK is JSON: page, profile (an empty folder), answers (by clip),
// listener, saved.
import { readdirSync, readFileSync } from "node:fs";
import { setTimeout as pause } from "node:timers/promises";
import { startBrowserWith } from "../browser/browser.mjs";

const [web, taskFile] = process.argv.slice(2);
const task = JSON.parse(readFileSync(taskFile, "utf8"));
const letters = { birds: "b", insects: "i", frogs: "f", mammals: "m", rain: "r", wind: "w", water: "t", engine: "e", people: "p", other: "o" };
const faults = [];
let context = await startBrowserWith(task.profile, web);
const folder = `file://${task.page.slice(0, task.page.lastIndexOf("/") + 1)}`;

async function open() {
  const page = await context.newPage();
  page.on("pageerror", (error) => faults.push(`script error: ${error.message}`));
  page.on("console", (message) => { if (message.type() === "error") faults.push(`console: ${message.text()}`); });
  page.on("request", (request) => {
    if (!request.url().startsWith(folder) && !request.url().startsWith("blob:")) faults.push(`request to ${request.url()}`);
  });
  await page.goto(`file://${task.page}`);
  await page.waitForFunction(() => document.getElementById("where").textContent !== "");
  return page;
}

const clips = (page) => page.evaluate(() => JSON.parse(document.getElementById("sheet").textContent).clips);

async function answer(page, said) {
  for (const [box, letter] of Object.entries(letters)) if (said[box]) await page.keyboard.press(letter);
  for (let i = 0; i < said.kinds; i++) await page.keyboard.press("+");
  await page.keyboard.press(String(said.fullness));
  if (!said.note) return;
  await page.keyboard.press("n");
  await page.keyboard.type(said.note);
  await page.keyboard.press("Escape");
}

// Chromium writes to disk some seconds after a page has stored something. A listener is slower than this, the test is
// not: it waits until the answer stands on disk.
async function written(text) {
  const folder = `${task.profile}/Default/Local Storage/leveldb`;
  const stands = () => {
    try {
      return readdirSync(folder).some((name) => readFileSync(`${folder}/${name}`).includes(text));
    } catch {
      return false;  // Not made yet, or a file went while the browser tidied up
    }
  };
  for (const end = Date.now() + 60_000; Date.now() < end; await pause(100))
    if (stands()) return;
  faults.push(`after a minute the browser has not written ${text}`);
}

let page = await open();
const order = await clips(page);
// The first clip before there is a name: the answer goes along to the name.
await answer(page, task.answers[order[0]]);
await page.keyboard.press("Enter");
// The name by keyboard too: Tab from the top of the page to the first field.
await page.keyboard.press("Tab");
await page.keyboard.type(task.listener);
await page.keyboard.press("Enter");
const half = Math.floor(order.length / 2);
for (let i = 1; i < half; i++) {
  await answer(page, task.answers[order[i]]);
  await page.keyboard.press("Enter");
}
// A sound plays, and its picture is there.
const state = await page.evaluate(async () => {
  const sound = document.getElementById("sound"), picture = document.getElementById("picture");
  if (sound.readyState < 2) await new Promise((done) => sound.addEventListener("loadeddata", done, { once: true }));
  await picture.decode();
  return { seconds: sound.duration, error: sound.error && sound.error.message, width: picture.naturalWidth };
});
// The needle stands inside the plot, not on the axis.
const needle = await page.evaluate(() => parseFloat(document.getElementById("needle").style.left));
if (!(needle > 2 && needle < 98)) faults.push(`needle at ${needle} %`);
if (state.error || !(state.seconds > 1) || !(state.width > 100)) faults.push(`clip: ${JSON.stringify(state)}`);
await written(`"place":${half},`);
await context.close();

context = await startBrowserWith(task.profile, web);
page = await open();
const where = await page.textContent("#where");
if (!where.startsWith(`Clip ${half + 1} of ${order.length}, ${half} answered`)) faults.push(`after opening again: ${where}`);
for (let i = half; i < order.length; i++) {
  await answer(page, task.answers[order[i]]);
  await page.keyboard.press("ArrowRight");
}
// Back and forth, and a second press takes a tick off and on again.
await page.keyboard.press("ArrowLeft");
await page.keyboard.press("ArrowRight");
await page.keyboard.press("x");
const download = page.waitForEvent("download");
await page.focus("#export");
await page.keyboard.press("Enter");
await (await download).saveAs(task.saved);
await context.close();
for (const fault of faults) console.log(fault);
process.exit(faults.length === 0 ? 0 : 1);
