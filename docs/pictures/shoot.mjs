// node shoot.mjs WEB HEARWOOD OUT: pictures of the pages under the folder HEARWOOD of a survey, as PNG into OUT.
import { startBrowser } from "../../tests/browser/browser.mjs";

const [web, hearwood, out] = process.argv.slice(2);
const { browser } = await startBrowser(web);

async function shoot(name, page, { width, height, media = "screen", part, before }) {
  const context = await browser.newContext({ viewport: { width, height } });
  const tab = await context.newPage();
  tab.setDefaultTimeout(300_000);
  tab.setDefaultNavigationTimeout(300_000);
  await tab.emulateMedia({ media });
  await tab.goto(`file://${hearwood}/${page}`);
  if (before) await before(tab);
  await tab.waitForTimeout(1000);
  await (part ? tab.locator(part).first() : tab).screenshot({ path: `${out}/${name}.png` });
  await context.close();
}

await shoot("demo-page", "report/index.html", { width: 1280, height: 800 });
await shoot("day-and-pitch", "report/index.html", { width: 1280, height: 800, part: "#draw-pitch figure" });
await shoot("deployment-sheet", "plan/deployment-sheet.html", {
  width: 840, height: 917, media: "print", part: ".page",
  before: (tab) => tab.addStyleTag({ content: ".page { padding: 8px 20px 20px; }" }),
});
await shoot("listening-sheet", "listen/listen.html", {
  width: 820, height: 800,
  before: async (tab) => {
    await tab.waitForFunction(() => document.getElementById("where").textContent !== "");
    await tab.fill("#listener", "AB");
    await tab.press("#listener", "Enter");
    for (const key of ["b", "i", "+", "+", "3"]) await tab.keyboard.press(key);
  },
});
await browser.close();
