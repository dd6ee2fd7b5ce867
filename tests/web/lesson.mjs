// The lesson in a browser.
import { join } from "node:path";
import { accessible, check, examples, fits, open, read, run, same, withBrowser } from "./browser.mjs";

const leaves = ["race", "try", "border", "heat", "erosion", "questions", "cautions"];

// The address changes first and the leaf a moment later, so it is waited for.
const appears = (page, id) => page.locator(`#${id}`).waitFor({ state: "visible", timeout: 10000 }).then(() => true, () => false);

async function race(page) {
  const say = () => page.locator("#saying").textContent();
  const first = await say();
  check(first.includes("Both motors hold"), "the race starts with what is alike");
  // Two grains of 29 mm, one seen along its axis: on one scale, so that the eye may compare them. Common practice, no source.
  const across = (i) => page.locator(`#racer-${i} .whole`).evaluate((one) => one.getBoundingClientRect().height);
  check(Math.abs((await across(1)) - (await across(2))) < 1, "both grains are drawn to one scale");
  const front = (i) => page.locator(`#racer-${i} .front`).getAttribute("d");
  const before = [await front(1), await front(2)];
  await page.locator("#pace").selectOption("3");
  const began = performance.now();
  await page.locator("#play").click();
  await page.waitForTimeout(700);
  await page.locator("#play").click();
  const most = 3 * (performance.now() - began) / 1000; // clicks take their time on a busy machine
  check((await front(1)) !== before[0] && (await front(2)) !== before[1], "both fronts move");
  const clock = Number((await page.locator("#race-clock").textContent()).replace(" s", ""));
  check(clock > 0.9 && clock < most + 0.2, `three times as long as the race ran, at least 0.7 s: ${clock}, at most ${most}`);
  for (let k = 0; k < 6; k++) await page.locator("#next-moment").click();
  const seen = new Set();
  for (let k = 0; k < 6; k++) { seen.add(await say()); await page.locator("#next-moment").click(); }
  same(seen.size, 6, "six moments, six sentences");
  check([...seen].some((text) => text.includes("Burn time is web over burning rate")), "one is why the burn times differ");
  const slider = page.locator("#race-time");
  await slider.focus();
  await page.keyboard.press("End");
  check((await page.locator("#racer-2 .now").textContent()).includes("thrust 0.000 N"), "at the end nothing pushes");
}

// Each stop of each slider says something, and what it says is what burn says of that motor.
async function tries(page) {
  await page.goto(page.url().replace(/#.*/, "") + "#try");
  const table = () => page.locator("#try-table tbody").innerText();
  for (let i = 0; i < 4; i++) {
    const slider = page.locator(`#try-${i}`);
    await slider.focus();
    await page.keyboard.press("Home");
    const said = new Set();
    for (let k = 0; k <= Number(await slider.getAttribute("max")); k++) {
      said.add(`${await page.locator(`#try-${i}-says`).textContent()} ${await table()}`);
      await page.keyboard.press("ArrowRight");
    }
    same(said.size, Number(await slider.getAttribute("max")) + 1, `slider ${i}: every stop says something else`);
  }
  for (const [i, stop] of [2, 2, 2, 1].entries()) {
    await page.locator(`#try-${i}`).focus();
    await page.keyboard.press("Home");
    for (let k = 0; k < stop; k++) await page.keyboard.press("ArrowRight");
  }
  for (const [column, file, set] of [[1, "sandpiper-end-burner.json", []], [2, "sandpiper-cored.json", []]]) {
    const json = JSON.parse(run("burn", join(examples, file), "--json", ...set));
    const cell = (row) => page.locator(`#try-table tbody tr:nth-child(${row}) td:nth-of-type(${column})`).textContent();
    const t = json.summary.thrust;
    check(Math.abs(parseFloat(await cell(3)) / t.burn_time - 1) < 5e-3, `${file}: burn time ${await cell(3)} is that of the example, ${t.burn_time}`);
    check(Math.abs(parseFloat(await cell(6)) / t.total_impulse - 1) < 5e-3, `${file}: total impulse ${await cell(6)}`);
    const [way, rate, time] = [await cell(1), await cell(2), await cell(3)].map(parseFloat);
    check(Math.abs(way / rate / time - 1) < 1e-3, `${file}: burn time is way over rate: ${way} / ${rate} = ${time}`);
  }
}

async function single(page, id) {
  await page.goto(page.url().replace(/#.*/, "") + `#${id}`);
  check(await appears(page, id), `${id}: its address shows it`);
  const slider = page.locator(`#${id}-slider`), words = page.locator(`#${id}-words`);
  await slider.focus();
  await page.keyboard.press("Home");
  const said = new Set();
  const most = Number(await slider.getAttribute("max"));
  for (let k = 0; k <= most; k++) { said.add(await words.textContent()); await page.keyboard.press("ArrowRight"); }
  same(said.size, most + 1, `${id}: every stop says something else`);
}

await withBrowser(async (browser) => {
  let best = Infinity;
  for (let k = 0; k < 2; k++) {
    const began = performance.now();
    run("lesson", "-o", "lesson.html");
    best = Math.min(best, performance.now() - began);
  }
  const bytes = Buffer.byteLength(read("lesson.html"));
  console.log(`lesson: ${best.toFixed(0)} ms, ${bytes} bytes`);
  check(best < (process.env.SM_SLOW_BUILD ? 60000 : 5000), `the lesson takes ${best.toFixed(0)} ms`);
  check(bytes < 2e6, `the lesson has ${bytes} bytes`);

  let page = await open(browser, "lesson.html");
  await race(page);
  await tries(page);
  await single(page, "border");
  await single(page, "heat");
  for (const id of leaves) {
    await page.locator(`nav a[href="#${id}"]`).click();
    check(await appears(page, id), `${id}: its link shows it`);
    same(await page.locator(".leaf:visible").count(), 1, `${id}: and it alone`);
    await accessible(page, id);
    await fits(page, id);
  }
  await page.goto(page.url().replace(/#.*/, "") + "#questions");
  check(await appears(page, "questions"), "the address shows a leaf");
  check(!(await page.locator("details p").first().isVisible()), "answers are hidden");
  await page.locator("summary").first().focus();
  await page.keyboard.press("Enter");
  check(await page.locator("details p").first().isVisible(), "and opened by the keyboard");
  await page.locator("h2:visible").focus();
  await page.keyboard.press("ArrowLeft");
  check(await appears(page, "erosion"), "arrow keys turn leaves");
  await page.done();

  // Less motion: no play, but from moment to moment.
  page = await open(browser, "lesson.html", { reducedMotion: "reduce" });
  check(!(await page.locator("#play").isVisible()), "who asked for less motion gets no moving picture");
  const before = await page.locator("#saying").textContent();
  await page.locator("#next-moment").click();
  check((await page.locator("#saying").textContent()) !== before, "but the next moment");
  await page.done();

  // On motors of one's own, one of them known by its curve alone.
  run("lesson", "-o", "own.html", "--with", join(examples, "curlew-bought.json"), join(examples, "sandpiper-offset-bore.json"));
  page = await open(browser, "own.html");
  check((await page.locator("#racer-1").textContent()).includes("Curlew F12 (bought)"), "it teaches on the motors given");
  await page.locator("#race-time").focus();
  await page.keyboard.press("End");
  check((await page.locator("#racer-1 .now").textContent()).includes("thrust"), "a bare curve pushes too");
  await accessible(page, "lesson on one's own");
  await page.done();
});
