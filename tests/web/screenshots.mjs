// Makes the README's pictures of pages: screenshots.mjs PROGRAM EXAMPLES FOLDER.
import { join } from "node:path";
import { examples, folder, open, run, withBrowser, check } from "./browser.mjs";

const out = process.argv[4];
await withBrowser(async (browser) => {
  run("lesson", "-o", "lesson.html");
  run("report", join(examples, "sandpiper-end-burner.json"), "--vehicle", join(examples, "vehicles/sandpiper.json"), "-o", "report.html");
  let page = await open(browser, "lesson.html", { viewport: { width: 1200, height: 800 } });
  for (let k = 0; k < 2; k++) await page.locator("#next-moment").click();
  await page.screenshot({ path: join(out, "lesson.png") });
  await page.done();
  page = await open(browser, "report.html", { viewport: { width: 1200, height: 800 } });
  await page.locator("#curves").scrollIntoViewIfNeeded();
  await page.evaluate(() => document.querySelector("#curves").scrollIntoView());
  await page.screenshot({ path: join(out, "report.png") });
  await page.done();
  check(folder.length > 0, "pictures made");
});
