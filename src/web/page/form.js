// The form of a motor file, made from the engine's own parameter rows. What is typed goes into the file as it is typed.
"use strict";

function slowmatchElement(tag, properties, ...children) {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(properties || {}))
    if (value === undefined || value === false) continue;
    else if (key in element && key !== "list") element[key] = value;
    else element.setAttribute(key, value === true ? "" : value);
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

// A file as text: what fits on a line stands on one.
function slowmatchWrite(value, indent = "", before = 0) {
  const line = JSON.stringify(value, null, 1).replace(/\n\s*/g, " ").replace(/^\{ /, "{ ");
  if (typeof value !== "object" || value === null || (indent && indent.length + before + line.length <= 110))
    return line;
  const inner = indent + "  ", list = Array.isArray(value);
  const parts = Object.entries(value).map(([key, one]) => {
    const head = list ? "" : JSON.stringify(key) + ": ";
    return inner + head + slowmatchWrite(one, inner, head.length);
  });
  return parts.length === 0 ? line : `${list ? "[" : "{"}\n${parts.join(",\n")}\n${indent}${list ? "]" : "}"}`;
}

// "/grains/0/length" as the form calls it: "grain 1 length".
function slowmatchPlace(pointer) {
  return pointer.replace(/^\/grains\/(\d+)/, (all, i) => `grain ${Number(i) + 1}`).replace(/^\//, "").replaceAll("/", " ")
    .replaceAll("_", " ");
}

/*
 * hooks: { edited(): a value changed, perhaps under a drag; settled(): it is let go; rebuild(): fields come or go;
 *          sliders(lines): asks the engine how far values can be dragged; propellant(name): a shipped one's text }
 * Returned: { fill(doc), mark(problems), find(text), go(pointer), goFound(text), values() }.
 */
function slowmatchForm(host, rows, hooks) {
  const make = slowmatchElement;
  let doc = null, fields = new Map(), count = 0;

  const section = (name) => rows.sections.filter((one) => one.name === name).flatMap((one) => one.rows);
  const summary = (name) => rows.sections.find((one) => one.name === name)?.summary || "";
  const words = (name) => name.replaceAll("_", " ");
  const pointerOf = (path) => path.map((key) => "/" + String(key).replaceAll("~", "~0").replaceAll("/", "~1")).join("");
  const get = (path) => path.reduce((at, key) => (at === undefined || at === null ? undefined : at[key]), doc);

  function put(path, value) {
    let at = doc;
    for (const key of path.slice(0, -1)) at = at[key] ??= {};
    const last = path.at(-1);
    if (value === undefined) delete at[last]; else at[last] = value;
    hooks.edited();
  }

  // A count or a bare number is a number of the file; all else is text with its unit.
  function valueOf(row, text) {
    const bare = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(text.trim());
    if (text.trim() === "") return undefined;
    if (row.kind === "whole" || (row.kind === "quantity" && row.dim === 0))
      return bare ? Number(text) : text.trim();
    return row.kind === "text" ? text : text.trim();
  }

  function hintOf(row) {
    const parts = [];
    if (row.least !== undefined) parts.push(`${row.least} to ${row.most}`);
    if (row.usual !== undefined) parts.push(`${row.usual} if not given`);
    return [row.help, parts.join("; ")].filter(Boolean).join(" · ");
  }

  function shell(row, path, input, extra, long) {
    const pointer = pointerOf(path);
    const hint = make("p", { className: "hint", id: input.id + "-hint" }, hintOf(row));
    const fault = make("p", { className: "fault", id: input.id + "-fault", hidden: true });
    input.setAttribute("aria-describedby", `${hint.id} ${fault.id}`);
    if (long) input.classList.add("long");
    const field = make("div", { className: "field" }, make("label", { htmlFor: input.id }, words(row.name)), input, extra,
      fault, hint);
    fields.set(pointer, { field, input, fault, row, path });
    return field;
  }

  function setSlider(one, answer) {
    const { slider, input } = one;
    slider.hidden = !answer;
    if (!answer) return;
    slider.min = answer.low; slider.max = answer.high; slider.step = answer.step;
    slider.value = answer.at;
    slider.dataset.unit = answer.unit;
    slider.setAttribute("aria-valuetext", input.value);
  }

  const lineOf = ({ row, input }) =>
    `${row.kind === "whole" ? "w" : ""}${row.dim}\t${row.min}\t${row.max}\t${input.value.replace(/[\t\n]/g, " ")}`;

  async function askSliders(list) {
    const all = list.filter((one) => one.slider);
    if (all.length === 0) return;
    const answers = await hooks.sliders(all.map(lineOf).join("\n"));
    all.forEach((one, i) => setSlider(one, answers[i]));
  }

  function quantity(row, path) {
    const value = get(path);
    const id = `f${++count}`;
    const input = make("input", { type: "text", id, value: value === undefined ? "" : String(value), spellcheck: false,
      inputMode: "text", placeholder: row.required ? row.example : row.usual ?? "not given" });
    const slider = make("input", { type: "range", hidden: true, "aria-label": `drag ${words(row.name)}` });
    const field = shell(row, path, input, slider);
    const one = Object.assign(fields.get(pointerOf(path)), { slider });
    input.addEventListener("input", () => put(path, valueOf(row, input.value)));
    input.addEventListener("change", () => { askSliders([one]); hooks.settled(); });
    slider.addEventListener("input", () => {
      input.value = slider.value + (slider.dataset.unit ? " " + slider.dataset.unit : "");
      slider.setAttribute("aria-valuetext", input.value);
      put(path, valueOf(row, input.value));
    });
    slider.addEventListener("change", () => { askSliders([one]); hooks.settled(); });
    return field;
  }

  function choice(row, path, options) {
    const value = get(path);
    const select = make("select", { id: `f${++count}` });
    const none = row.usual !== undefined ? `usual: ${row.usual}` : row.required ? "choose" : "not given";
    select.append(make("option", { value: "" }, none), ...options.map((word) => make("option", { value: word }, word)));
    select.value = value === undefined ? "" : row.kind === "flag" ? (value ? "yes" : "no") : String(value);
    select.addEventListener("change", () => {
      put(path, select.value === "" ? undefined : row.kind === "flag" ? select.value === "yes" : select.value);
      hooks.settled();
    });
    return shell(row, path, select, null, true);
  }

  function choices(row, path, options, usual) {
    const given = get(path), chosen = new Set(Array.isArray(given) ? given : usual);
    const group = make("div", { className: "ticks", id: `f${++count}`, role: "group", "aria-label": words(row.name) });
    for (const word of options) {
      const box = make("input", { type: "checkbox", checked: chosen.has(word) });
      box.addEventListener("change", () => {
        if (box.checked) chosen.add(word); else chosen.delete(word);
        put(path, options.filter((one) => chosen.has(one)));
        hooks.settled();
      });
      group.append(make("label", {}, box, " " + word));
    }
    const field = shell(row, path, group, null, true);
    field.firstChild.replaceWith(make("span", { className: "label" }, words(row.name)));
    return field;
  }

  function text(row, path) {
    const value = get(path);
    if (typeof value === "object" && value !== null)
      return make("p", { className: "note" }, `${words(row.name)}: given in full; change it in the file as text, below`);
    const input = make("input", { type: "text", id: `f${++count}`, value: value === undefined ? "" : String(value),
      placeholder: "not given" });
    input.addEventListener("input", () => put(path, valueOf(row, input.value)));
    input.addEventListener("change", hooks.settled);
    return shell(row, path, input, null, true);
  }

  function list(row, path) {
    const value = get(path);
    const set = make("fieldset", {}, make("legend", {}, words(row.name)), make("p", { className: "note" }, row.help));
    const entries = Array.isArray(value) ? value : [];
    entries.forEach((entry, i) => {
      const remove = button("remove", () => { entries.splice(i, 1); if (entries.length === 0) put(path, undefined); });
      set.append(make("fieldset", {}, make("legend", {}, `${words(row.name)} ${i + 1}`), ...group([...path, i], row.rows),
        make("div", { className: "actions" }, remove)));
    });
    set.append(make("div", { className: "actions" }, button(`add to ${words(row.name)}`, () => put(path, [...entries, {}]))));
    return set;
  }

  function record(row, path) {
    return make("fieldset", {}, make("legend", {}, words(row.name)), make("p", { className: "note" }, row.help),
      ...group(path, row.rows));
  }

  function button(label, act) {
    const one = make("button", { type: "button" }, label);
    one.addEventListener("click", () => { act(); hooks.edited(); hooks.settled(); hooks.rebuild(); });
    return one;
  }

  function item(row, path, shape) {
    switch (row.kind) {
      case "quantity": case "whole": {
        const value = get(path);
        return typeof value === "object" && value !== null ? text(row, path) : quantity(row, path);
      }
      case "flag": return choice(row, path, ["yes", "no"]);
      case "choice": return choice(row, path, row.words);
      case "choices": return choices(row, path, shape ? shape.faces : row.words, shape ? shape.burning : []);
      case "list": return list(row, path);
      case "record": return record(row, path);
      default: return text(row, path);
    }
  }

  // What is given or must be stands open; the rest is folded away.
  function group(path, list, shape) {
    const open = [], folded = [];
    for (const row of list) {
      const at = [...path, row.name];
      (get(at) !== undefined || row.required ? open : folded).push(item(row, at, shape));
    }
    if (folded.length > 0)
      open.push(make("details", { className: "more" }, make("summary", {}, `not given: ${folded.length}`), ...folded));
    return open;
  }

  function part(name, list, children) {
    return make("fieldset", { id: `part-${name}` }, make("legend", {}, words(name)),
      make("p", { className: "hint note" }, summary(name)), ...(children || group([name], list)));
  }

  function propellant() {
    const value = get(["propellant"]);
    const names = rows.propellants.map((one) => one.name);
    const select = make("select", { id: `f${++count}` });
    const row = { name: "taken from", help: "a propellant that is shipped, or one in place, all of whose values can be changed" };
    const inPlace = typeof value === "object" && value !== null;
    if (typeof value === "string" && !names.includes(value)) names.push(value);
    select.append(...(inPlace ? [make("option", { value: "" }, `in place: ${value.name ?? "no name"}`)] : []),
      ...names.map((name) => make("option", { value: name }, name)));
    select.value = inPlace ? "" : value ?? "";
    select.addEventListener("change", () => { put(["propellant"], select.value); hooks.settled(); hooks.rebuild(); });
    const children = [shell(row, ["propellant"], select, null, true)];
    if (inPlace) children.push(...group(["propellant"], section("propellant")));
    else {
      const copy = make("button", { type: "button" }, "put it in place, to change it");
      copy.addEventListener("click", async () => {
        const text = await hooks.propellant(select.value);
        if (text) { put(["propellant"], JSON.parse(text)); hooks.settled(); hooks.rebuild(); }
      });
      const info = rows.propellants.find((one) => one.name === value);
      children.push(make("p", { className: "note" }, info ? `${info.standing}: ${info.source}` : "a file beside this one"),
        make("div", { className: "actions" }, ...(info ? [copy] : [])));
    }
    return part("propellant", null, children);
  }

  function grain(entry, i, entries) {
    const shape = rows.shapes.find((one) => one.name === entry.shape);
    const select = make("select", { id: `f${++count}` },
      ...rows.shapes.map((one) => make("option", { value: one.name }, one.name)));
    select.value = entry.shape ?? "";
    select.addEventListener("change", () => {
      const fresh = JSON.parse(rows.shapes.find((one) => one.name === select.value).example);
      for (const key of ["outer_diameter", "length", "count", "spacing"]) if (key in entry && key in fresh) fresh[key] = entry[key];
      entries[i] = fresh;
      hooks.edited(); hooks.settled(); hooks.rebuild();
    });
    const row = { name: "shape", help: shape ? shape.summary : "" };
    const own = shape ? shape.rows : [];
    const common = [...rows.grain, ...section("grains")].filter((one, k, all) =>
      one.name !== "shape" && !own.includes(one) && all.findIndex((other) => other.name === one.name) === k);
    const swap = (a, b) => { [entries[a], entries[b]] = [entries[b], entries[a]]; };
    const actions = [button("copy", () => entries.splice(i + 1, 0, structuredClone(entry)))];
    if (i > 0) actions.push(button("towards the head", () => swap(i, i - 1)));
    if (entries.length > 1) actions.push(button("remove", () => entries.splice(i, 1)));
    return make("fieldset", {}, make("legend", {}, `grain ${i + 1}`), shell(row, ["grains", i, "shape"], select, null, true),
      ...group(["grains", i], [...own, ...common], shape), make("div", { className: "actions" }, ...actions));
  }

  function grains() {
    const entries = Array.isArray(doc.grains) ? doc.grains : (doc.grains = []);
    const add = button("add a grain", () => entries.push(structuredClone(entries.at(-1) ?? JSON.parse(rows.shapes[0].example))));
    return part("grains", null, [...entries.map(grain), make("div", { className: "actions" }, add)]);
  }

  function fill(next) {
    const opened = new Set([...host.querySelectorAll("details")].map((one, i) => (one.open ? i : -1)));
    const focus = fields.size > 0 && [...fields.entries()].find(([, one]) => one.input === document.activeElement)?.[0];
    doc = next; fields = new Map(); count = 0;
    const about = [text({ name: "name", kind: "text", help: "what it is called" }, ["name"]),
      text({ name: "note", kind: "text", help: "whatever is worth saying" }, ["note"])];
    const parts = doc.curve
      ? [part("curve", section("curve")), part("conditions", section("conditions"))]
      : [propellant(), part("case", section("case")), grains(),
        ...["nozzle", "ignition", "conditions", "hardware"].map((name) => part(name, section(name)))];
    host.replaceChildren(...about, ...parts);
    [...host.querySelectorAll("details")].forEach((one, i) => { one.open = opened.has(i); });
    if (focus) fields.get(focus)?.input.focus();
    askSliders([...fields.values()]);
  }

  // The field that a pointer leads to, or the nearest around it.
  function nearest(pointer) {
    for (let at = pointer; at; at = at.slice(0, at.lastIndexOf("/"))) if (fields.has(at)) return fields.get(at);
    return null;
  }

  function mark(problems) {
    for (const one of fields.values()) {
      one.fault.hidden = true; one.fault.textContent = ""; one.input.removeAttribute("aria-invalid");
    }
    for (const problem of problems) {
      const one = nearest(problem.pointer);
      if (!one) continue;
      one.fault.hidden = false; one.fault.textContent = problem.text;
      one.input.setAttribute("aria-invalid", "true");
    }
  }

  function go(pointer) {
    const one = nearest(pointer);
    if (!one) return false;
    for (let at = one.field.parentElement; at; at = at.parentElement) if (at.tagName === "DETAILS") at.open = true;
    one.input.focus();
    one.field.scrollIntoView({ block: "center" });
    return true;
  }

  function find(text) {
    const wanted = text.trim().toLowerCase();
    for (const [pointer, one] of fields) {
      const found = words(pointer).toLowerCase().includes(wanted) || (one.row.help || "").toLowerCase().includes(wanted);
      one.field.hidden = wanted !== "" && !found;
      if (wanted !== "" && found) for (let at = one.field.parentElement; at && at !== host; at = at.parentElement)
        if (at.tagName === "DETAILS") at.open = true;
    }
  }

  // To the first value that is found, not only mentioned in another's help.
  function goFound(text) {
    const wanted = text.trim().toLowerCase();
    const pointers = [...fields.keys()];
    const best = pointers.find((one) => words(one).toLowerCase().includes(wanted)) ?? pointers.find((one) => !fields.get(one).field.hidden);
    if (wanted && best !== undefined) go(best);
  }

  // What could be sought: every number that the file gives, and what its bounds and unit are.
  function values() {
    return [...fields].filter(([, one]) => one.slider && one.input.value.trim() !== "").map(([pointer, one]) => ({ pointer,
      label: slowmatchPlace(pointer), low: one.slider.min, high: one.slider.max, unit: one.slider.dataset.unit }));
  }

  return { fill, mark, find, go, goFound, values };
}
