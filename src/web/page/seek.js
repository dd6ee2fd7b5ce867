// Values sought: what is free, wanted and kept becomes a request, as the command takes it; the engine searches.
"use strict";

/*
 * hooks: { figures(): the engine's list; values(): numbers of the design that could be free; run(request, seed, progress, signal);
 *          take(text): a file as the design at hand; keepAs(name, blob): a download; stem(): the design's name }
 * Returned: { stop(), isBusy() }.
 */
function slowmatchSeek(hooks) {
  const make = slowmatchElement;
  const $ = (id) => document.getElementById(`seek-${id}`);
  const words = (name) => name.replaceAll("_", " ");
  let stopper = null, found = null;

  // ---- lines of the form ----

  function choose(label, options) {
    const select = make("select", { "aria-label": label });
    select.append(...options.map(([value, text]) => make("option", { value }, text)));
    return select;
  }
  const box = (label, value) => make("input", { type: "text", "aria-label": label, value, size: 9, spellcheck: false });

  // Closes with the focus on the button that would add another.
  function line(host, adder, parts) {
    const remove = make("button", { type: "button" }, "remove");
    const one = make("div", { className: "actions" }, ...parts, remove);
    remove.addEventListener("click", () => { one.remove(); adder.focus(); });
    host.append(one);
    return one;
  }

  function addFree() {
    const list = hooks.values();
    if (list.length === 0) return null;
    const of = choose("free value", list.map((one) => [one.pointer, one.label]));
    const from = box("from", ""), to = box("to", "");
    const fill = () => {
      const one = list.find((other) => other.pointer === of.value);
      const unit = one.unit ? " " + one.unit : "";
      from.value = one.low + unit; to.value = one.high + unit;
    };
    of.addEventListener("change", fill);
    const next = list.find((one) => ![...$("free").querySelectorAll("select")].some((other) => other.value === one.pointer));
    if (next) of.value = next.pointer;
    fill();
    line($("free"), $("add-free"), [of, " from ", from, " to ", to]);
    return of;
  }

  const figureChoice = (label, more) =>
    choose(label, [...hooks.figures().map((one) => [one.name, words(one.name)]), ...more]);
  const hint = (name) => {
    const one = hooks.figures().find((other) => other.name === name);
    return one?.unit ? `in ${one.unit}` : "";
  };

  function addFigure(host, adder, label, aims, more) {
    const of = figureChoice(label, more), aim = choose("how", aims), value = box("value", "");
    const fit = () => {
      const free = aim.value === "least" && aims[0][0] === "value" || aim.value === "greatest";
      const one = hooks.figures().find((other) => other.name === of.value);
      of.title = one ? one.help : "";
      aim.hidden = !one;
      value.hidden = free && Boolean(one);
      value.placeholder = one ? hint(of.value) : "a letter, as H";
    };
    for (const select of [of, aim]) select.addEventListener("change", fit);
    fit();
    line(host, adder, [of, " ", aim, " ", value]);
    return of;
  }
  const addWanted = () => addFigure($("wanted"), $("add-wanted"), "what is wanted",
    [["value", "as near as can be to"], ["least", "as small as can be"], ["greatest", "as great as can be"]], []);
  const addLimit = () => addFigure($("limits"), $("add-limit"), "what is limited",
    [["most", "at most"], ["least", "at least"]], [["class", "class"]]);

  // ---- the request ----

  const numberOr = (text) => (/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(text.trim()) ? Number(text) : text.trim());

  // A bare number has the unit that is shown; a figure without a unit stays a number.
  function measure(name, text) {
    const value = numberOr(text), unit = hooks.figures().find((one) => one.name === name)?.unit;
    return typeof value === "number" && unit ? `${value} ${unit}` : value;
  }

  function request() {
    const rows = (id) => [...$(id).children].map((one) => [...one.querySelectorAll("select, input")].map((part) => part.value));
    const out = { format: "slowmatch-request/1", name: `${hooks.stem()}, sought`, motor: `${fileStem()}.json`,
      free: rows("free").map(([of, from, to]) => ({ of, from: numberOr(from), to: numberOr(to) })), wanted: {}, limits: {} };
    for (const [of, aim, text] of rows("wanted"))
      out.wanted[of] = aim === "value" ? { value: measure(of, text) } : { aim };
    for (const [of, aim, text] of rows("limits"))
      if (of === "class") out.limits.class = text.trim();
      else out.limits[of] = { ...out.limits[of], [aim]: measure(of, text) };
    return slowmatchWrite(out) + "\n";
  }
  const fileStem = () => hooks.stem().replace(/[^A-Za-z0-9]+/g, "-").toLowerCase();

  // ---- what is found ----

  function show(reply) {
    found = reply.motor;
    const cells = (one) => make("tr", {}, make("th", { scope: "row" }, slowmatchPlace(one.of)),
      make("td", { className: "number" }, one.got), make("td", { className: "muted" }, one.note));
    const group = (name, list) => (list.length === 0 ? [] : [make("tr", { className: "group" },
      make("th", { scope: "rowgroup", colSpan: 3 }, name)), ...list.map(cells)]);
    $("found").tBodies[0].replaceChildren(...group("free values", reply.values), ...group("wanted", reply.wanted),
      ...group("limits", reply.limits));
    $("cautions").replaceChildren(...reply.cautions.map((text) => make("p", { className: "note" }, text)));
    $("basis").textContent = reply.basis;
    $("result").hidden = false;
  }

  async function start(event) {
    event.preventDefault();
    if (stopper) return;
    stopper = new AbortController();
    $("stop").disabled = false; $("start").disabled = true;
    $("progress").hidden = false; $("progress").value = 0;
    $("result").hidden = true;
    $("basis").textContent = "seeking";
    try {
      const reply = await hooks.run(request(), $("seed").value, $("progress"), stopper.signal);
      if (!reply.problems) show(reply);
      else $("basis").textContent = reply.problems.map((one) => one.text + (one.pointer ? ` [${one.pointer}]` : "")).join("; ") || "stopped";
    } catch (fault) {
      $("basis").textContent = fault.name === "AbortError" ? "stopped" : "the workbench does not answer: was it stopped?";
    }
    stopper = null;
    $("stop").disabled = true; $("start").disabled = false; $("progress").hidden = true;
  }

  $("add-free").addEventListener("click", () => addFree()?.focus());
  $("add-wanted").addEventListener("click", () => addWanted().focus());
  $("add-limit").addEventListener("click", () => addLimit().focus());
  $("form").addEventListener("submit", start);
  $("stop").addEventListener("click", () => stopper?.abort());
  $("keep").addEventListener("click", () =>
    hooks.keepAs(`${fileStem()}-request.json`, new Blob([request()], { type: "application/json" })));
  $("take").addEventListener("click", () => { if (hooks.take(found)) $("basis").textContent = "taken; undo brings back what was"; });
  return { stop: () => stopper?.abort(), isBusy: () => stopper !== null };
}
