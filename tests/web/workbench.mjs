// The workbench in a browser:  node workbench.mjs PROGRAM EXAMPLES
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { copyFileSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import axe from "axe-core";
import { edit, startBrowser, startWorkbench, watch } from "./server.mjs";

const [program, examples] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "slowmatch-web-"));
const motor = join(folder, "motor.json");
copyFileSync(join(examples, "sandpiper-end-burner.json"), motor);
const burn = (path) => JSON.parse(execFileSync(program, ["burn", path, "--json"], { stdio: ["ignore", "pipe", "ignore"] }));

const server = await startWorkbench(program, motor);
const browser = await startBrowser();

async function open(viewport = { width: 1366, height: 768 }) {
  const page = await browser.newPage({ viewport });
  page.faults = watch(page, server.origin);
  await page.goto(server.address);
  await page.waitForFunction(() => document.getElementById("designation").textContent !== "…");
  return page;
}
const field = (page, part, label) => page.locator(`#part-${part}`).getByLabel(label, { exact: true });
const figure = (page, label) => page.locator("#figures tr", { has: page.locator(`th:text-is("${label}")`) }).first().locator("td").first().textContent();
const designation = (page) => page.locator("#designation").textContent();

// As WCAG 2 has it, by axe-core; serious faults and worse count.
async function accessible(page) {
  await page.evaluate(axe.source);
  const { violations } = await page.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
  const grave = violations.filter((one) => ["serious", "critical"].includes(one.impact));
  assert.deepEqual(grave.map((one) => `${one.id}: ${one.nodes.map((node) => node.target).join(" ")}`), []);
}

const tests = {
  async "opens at every width without a fault, accessible and no wider than the screen"() {
    for (const viewport of [{ width: 1366, height: 768 }, { width: 1920, height: 1080 }, { width: 390, height: 844 }]) {
      const page = await open(viewport);
      await accessible(page);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      assert.ok(wide <= 0, `${wide} pixels too wide at ${viewport.width}`);
      await page.locator("#many summary").first().click();
      await page.locator("#hand summary").click();
      await page.locator("#as-text summary").click();
      await accessible(page);
      assert.deepEqual(page.faults, []);
      await page.close();
    }
  },

  async "shows the numbers of burn --json to the digits shown"() {
    const page = await open(), json = burn(motor).summary;
    const same = async (label, value, scale = 1) => {
      const text = await figure(page, label);
      assert.equal(text.split(" ")[0], (value / scale).toPrecision(4), label);
    };
    await same("total impulse", json.thrust.total_impulse);
    await same("burn time", json.thrust.burn_time);
    await same("maximum", json.thrust.maximum);
    await same("maximum pressure", json.chamber.pressure_maximum, 1e6);
    assert.equal(await designation(page), json.class.designation);
    await page.close();
  },

  async "follows a drag, and a value that can't be is told at its field while the last good curve stays"() {
    const page = await open();
    const text = field(page, "nozzle", "throat diameter"), slider = field(page, "nozzle", "drag throat diameter");
    const before = await figure(page, "maximum pressure");
    await slider.waitFor();
    await edit(page, () => slider.press("ArrowRight"));
    assert.equal(await text.inputValue(), "2.01 mm");
    assert.notEqual(await figure(page, "maximum pressure"), before);
    assert.equal(await slider.getAttribute("aria-valuetext"), "2.01 mm");
    const shown = await designation(page);
    await edit(page, () => text.fill("2 kg"));
    assert.equal(await text.getAttribute("aria-invalid"), "true");
    assert.match(await page.locator("#faults").textContent(), /throat_diameter/);
    assert.equal(await designation(page), shown);
    await edit(page, () => text.fill("2 mm"));
    assert.equal(await page.locator("#state").textContent(), "");
    await edit(page, () => text.fill("2 mmm"));
    await page.waitForTimeout(800); // past the calm after which a motor is announced
    assert.match(await page.locator("#state").textContent(), /^not a motor yet/);
    await edit(page, () => text.fill("2 mm"));
    assert.equal(await text.getAttribute("aria-invalid"), null);
    assert.equal(await figure(page, "maximum pressure"), before);
    assert.deepEqual(page.faults, []);
    await page.close();
  },

  async "edits, runs, saves with a backup and exports what burn then gives"() {
    const page = await open();
    const old = readFileSync(motor, "utf8");
    await edit(page, () => field(page, "nozzle", "throat diameter").fill("2.2 mm"));
    const shown = await figure(page, "total impulse"), class_ = await designation(page);
    await page.keyboard.press("Control+s");
    await page.waitForFunction(() => /^saved/.test(document.getElementById("state").textContent));
    assert.equal(readFileSync(motor + "~", "utf8"), old);
    const result = burn(motor);
    assert.equal(result.summary.class.designation, class_);
    assert.equal(result.summary.thrust.total_impulse.toPrecision(4), shown.split(" ")[0]);
    await page.locator("#hand summary").click();
    await page.locator("#hand-form-name").selectOption("json");
    const [download] = await Promise.all([page.waitForEvent("download"), page.locator("#hand-file").click()]);
    const exported = JSON.parse(readFileSync(await download.path(), "utf8"));
    assert.deepEqual(exported.series.thrust, result.series.thrust);
    assert.deepEqual(exported.summary, result.summary);
    assert.deepEqual(page.faults, []);
    await page.close();
    writeFileSync(motor, old);
  },

  async "hands over in every form that there is"() {
    const template = join(folder, "layout.mustache");
    writeFileSync(template, "{{total_impulse}}\n");
    const first = await open();
    const forms = await first.locator("#hand-form-name option").allTextContents();
    await first.close();
    for (const form of forms) {
      /* a page for each: past ten downloads from one page a browser asks its user first, and here there is none */
      const page = await open();
      await page.locator("#hand summary").click();
      await page.locator("#hand-form-name").selectOption(form);
      if (form === "template") await page.locator("#hand-template").setInputFiles(template);
      const [download] = await Promise.all([page.waitForEvent("download", { timeout: 60000 }), page.locator("#hand-file").click()])
        .catch(async () => assert.fail(`${form}: ${await page.locator("#hand-state").textContent()}`));
      assert.ok(readFileSync(await download.path()).length > 10, form);
      if (await page.locator("#hand-companion").isVisible()) {
        const [second] = await Promise.all([page.waitForEvent("download"), page.locator("#hand-companion").click()]);
        assert.notEqual(second.suggestedFilename(), download.suggestedFilename());
      }
      assert.deepEqual(page.faults, []);
      await page.close();
    }
  },

  async "keeps two tabs apart, and one from saving over the other"() {
    const first = await open(), second = await open();
    const a = await designation(first);
    await edit(second, () => field(second, "nozzle", "throat diameter").fill("2.4 mm"));
    assert.equal(await designation(first), a);
    assert.notEqual(await figure(first, "maximum"), await figure(second, "maximum"));
    await second.locator("#save").click();
    await second.waitForFunction(() => /^saved/.test(document.getElementById("state").textContent));
    await edit(first, () => field(first, "nozzle", "throat diameter").fill("2.1 mm"));
    await first.locator("#save").click();
    await first.waitForFunction(() => /^NOT saved.*changed since/.test(document.getElementById("state").textContent));
    assert.match(readFileSync(motor, "utf8"), /2\.4 mm/);
    await first.close();
    await second.close();
    copyFileSync(join(examples, "sandpiper-end-burner.json"), motor);
  },

  async "sets a design beside, changes shapes, undoes and redoes"() {
    const page = await open();
    await edit(page, () => page.locator("#keep").click());
    const beside = await designation(page);
    await edit(page, () => field(page, "grains", "shape").selectOption("tube"));
    assert.match(await page.locator("#basis").textContent(), new RegExp(`beside it .*${beside}`));
    assert.ok(await page.locator("#why p").textContent());
    const after = await designation(page);
    assert.notEqual(after, beside);
    await edit(page, () => page.locator("#undo").click());
    assert.equal(await designation(page), beside);
    await edit(page, () => page.locator("#redo").click());
    assert.equal(await designation(page), after);
    await edit(page, () => page.locator("#letgo").click());
    assert.doesNotMatch(await page.locator("#basis").textContent(), /beside/);
    assert.deepEqual(page.faults, []);
    await page.close();
  },

  async "burns many, with progress, and stops when told"() {
    const page = await open();
    await page.locator("#many summary").first().click();
    await page.locator("#many-samples").fill("200");
    await page.locator("#many-start").click();
    await page.waitForFunction(() => /200 of 200/.test(document.getElementById("many-basis").textContent));
    assert.ok(await page.locator("#many-figures tbody tr").count() > 3);
    // Of 200 like samples none or all came: the bound is three in their number, 1.5 % (the rule of three: J. Hanley, A. Lippman-Hand, JAMA 249 (1983) 1743, from memory).
    assert.match(await page.locator("#many-chances").textContent(), /class H \(320 N s\): all of the samples; over 98\.5 %/);
    assert.match(await page.locator("#many-chances").textContent(), /none of the samples; under 1\.5 %/);
    await accessible(page);
    await page.locator("#many-samples").fill("100000");
    await page.locator("#many-start").click();
    await page.locator("#many-progress").waitFor();
    await page.locator("#many-stop").click();
    await page.waitForFunction(() => document.getElementById("many-basis").textContent === "stopped");
    assert.deepEqual(page.faults, []);
    await page.close();
  },

  async "seeks values as the command does, takes them, and stops when told"() {
    const page = await open();
    await page.locator("#seek summary").first().click();
    await page.locator("#seek-add-free").click();
    await page.getByLabel("free value").selectOption("/grains/0/length");
    await page.locator("#seek-free").getByLabel("from").fill("30 mm");
    await page.locator("#seek-free").getByLabel("to", { exact: true }).fill("90 mm");
    await page.locator("#seek-add-wanted").click();
    await page.getByLabel("what is wanted").selectOption("burn_time");
    await page.locator("#seek-wanted").getByLabel("how").selectOption("greatest");
    await page.locator("#seek-add-limit").click();
    await page.getByLabel("what is limited").selectOption("length");
    await page.locator("#seek-limits").getByLabel("value").fill("50");
    await accessible(page);
    await page.locator("#seek-start").click();
    await page.locator("#seek-take").waitFor({ timeout: 60000 });
    const length = page.locator("#seek-found tr", { hasText: "grain 1 length" });
    const shown = (await length.locator("td").first().textContent()).split(" ")[0];
    assert.ok(Number(shown) > 49.9 && Number(shown) <= 50, shown);
    const [download] = await Promise.all([page.waitForEvent("download"), page.locator("#seek-keep").click()]);
    const request = JSON.parse(readFileSync(await download.path(), "utf8"));
    request.motor = motor;
    const path = join(folder, "request.json");
    writeFileSync(path, JSON.stringify(request));
    const sizing = JSON.parse(execFileSync(program, ["size", path, "--json"], { stdio: ["ignore", "pipe", "ignore"] }));
    assert.equal((1000 * sizing.values[0].value).toPrecision(4), shown);
    await accessible(page);
    await edit(page, () => page.locator("#seek-take").click());
    assert.equal(Number((await field(page, "grains", "length").inputValue()).split(" ")[0]).toPrecision(4), shown);
    await page.locator("#seek-limits").getByLabel("value").fill("5 kg");
    await page.locator("#seek-start").click();
    await page.waitForFunction(() => /\/limits\/length/.test(document.getElementById("seek-basis").textContent));
    assert.deepEqual(page.faults, []);
    await page.close();
  },

  async "shows the section as wide as there is room when asked to"() {
    const page = await open(), picture = page.locator("#section-picture"), button = page.locator("#section-large");
    await picture.waitFor();
    const width = async () => (await picture.boundingBox()).width, before = await width();
    await button.focus();
    await page.keyboard.press("Enter");
    assert.equal(await button.textContent(), "smaller");
    assert.ok(await width() > 1.9 * before, `${await width()} after ${before}`);
    await accessible(page);
    await page.keyboard.press("Enter");
    assert.equal(await width(), before);
    assert.deepEqual(page.faults, []);
    await page.close();
  },

  async "puts a shipped propellant in place, so that its values can be changed"() {
    const page = await open();
    const before = await figure(page, "total impulse");
    await edit(page, () => page.getByRole("button", { name: "put it in place, to change it" }).click());
    assert.equal(await figure(page, "total impulse"), before);
    await edit(page, () => field(page, "propellant", "density").fill("1700 kg/m3"));
    assert.notEqual(await figure(page, "total impulse"), before);
    await page.close();
  },

  async "works by keys alone"() {
    const page = await open();
    await page.keyboard.press("/");
    assert.equal(await page.evaluate(() => document.activeElement.id), "find");
    await page.keyboard.type("throat diameter");
    await page.keyboard.press("Enter");
    assert.equal(await page.evaluate(() => document.activeElement.value), "2.0 mm");
    await page.keyboard.press("Tab");
    await edit(page, () => page.keyboard.press("ArrowUp"));
    await page.locator("#plot-thrust .place").focus();
    await page.keyboard.press("End");
    assert.match(await page.locator("#plot-thrust .reading").textContent(), /^at 13\./);
    await page.close();
  },

  // Content Security Policy Level 3, W3C: without 'unsafe-inline' neither a handler nor an element runs.
  async "lets no script in a motor's name run"() {
    const evil = JSON.parse(readFileSync(motor, "utf8"));
    evil.name = '<img src=x onerror="window.hit=1"><script>window.hit=1</script>';
    const path = join(folder, "evil.json");
    writeFileSync(path, JSON.stringify(evil));
    const page = await open();
    await edit(page, () => page.locator("#open").setInputFiles(path));
    assert.equal(await page.locator("#title").textContent(), evil.name);
    assert.equal(await page.evaluate(() => window.hit), undefined);
    // and even where it is put as markup:
    const blocked = await page.evaluate((name) => new Promise((done) => {
      document.addEventListener("securitypolicyviolation", (event) => done(event.effectiveDirective));
      const host = document.getElementById("title");
      host.innerHTML = name;
      const script = document.createElement("script");
      script.textContent = "window.hit = 1";
      host.append(script);
      setTimeout(() => done("nothing"), 3000);
    }), evil.name);
    assert.match(blocked, /^(img|script)-src/);
    await page.waitForTimeout(200);
    assert.equal(await page.evaluate(() => window.hit), undefined);
    await page.close();
  },

  async "takes a bought motor's bare curve"() {
    const page = await open();
    await edit(page, () => page.locator("#open").setInputFiles(join(examples, "curlew-bought.json")));
    assert.match(await page.locator("#basis").textContent(), /from its curve/);
    assert.equal(await page.locator("#section").isVisible(), false);
    await accessible(page);
    assert.deepEqual(page.faults, []);
    await page.close();
  },
};

let failed = 0;
for (const [name, test] of Object.entries(tests)) {
  try {
    await test();
    console.log(`ok      ${name}`);
  } catch (fault) {
    failed++;
    console.log(`FAILED  ${name}\n${fault.stack}`);
  }
}
await browser.close();
const code = await server.stop();
if (code !== 0) { failed++; console.log(`FAILED  it ends well on Ctrl-C: ${code}`); }
rmSync(folder, { recursive: true });
process.exit(failed ? 1 : 0);
