// Starts a workbench of its own for a test, and a browser.
import { spawn } from "node:child_process";
import { once } from "node:events";
import { chromium } from "playwright-core";

// program: path of slowmatch. Returned: { address, origin, pid, stop() }; stop gives the exit code.
export async function startWorkbench(program, ...words) {
  const child = spawn(program, ["workbench", ...words], { stdio: ["ignore", "pipe", "inherit"] });
  let text = "";
  for await (const chunk of child.stdout) {
    text += chunk;
    if (text.includes("\n")) break;
  }
  const address = text.trim();
  return {
    address,
    origin: new URL(address).origin,
    pid: child.pid,
    async stop() {
      const ended = once(child, "exit");
      child.kill("SIGINT");
      const [code, signal] = await ended;
      return signal ?? code;
    },
  };
}

// A browser without a network but for this machine; Debian's, whose sandbox wants a user other than root.
export function startBrowser() {
  return chromium.launch({
    executablePath: process.env.SM_CHROMIUM || "/usr/bin/chromium",
    args: process.getuid() === 0 ? ["--no-sandbox"] : [],
  });
}

// Counts what must not happen on a page: errors on its console, and requests to another place.
export function watch(page, origin) {
  const faults = [];
  page.on("console", (message) => { if (message.type() === "error") faults.push(`console: ${message.text()}`); });
  page.on("pageerror", (error) => faults.push(`error: ${error.message}`));
  page.on("request", (request) => {
    const url = request.url();
    if (!url.startsWith(origin + "/") && !url.startsWith("blob:")) faults.push(`request: ${url}`);
  });
  return faults;
}

// Does act, and waits for the trial that it leads to. Returned: what the page was told.
export async function edit(page, act) {
  await page.evaluate(() => {
    window.nextTrial = new Promise((done) => document.addEventListener("slowmatch:shown", (event) => done(event.detail), { once: true }));
  });
  await act();
  return page.evaluate(() => window.nextTrial);
}
