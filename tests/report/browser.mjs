// A headless Chromium for the page's tests: Debian's, driven by playwright-core from the build's node_modules.
import { createRequire } from "node:module";

/** `web` is the build folder with node_modules. */
export async function startBrowser(web) {
  const require = createRequire(`${web}/`);
  const { chromium } = require("playwright-core");
  const browser = await chromium.launch({
    executablePath: process.env.HEARWOOD_CHROMIUM ?? "/usr/bin/chromium",
    args: ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
      "--disable-component-update", "--disable-sync"],
  });
  return { browser, axePath: require.resolve("axe-core/axe.min.js") };
}

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
