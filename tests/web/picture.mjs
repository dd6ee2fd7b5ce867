// The README's picture of the workbench:  node picture.mjs PROGRAM EXAMPLES OUT.png
import { join } from "node:path";
import { edit, startBrowser, startWorkbench } from "./server.mjs";

const [program, examples, out] = process.argv.slice(2);
const server = await startWorkbench(program, join(examples, "sandpiper-cored.json"));
const browser = await startBrowser();
const page = await browser.newPage({ viewport: { width: 1366, height: 768 } });
await page.goto(server.address);
await page.waitForFunction(() => document.getElementById("designation").textContent !== "…");
await edit(page, () => page.locator("#keep").click());
await edit(page, () => page.locator("#open").setInputFiles(join(examples, "sandpiper-end-burner.json")));
await page.locator("#part-grains").scrollIntoViewIfNeeded();
await page.waitForTimeout(1500); // until the section is drawn and the state is said
await page.screenshot({ path: out });
await browser.close();
await server.stop();
