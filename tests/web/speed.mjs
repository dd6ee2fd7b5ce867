// From an edit to the curve that it makes, as a browser sees it:  node speed.mjs PROGRAM MOTOR
import { startBrowser, startWorkbench } from "./server.mjs";

const [program, motor] = process.argv.slice(2);
const server = await startWorkbench(program, motor);
const browser = await startBrowser();
const page = await browser.newPage({ viewport: { width: 1366, height: 768 } });
await page.goto(server.address);
await page.waitForFunction(() => document.getElementById("designation").textContent !== "…");
await page.locator("#part-nozzle input[type=range]").first().waitFor();
const times = await page.evaluate(async () => {
  const STEPS = 200, out = [];
  const slider = document.querySelector("#part-nozzle input[type=range]");
  for (let i = 0; i < STEPS; i++) {
    const shown = new Promise((done) => document.addEventListener("slowmatch:shown", (event) => done(event.detail), { once: true }));
    const start = performance.now();
    slider.value = String(Number(slider.min) + (Number(slider.max) - Number(slider.min)) * (0.3 + 0.4 * i / STEPS));
    slider.dispatchEvent(new Event("input"));
    const { reply } = await shown;
    await Promise.resolve(); // the plots draw at the end of the turn
    out.push({ drawn: performance.now() - start, engine: reply.engineMicroseconds / 1000, burn: reply.burnMicroseconds / 1000 });
    await new Promise((done) => setTimeout(done, 30));
  }
  return out;
});
const at = (list, share) => list.toSorted?.((a, b) => a - b)[Math.ceil(share * list.length) - 1] ?? [...list].sort((a, b) => a - b)[Math.ceil(share * list.length) - 1];
const drawn = times.map((one) => one.drawn), engine = times.map((one) => one.engine);
const sum = (list) => list.reduce((a, b) => a + b, 0);
console.log(`edit to curve: median ${at(drawn, 0.5).toFixed(1)} ms, 95th percentile ${at(drawn, 0.95).toFixed(1)} ms, worst ${at(drawn, 1).toFixed(1)} ms`);
console.log(`in the engine: median ${at(engine, 0.5).toFixed(1)} ms, ${(100 * sum(engine) / sum(drawn)).toFixed(0)} % of it all`);
// On a busy machine the ratio says more than the times: both are slowed alike.
const burn = times.map((one) => one.burn);
console.log(`the burn alone: median ${at(burn, 0.5).toFixed(1)} ms, 95th percentile ${at(burn, 0.95).toFixed(1)} ms; edit to curve takes ${(at(drawn, 0.5) / at(burn, 0.5)).toFixed(1)} and ${(at(drawn, 0.95) / at(burn, 0.95)).toFixed(1)} times as long`);
await browser.close();
await server.stop();
