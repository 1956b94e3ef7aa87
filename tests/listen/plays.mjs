// node plays.mjs WEB FILE...: a headless browser plays a little of each sound file from disk; what it refuses is printed.
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { startBrowser } from "../browser/browser.mjs";

const [web, ...files] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "hearwood-plays-"));
const faults = [];
const { browser } = await startBrowser(web);
try {
  writeFileSync(join(folder, "page.html"), "<!DOCTYPE html><title>Plays</title>");
  const page = await browser.newPage();
  await page.goto(`file://${join(folder, "page.html")}`);
  for (const file of files) {
    const said = await page.evaluate((url) => new Promise((done) => {
      const sound = new Audio(url);
      sound.muted = true;
      sound.onerror = () => done(sound.error.message);
      sound.ontimeupdate = () => { if (sound.currentTime > 0.1) done(""); };
      sound.play().catch((error) => done(error.message));
    }), `file://${file}`);
    if (said) faults.push(`${file}: ${said}`);
  }
} finally {
  await browser.close();
  rmSync(folder, { recursive: true, force: true });
}
for (const fault of faults) console.log(fault);
process.exit(faults.length || !files.length ? 1 : 0);
