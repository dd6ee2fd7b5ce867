// The workbench. The engine reckons; this page asks, and shows its text.
"use strict";

(async () => {
  const make = slowmatchElement;
  const $ = (id) => document.getElementById(id);
  const bench = { doc: null, name: null, hash: "", beside: null, past: [], future: [], settled: "", stem: "motor" };

  // ---- asking ----

  function address(path, query) {
    const words = new URLSearchParams({ units: $("units").value, ...query });
    return `${path}?${words}`;
  }

  async function ask(path, query, body, signal) {
    try {
      const answer = await fetch(address(path, query), body === undefined ? { signal } : { method: "POST", body, signal });
      if (!answer.ok) return { problems: [{ text: (await answer.text()).trim(), pointer: "" }] };
      return answer;
    } catch (fault) {
      if (fault.name === "AbortError") return { problems: [] };
      return { problems: [{ text: "the workbench does not answer: was it stopped?", pointer: "" }] };
    }
  }

  async function askJson(path, query, body) {
    const answer = await ask(path, query, body);
    return answer instanceof Response ? answer.json() : answer;
  }

  const fileText = () => slowmatchWrite(bench.doc) + "\n";
  const say = (text) => { $("state").textContent = text; };

  // ---- plots ----

  const plots = new Map();
  function draw(host, spec) {
    const old = plots.get(host);
    const place = host.querySelector(".place"), had = document.activeElement === place;
    const fresh = place.cloneNode(false);
    place.replaceWith(fresh);
    if (old) old.plot.destroy();
    plots.set(host, slowmatchPlot(host, spec));
    if (had) fresh.focus();
  }
  const columnOf = (time) => ({ words: slowmatchColumn(time.shown).words, numbers: time.values });

  // ---- what a design makes ----

  function cell(tag, text, className) {
    return make(tag, { className: className || "" }, text ?? "");
  }

  function showFigures(reply) {
    const two = Boolean(reply.besideName);
    const head = make("tr", {}, cell("th", ""), cell("th", two ? "this" : ""), ...(two ? [cell("th", "beside")] : []),
      cell("th", "one sigma"), cell("th", ""));
    for (const one of head.cells) if (one.textContent) one.scope = "col"; else one.replaceWith(make("td"));
    $("figures").tHead.replaceChildren(head);
    const list = [];
    for (const figure of reply.figures) {
      if (figure.group) list.push(make("tr", { className: "group" },
        make("th", { scope: "rowgroup", colSpan: two ? 5 : 4 }, figure.group)));
      list.push(make("tr", {}, make("th", { scope: "row" }, figure.label), cell("td", figure.text, "number"),
        ...(two ? [cell("td", figure.beside, "number")] : []), cell("td", figure.sigma, "number"),
        cell("td", figure.note, "muted")));
    }
    $("figures").tBodies[0].replaceChildren(...list);
  }

  function showWarnings(reply) {
    const list = reply.warnings.map((one) => {
      const go = make("button", { type: "button", className: "pointer" }, "to the value");
      go.addEventListener("click", () => form.go(one.pointer));
      return make("div", { className: "warning" }, one.text + " ", make("code", {}, one.code), " ", ...(one.pointer ? [go] : []));
    });
    $("warnings").replaceChildren(...(list.length ? list : [make("p", { className: "muted" }, "none")]));
  }

  // The section comes behind the curves; only the newest is asked for.
  let pictureAt = null, drawing = false, wanted = null;
  async function showSection(text, name) {
    wanted = { text, name };
    if (drawing) return;
    drawing = true;
    while (wanted) {
      const now = wanted;
      wanted = null;
      const answer = await ask("section", {}, now.text);
      if (!(answer instanceof Response) || answer.headers.get("Content-Type") !== "image/svg+xml") continue;
      const picture = $("section-picture"), next = URL.createObjectURL(await answer.blob()), last = pictureAt;
      pictureAt = next;
      picture.addEventListener("load", () => { if (last) URL.revokeObjectURL(last); }, { once: true });
      picture.alt = `the grains of ${now.name}, drawn to scale, with the burning surface at equal times`;
      picture.src = next;
      picture.hidden = false;
    }
    drawing = false;
  }

  function showCurves(reply) {
    const x = columnOf(reply.time);
    for (const panel of reply.panels) {
      const host = $(`plot-${panel.id}`);
      host.hidden = panel.series.length === 0;
      if (host.hidden) continue;
      const series = panel.series.map((one) => ({ label: one.label, colour: one.colour, column: slowmatchColumn(one.shown) }));
      draw(host, { x, xUnit: "s", xLabel: "time since ignition (s)", yLabel: panel.axis, unit: panel.unit, series, group: "run" });
    }
  }

  function showTrial(reply) {
    bench.stem = reply.name;
    $("title").textContent = reply.name;
    document.title = `${reply.name}: Slowmatch workbench`;
    $("designation").textContent = reply.designation;
    $("class").textContent = reply.class;
    $("basis").textContent = reply.besideName
      ? `${reply.basis}; beside it ${reply.besideName}, ${reply.besideDesignation}, in grey` : reply.basis;
    $("why").hidden = !reply.why;
    $("why").querySelector("p").textContent = reply.why || "";
    $("guidance-list").replaceChildren(...reply.guidance.map((line) => make("li", {}, line)));
    showCurves(reply);
    $("section").hidden = !reply.hasGrains;
    showFigures(reply);
    showWarnings(reply);
  }

  let calm = 0;
  const notYet = "not a motor yet: what is shown is from the last values that worked";
  function showProblems(problems) {
    $("faults").replaceChildren(...problems.map((one) =>
      make("p", {}, `${one.text}${one.pointer ? ` [${one.pointer}]` : ""}`)));
    $("outcome").classList.toggle("stale", problems.length > 0);
    form.mark(problems);
    if (problems.length > 0) {
      clearTimeout(calm); // of values before these, that made a motor
      say($("designation").textContent === "…" ? "not a motor yet" : notYet);
    } else if ($("state").textContent.startsWith("not a motor yet")) say("");
  }

  function sayCalmly(reply) { // a screen reader hears of the end of a drag, not of each step
    clearTimeout(calm);
    calm = setTimeout(() => {
      const n = reply.warnings.length;
      say(`${reply.designation}, ${n === 0 ? "no warnings" : n === 1 ? "1 warning" : `${n} warnings`}`);
    }, 600);
  }

  // One question at a time: what is edited meanwhile is asked next.
  let busy = false, waiting = false, editedAt = 0;
  async function trial() {
    waiting = true;
    if (busy) return;
    busy = true;
    while (waiting) {
      waiting = false;
      const since = editedAt;
      const text = fileText();
      const reply = await askJson("trial", { model: $("model").value }, text + (bench.beside ? "\0" + bench.beside : ""));
      showProblems(reply.problems || []);
      if (!reply.problems) {
        showTrial(reply);
        if (reply.hasGrains) showSection(text, reply.name);
        sayCalmly(reply);
        $("speed").textContent = `the engine took ${reply.engineMicroseconds} µs for this, ${reply.burnMicroseconds} of them to burn`;
      }
      document.dispatchEvent(new CustomEvent("slowmatch:shown", { detail: { since, shown: performance.now(), reply } }));
    }
    busy = false;
  }

  // ---- the file ----

  function buttons() {
    $("undo").disabled = bench.past.length === 0;
    $("redo").disabled = bench.future.length === 0;
    $("letgo").hidden = bench.beside === null;
    $("save").disabled = bench.name === null;
    $("save").title = bench.name === null ? "no file was named at the start: download instead" : `to ${bench.name}`;
  }

  function settle() {
    const text = fileText();
    if (text === bench.settled) return;
    if (bench.settled) bench.past.push(bench.settled);
    bench.settled = text;
    bench.future = [];
    if (bench.past.length > 500) bench.past.shift();
    if ($("as-text").open) $("text").value = text;
    buttons();
  }

  function take(text) { // a file's text as the design at hand
    let doc;
    try { doc = JSON.parse(text); } catch (fault) { doc = undefined; }
    if (typeof doc !== "object" || doc === null || Array.isArray(doc)) {
      // the engine says what is wrong, and where
      askJson("trial", {}, text).then((reply) => showProblems(reply.problems || [{ text: "this is no motor file", pointer: "" }]));
      return false;
    }
    bench.doc = doc;
    form.fill(doc);
    settle();
    if ($("as-text").open) $("text").value = bench.settled;
    trial();
    return true;
  }

  function step(from, to) {
    if (from.length === 0) return;
    to.push(bench.settled);
    bench.settled = from.pop();
    bench.doc = JSON.parse(bench.settled);
    form.fill(bench.doc);
    if ($("as-text").open) $("text").value = bench.settled;
    buttons();
    trial();
  }

  function keepAs(name, blob) {
    const link = make("a", { href: URL.createObjectURL(blob), download: name });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  }

  async function save() {
    if (bench.name === null) return;
    const reply = await askJson("save", { hash: bench.hash }, fileText());
    if (reply.problems) {
      showProblems(reply.problems);
      return say(`NOT saved: ${reply.problems.map((one) => one.text).join("; ")}`);
    }
    bench.hash = reply.hash;
    clearTimeout(calm);
    say(`saved to ${reply.saved}; what was there is now ${reply.backup}`);
  }

  function download() {
    const name = bench.name || `${bench.stem.replace(/[^A-Za-z0-9]+/g, "-").toLowerCase()}.json`;
    keepAs(name, new Blob([fileText()], { type: "application/json" }));
  }

  // ---- many burns ----

  let stopMany = null;
  function showMany(reply) {
    $("many-basis").textContent = reply.basis + (reply.impossible > 0 ? `; ${reply.impossible} could not be, or had no answer` : "");
    $("many-result").hidden = false;
    const x = columnOf(reply.time);
    for (const host of [$("many-thrust"), $("many-pressure")]) host.hidden = true;
    for (const band of reply.bands) {
      const host = $(`many-${band.id}`);
      if (!host) continue;
      host.hidden = false;
      draw(host, { x, xUnit: "s", xLabel: "time since ignition (s)", yLabel: band.axis, unit: band.unit, group: "many",
        series: [{ label: "median", colour: 1, column: slowmatchColumn(band.middle),
          band: { low: slowmatchColumn(band.low), high: slowmatchColumn(band.high) } }] });
    }
    $("many-figures").tHead.replaceChildren(make("tr", {}, make("td"),
      ...reply.percent.map((one) => make("th", { scope: "col" }, one))));
    $("many-figures").tBodies[0].replaceChildren(...reply.figures.map((one) => make("tr", {},
      make("th", { scope: "row" }, one.name.replaceAll("_", " ")), ...one.levels.map((text) => cell("td", text, "number")))));
    $("many-chances").replaceChildren(
      ...reply.classes.map((text) => make("li", {}, `class ${text}`)),
      ...reply.pressures.map((text) => make("li", {}, `pressure above ${text}`)));
  }

  // Lines of per cent, then one line of JSON.
  async function follow(answer, progress) {
    const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
    let text = "";
    for (;;) {
      const { done, value } = await reader.read();
      text += value || "";
      for (let end = text.indexOf("\n"); end >= 0 && text[0] !== "{"; end = text.indexOf("\n")) {
        progress.value = Number(text.slice(0, end));
        text = text.slice(end + 1);
      }
      if (done) return JSON.parse(text);
    }
  }

  async function many(event) {
    event.preventDefault();
    if (stopMany) return;
    stopMany = new AbortController();
    $("many-stop").disabled = false; $("many-start").disabled = true;
    $("many-progress").hidden = false; $("many-progress").value = 0;
    $("many-basis").textContent = "burning";
    try {
      const answer = await ask("spread", { samples: $("many-samples").value, seed: $("many-seed").value }, fileText(), stopMany.signal);
      const reply = answer instanceof Response ? await follow(answer, $("many-progress")) : answer;
      if (reply.problems) $("many-basis").textContent = reply.problems.map((one) => one.text).join("; ") || "stopped";
      else showMany(reply);
    } catch (fault) {
      $("many-basis").textContent = fault.name === "AbortError" ? "stopped" : "the workbench does not answer: was it stopped?";
    }
    stopMany = null;
    $("many-stop").disabled = true; $("many-start").disabled = false; $("many-progress").hidden = true;
  }

  // ---- seeking values ----

  const seek = slowmatchSeek({
    figures: () => rows.figures,
    values: () => form.values(),
    stem: () => bench.stem,
    keepAs,
    take,
    async run(request, seed, progress, signal) {
      const answer = await ask("size", { seed }, fileText() + "\0" + request, signal);
      return answer instanceof Response ? follow(answer, progress) : answer;
    },
  });

  // ---- handing over ----

  const pictures = [
    { name: "report", summary: "a page of one file with plots, tables and a flight card to print", companion: null },
    { name: "plot", summary: "thrust and pressure as SVG", companion: null },
    { name: "section", summary: "the grains to scale as SVG", companion: null },
  ];
  const chosen = () => [...pictures, ...rows.forms].find((one) => one.name === $("hand-form-name").value);

  function handWords() {
    const one = chosen();
    $("hand-words").textContent = one.summary;
    $("hand-companion").hidden = !one.companion;
    $("hand-template-label").hidden = one.name !== "template";
    $("hand-fixed-label").hidden = one.name !== "c-header";
  }

  async function hand(which) {
    const one = chosen();
    const query = { form: one.name, model: $("model").value, points: $("hand-points").value, part: which,
      fixed: one.name === "c-header" && $("hand-fixed").checked ? "yes" : "no" };
    let body = fileText();
    if (one.name === "template") {
      const file = $("hand-template").files[0];
      if (!file) { $("hand-state").textContent = "choose a template first"; return; }
      body += "\0" + await file.text();
    }
    const answer = await ask("export", query, body);
    const reply = !(answer instanceof Response) ? answer
      : answer.headers.get("Content-Type") === "application/json" ? await answer.json() : null;
    if (reply) { $("hand-state").textContent = reply.problems.map((problem) => problem.text).join("; "); return; }
    const name = /filename="([^"]*)"/.exec(answer.headers.get("Content-Disposition"))[1];
    keepAs(name, await answer.blob());
    $("hand-state").textContent = `handed over as ${name}`;
  }

  // ---- wiring ----

  let rows = await askJson("rows", {});
  if (rows.problems) return say(rows.problems[0].text);
  const hooks = {
    edited() { editedAt = performance.now(); trial(); },
    settled: settle,
    rebuild() { form.fill(bench.doc); },
    async sliders(lines) {
      const answer = await askJson("sliders", {}, lines);
      return Array.isArray(answer) ? answer : [];
    },
    async propellant(name) {
      const answer = await askJson("propellant", { name });
      if (answer.problems) { showProblems(answer.problems); return null; }
      return answer.text;
    },
  };
  let form = slowmatchForm($("form"), rows, hooks);

  $("form").addEventListener("submit", (event) => event.preventDefault());
  $("find").addEventListener("input", () => form.find($("find").value));
  $("section-large").addEventListener("click", () => {
    const isLarge = $("section").classList.toggle("large");
    $("section-large").textContent = isLarge ? "smaller" : "larger";
  });
  $("find").addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); form.goFound($("find").value); } });
  $("open").addEventListener("change", async () => {
    const file = $("open").files[0];
    if (!file) return;
    if (take(await file.text()) && file.name !== bench.name) { bench.name = null; bench.hash = ""; buttons(); }
    $("open").value = "";
  });
  $("save").addEventListener("click", save);
  $("download").addEventListener("click", download);
  $("undo").addEventListener("click", () => step(bench.past, bench.future));
  $("redo").addEventListener("click", () => step(bench.future, bench.past));
  $("keep").addEventListener("click", () => { bench.beside = fileText(); buttons(); trial(); });
  $("letgo").addEventListener("click", () => { bench.beside = null; buttons(); $("keep").focus(); trial(); });
  $("model").addEventListener("change", trial);
  $("units").addEventListener("change", async () => {
    const next = await askJson("rows", {});
    if (!next.problems) { rows = next; form = slowmatchForm($("form"), rows, hooks); form.fill(bench.doc); }
    trial();
  });
  $("as-text").addEventListener("toggle", () => { if ($("as-text").open) $("text").value = fileText(); });
  $("take").addEventListener("click", () => take($("text").value));
  $("many-form").addEventListener("submit", many);
  $("many-stop").addEventListener("click", () => stopMany?.abort());
  $("hand-form-name").append(...[...pictures, ...rows.forms].map((one) => make("option", { value: one.name }, one.name)));
  $("hand-form-name").addEventListener("change", handWords);
  $("hand-form").addEventListener("submit", (event) => { event.preventDefault(); hand("file"); });
  $("hand-companion").addEventListener("click", () => hand("companion"));
  handWords();

  document.addEventListener("keydown", (event) => {
    const line = event.target.matches("textarea, input:not([type=range]):not([type=checkbox])");
    const control = event.ctrlKey || event.metaKey, key = event.key.toLowerCase();
    if (event.key === "Escape" && (stopMany || seek.isBusy())) { stopMany?.abort(); seek.stop(); }
    else if (control && key === "s") { event.preventDefault(); if (bench.name !== null) save(); else download(); }
    else if (control && key === "z" && !line) { event.preventDefault(); if (event.shiftKey) $("redo").click(); else $("undo").click(); }
    else if (control && key === "y" && !line) { event.preventDefault(); $("redo").click(); }
    else if (event.key === "/" && !line && !event.target.matches("select")) { event.preventDefault(); $("find").focus(); }
  });

  const file = await askJson("file", {});
  if (file.problems) { showProblems(file.problems); buttons(); return; }
  bench.name = file.name;
  bench.hash = file.hash;
  if (!take(file.text)) {
    $("as-text").open = true;
    $("text").value = file.text;
  }
  buttons();
})();
