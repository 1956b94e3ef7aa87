// A headless Chromium for the page's tests: Debian's, driven by playwright-core from the build folder.
import { createRequire } from "node:module";

const options = {
  executablePath: process.env.HEARWOOD_CHROMIUM ?? "/usr/bin/chromium",
  args: ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync"],
};

/** `web` is the build folder with node_modules. */
export async function startBrowser(web) {
  const require = createRequire(`${web}/`);
  const { chromium } = require("playwright-core");
  return { browser: await chromium.launch(options), axePath: require.resolve("axe-core/axe.min.js") };
}

/** A browser whose pages keep what they store in the folder `profile`, as a user's does. Returns its context. */
export function startBrowserWith(profile, web) {
  const { chromium } = createRequire(`${web}/`)("playwright-core");
  return chromium.launchPersistentContext(profile, { ...options, acceptDownloads: true });
}

/** For page.evaluate: the colour of a canvas's first pixel, which is paper, and the page's own. */
export const cornerAndPaper = () => {
  const corner = new OffscreenCanvas(1, 1).getContext("2d", { willReadFrequently: true });
  corner.drawImage(document.querySelector("canvas"), 0, 0);
  const [red, green, blue] = corner.getImageData(0, 0, 1, 1).data;
  return [`rgb(${red}, ${green}, ${blue})`, getComputedStyle(document.body).backgroundColor];
};

/** Opens a page from disk; everything that must not happen is collected in `faults`. */
export async function openPage(browser, file, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, acceptDownloads: true, ...options });
  const page = await context.newPage();
  const faults = [];
  const folder = `file://${file.slice(0, file.lastIndexOf("/") + 1)}`;
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) faults.push(`console ${message.type()}: ${message.text()}`);
  });
  page.on("pageerror", (error) => faults.push(`script error: ${error.message}`));
  page.on("dialog", (dialog) => {
    faults.push(`a dialog opened: ${dialog.message()}`);
    dialog.dismiss();
  });
  page.on("request", (request) => {
    const url = request.url();
    if (!url.startsWith(folder) && !url.startsWith("data:") && !url.startsWith("blob:")) faults.push(`request to ${url}`);
  });
  await page.goto(`file://${file}`);
  await page.waitForFunction(() => document.documentElement.classList.contains("drawn"));
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
  return { page, faults, close: () => context.close() };
}
