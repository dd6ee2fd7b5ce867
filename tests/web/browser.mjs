// What the tests of pages share: a browser that notes every fault and every request, and checks that say what failed.
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

export const [program, examples] = process.argv.slice(2);
export const folder = mkdtempSync(join(tmpdir(), "slowmatch-web-"));
export const sizes = [[1366, 768], [1920, 1080], [390, 844]];
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

let n = 0;
const faults = [];
export function check(holds, what) {
  n++;
  if (!holds) { faults.push(what); console.error(`FAILED: ${what}`); }
}
export function same(got, wanted, what) {
  check(got === wanted, `${what}: got ${JSON.stringify(got)}, wanted ${JSON.stringify(wanted)}`);
}

// Runs slowmatch in the tests' folder; its standard output.
export function run(...args) {
  return execFileSync(program, args, { cwd: folder, encoding: "utf8", stdio: ["ignore", "pipe", "ignore"], maxBuffer: 64 << 20 });
}
export const read = (name) => readFileSync(join(folder, name), "utf8");

// Opens a page of the folder; what it says on the console and what it asks for is looked at when it is closed.
export async function open(browser, name, options = {}) {
  const page = await browser.newPage({ viewport: { width: 1366, height: 768 }, ...options });
  const said = [];
  page.on("console", (message) => said.push(`${message.type()}: ${message.text()}`));
  page.on("pageerror", (error) => said.push(`error: ${error.message}`));
  const asked = [];
  page.on("request", (request) => asked.push(request.url()));
  await page.goto(`file://${join(folder, name)}`);
  page.done = async () => {
    same(said.join("; "), options.says ?? "", `${name}: nothing on the console`);
    const away = asked.filter((url) => !url.startsWith("file://") && !url.startsWith("data:"));
    same(away.join(" "), "", `${name}: no request off the machine`);
    await page.close();
  };
  return page;
}

// No serious fault of accessibility. Reference: W3C WCAG 2.1, levels A and AA, as axe-core tests them.
export async function accessible(page, what) {
  await page.evaluate(axe); // by the debugger, past the page's own policy
  const found = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
  const serious = found.violations.filter((v) => v.impact === "serious" || v.impact === "critical");
  same(serious.map((v) => `${v.id} at ${v.nodes.map((node) => node.target).join(", ")}`).join("; "), "", `${what}: accessibility`);
  check(found.passes.length > 5 || found.inapplicable.length > 5, `${what}: axe looked at something`);
}

export async function fits(page, what) {
  for (const [width, height] of sizes) {
    await page.setViewportSize({ width, height });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    check(wide <= width, `${what}: ${wide} px wide at ${width}`);
  }
  await page.setViewportSize({ width: 1366, height: 768 });
}

export async function withBrowser(work) {
  const root = process.getuid && process.getuid() === 0;
  const browser = await chromium.launch({ executablePath: process.env.SM_CHROMIUM ?? "/usr/bin/chromium", args: root ? ["--no-sandbox"] : [] });
  try {
    await work(browser);
  } finally {
    await browser.close();
    rmSync(folder, { recursive: true });
  }
  console.log(`${n - faults.length} of ${n} checks passed`);
  if (faults.length || n === 0) process.exit(1);
}
