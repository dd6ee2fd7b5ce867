// The report in a browser.
import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { accessible, check, examples, fits, folder, open, program, read, run, same, withBrowser } from "./browser.mjs";

// Digits as people are shown them: four, none lost, thousands and up whole.
function digits(x) {
  if (Math.abs(x) >= 1000 && Math.abs(x) < 1e7) return x.toFixed(0);
  return x.toPrecision(4);
}

const rowOf = (page, name) => page.locator("#figures tr", { has: page.getByRole("rowheader", { name, exact: true }) })
  .first().locator("td").first().textContent();

async function figures(page, json, what) {
  const s = json.summary;
  same(await rowOf(page, "total impulse"), `${digits(s.thrust.total_impulse)} N s`, `${what}: total impulse`);
  same(await rowOf(page, "burn time"), `${digits(s.thrust.burn_time)} s`, `${what}: burn time`);
  same(await rowOf(page, "average"), `${digits(s.thrust.average)} N`, `${what}: average thrust`);
  same(await rowOf(page, "maximum"), `${digits(s.thrust.maximum)} N`, `${what}: maximum thrust`);
  same(await rowOf(page, "specific impulse"), `${digits(s.thrust.specific_impulse)} s`, `${what}: specific impulse`);
  if (s.chamber.pressure_maximum !== null)
    same(await rowOf(page, "maximum pressure"), `${digits(s.chamber.pressure_maximum / 1e6)} MPa`, `${what}: pressure`);
  const embedded = JSON.parse(await page.locator("#result").textContent());
  same(JSON.stringify(embedded), JSON.stringify(json), `${what}: what is embedded is what burn --json says`);
}

// Every point of every curve is the run's own.
async function curves(page, json, what) {
  const data = JSON.parse(await page.locator("#curves-data").textContent());
  const columns = { thrust: [["thrust", 1]], pressure: [["pressure", 1e-6]], kn: [["kn", 1]],
    mass: [["propellant_mass", 1e3], ["motor_mass", 1e3]] };
  same(JSON.stringify(data.time.values), JSON.stringify(json.series.time), `${what}: instants`);
  let off = 0, looked = 0;
  for (const panel of data.panels)
    panel.series.forEach((one, k) => {
      const [key, factor] = columns[panel.id][k] ?? [];
      one.shown.split(" ").forEach((word, i) => {
        const value = json.series[key][i] * factor;
        looked++;
        if (Number(word) !== Number(digits(value))) off++;
      });
    });
  same(off, 0, `${what}: ${looked} points of curves are those of the run`);
  check(looked > 10, `${what}: there are points`);
}

async function hover(page, json) {
  const place = page.locator("#thrust .place"), reading = page.locator("#thrust .reading");
  const before = await reading.textContent();
  await place.scrollIntoViewIfNeeded();
  const box = await place.boundingBox();
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await page.waitForFunction((old) => document.querySelector("#thrust .reading").textContent !== old, before);
  const words = (await reading.textContent()).match(/^at ([\d.]+) s: thrust ([\d.]+) N/);
  check(words, `hover says time and thrust: ${await reading.textContent()}`);
  const i = json.series.time.findIndex((t) => digits(t) === words[1]);
  same(words[2], digits(json.series.thrust[i]), "hover shows the run's thrust at that instant");
  check((await page.locator("#pressure .reading").textContent()).startsWith(`at ${words[1]} s`), "the pointer is shared by the plots");
  await place.focus();
  await page.keyboard.press("End");
  const last = json.series.time.length - 1;
  check((await place.getAttribute("aria-valuetext")).startsWith(`at ${digits(json.series.time[last])} s`), "the End key goes to the last instant");
}

async function front(page) {
  const slider = page.locator("#grain-1 input"), words = page.locator("#grain-1 output");
  const path = () => page.locator("#grain-1 .left").getAttribute("d");
  const start = await path();
  check((await words.textContent()).startsWith("at 0.000 s the fire is 0.000 mm"), "the front starts at nothing");
  await slider.focus();
  await page.keyboard.press("ArrowRight");
  check((await path()) !== start, "an arrow key moves the front");
  check(!(await words.textContent()).startsWith("at 0.000 s"), "and says when");
  same(await slider.getAttribute("aria-valuetext"), await words.textContent(), "to who listens too");
  await page.keyboard.press("End");
  same(await path(), "", "at the end nothing is left");
  check((await words.textContent()).endsWith("through"), "which is said");
}

// The words at the line of average thrust stand where no curve runs, though an end burner's thrust keeps near to it.
async function average(page) {
  await page.evaluate(() => {
    const put = CanvasRenderingContext2D.prototype.fillText;
    globalThis.texts = [];
    CanvasRenderingContext2D.prototype.fillText = function (text, x, y) {
      globalThis.texts.push({ text, left: this.textAlign === "right" ? x - this.measureText(text).width : x, base: y,
        width: this.measureText(text).width, canvas: this.canvas });
      return put.apply(this, arguments);
    };
  });
  await page.setViewportSize({ width: 1200, height: 800 });
  await page.waitForFunction(() => globalThis.texts.some((one) => one.text.startsWith("average ")));
  const inked = await page.evaluate(() => {
    const one = globalThis.texts.filter((text) => text.text.startsWith("average ")).at(-1);
    const { data } = one.canvas.getContext("2d").getImageData(one.left, one.base - 10, one.width, 12);
    let n = 0;
    for (let i = 0; i < data.length; i += 4) n += data[i + 3] > 128 && Math.hypot(data[i], data[i + 1] - 114, data[i + 2] - 178) < 50;
    return n;
  });
  same(inked, 0, "pixels of the curve behind the words at the average");
}

// On paper: the flight card alone on the first page, on A4 and on Letter. Page sizes: ISO 216; ANSI/ASME Y14.1.
async function paper(page) {
  for (const format of ["A4", "Letter"]) {
    const file = join(folder, `${format}.pdf`);
    writeFileSync(file, await page.pdf({ format, printBackground: true }));
    const text = (first, last) => execFileSync("pdftotext", ["-f", first, "-l", last, "-layout", file, "-"], { encoding: "utf8" });
    const card = text("1", "1");
    for (const word of ["Flight card", "installed impulse", "rail's end", "thrust to weight", "To look up", "never stand near a test", "told below: long-burn", "Seen by"])
      check(card.includes(word), `${format}: the first page says "${word}"`);
    check(!card.includes("Warnings") && !card.includes("Figures"), `${format}: and nothing but the card`);
    check(text("2", "2").includes("Warnings"), `${format}: the second page goes on`);
  }
}

await withBrowser(async (browser) => {
  const end = join(examples, "sandpiper-end-burner.json");
  run("report", end, "--vehicle", join(examples, "vehicles/sandpiper.json"), "-o", "end.html");
  const json = JSON.parse(run("burn", end, "--json"));
  let page = await open(browser, "end.html");
  await figures(page, json, "end burner");
  await curves(page, json, "end burner");
  await hover(page, json);
  await front(page);
  await accessible(page, "report");
  await fits(page, "report");
  const lift = JSON.parse(run("lift", join(examples, "vehicles/sandpiper.json"), "--json"));
  check((await page.locator("#card").textContent()).includes(`${digits(lift.figures.corner_speed)} m/s`), "the card has lift's own speed in the worst corner");
  await paper(page);
  await page.done();

  // The inputs in full burn to the same figures again.
  page = await open(browser, "end.html");
  writeFileSync(join(folder, "again.json"), await page.locator("#motor-file").textContent());
  const again = JSON.parse(run("burn", "again.json", "--json"));
  same(JSON.stringify(again.summary), JSON.stringify(json.summary), "the inputs in full burn to the same figures");
  await page.done();

  run("report", end, "--set", "grains.0.recess_diameter=8 mm", "--set", "grains.0.recess_depth=8 mm", "-o", "recess.html");
  page = await open(browser, "recess.html");
  await average(page);
  same((await page.locator("#card").textContent()).includes("NAR sporting code, from memory"), true, "a source is worth what the command says");
  await page.done();

  // A bare curve, and the axial model.
  const bought = join(examples, "curlew-bought.json");
  run("report", bought, "-o", "bought.html");
  page = await open(browser, "bought.html");
  await figures(page, JSON.parse(run("burn", bought, "--json")), "bought");
  same(await page.locator("#fire").count(), 0, "a bare curve has no fire front");
  await accessible(page, "report of a bought motor");
  await fits(page, "report of a bought motor");
  await page.done();

  // A name that is markup stays text, and what is injected all the same does not run.
  const evil = "</title><script>globalThis.ran = 1</script><img src=x onerror='globalThis.ran = 2'>";
  const motor = JSON.parse(readFileSync(end, "utf8"));
  motor.name = evil;
  motor.note = "</pre></script><script>globalThis.ran = 3</script>";
  writeFileSync(join(folder, "evil.json"), JSON.stringify(motor));
  run("report", "evil.json", "-o", "evil.html");
  page = await open(browser, "evil.html");
  same(await page.locator("h1").textContent(), evil, "a name of markup is shown as it is");
  same(await page.evaluate(() => globalThis.ran), undefined, "and nothing of it runs");
  await page.done();
  const injected = read("end.html").replace("</main>", "<script>globalThis.ran = 4</script></main>");
  writeFileSync(join(folder, "injected.html"), injected);
  page = await browser.newPage();
  const blocked = [];
  page.on("console", (message) => blocked.push(message.text()));
  await page.goto(`file://${join(folder, "injected.html")}`);
  same(await page.evaluate(() => globalThis.ran), undefined, "the policy keeps an injected script from running");
  check(blocked.some((text) => text.includes("Content Security Policy")), "and the browser says why");
  await page.close();

  // Under a second, start of the program included; the best of three, as other work may share the machine.
  let best = Infinity;
  for (let k = 0; k < 3; k++) {
    const began = performance.now();
    run("report", end, "-o", "timed.html");
    best = Math.min(best, performance.now() - began);
  }
  console.log(`report: ${best.toFixed(0)} ms, ${read("timed.html").length} bytes, by ${program}`);
  check(best < (process.env.SM_SLOW_BUILD ? 10000 : 1000), `a report takes ${best.toFixed(0)} ms`);
});
