// The lesson: leaves, the race of two grains, sliders. All numbers are the engine's text; the page only chooses which to show.
"use strict";

(() => {
  const find = (id) => document.getElementById(id);
  const load = (id) => JSON.parse(find(`${id}-data`).textContent);
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const time = "time since ignition (s)";

  // ---- leaves: one at a time, by links, buttons and the address ----
  const leaves = [...document.querySelectorAll(".leaf")];
  const links = [...document.querySelectorAll("nav a")];
  const onLeave = [];
  let leaf = 0;
  function turn(to, focus) {
    leaf = Math.max(0, Math.min(leaves.length - 1, to));
    leaves.forEach((one, i) => { one.hidden = i !== leaf; });
    links.forEach((one, i) => (i === leaf ? one.setAttribute("aria-current", "page") : one.removeAttribute("aria-current")));
    find("back").disabled = leaf === 0;
    find("on").disabled = leaf === leaves.length - 1;
    onLeave.forEach((stop) => stop());
    if (focus) { leaves[leaf].querySelector("h2").focus(); scrollTo(0, 0); }
  }
  const byAddress = (focus) => turn(Math.max(0, leaves.findIndex((one) => `#${one.id}` === location.hash)), focus);
  const go = (to) => { if (to >= 0 && to < leaves.length) location.hash = leaves[to].id; };
  addEventListener("hashchange", () => byAddress(true));
  find("back").addEventListener("click", () => go(leaf - 1));
  find("on").addEventListener("click", () => go(leaf + 1));
  addEventListener("keydown", (event) => {
    if (event.target.closest("input, select, summary, [role=slider]") || event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === "PageDown" || event.key === "ArrowRight") { event.preventDefault(); go(leaf + 1); }
    if (event.key === "PageUp" || event.key === "ArrowLeft") { event.preventDefault(); go(leaf - 1); }
  });

  // ---- the race ----
  const race = load("race");
  const shown = slowmatchColumn(race.shown).words;
  const slider = find("race-time"), clock = find("race-clock"), saying = find("saying"), play = find("play");
  const last = race.time.length - 1;
  const runners = race.motors.map((motor, i) => {
    const figure = find(`racer-${i + 1}`);
    const column = (text) => (text ? text.split(" ") : null);
    return { ...motor, figure, thrust: column(motor.thrust), pressure: column(motor.pressure), web: column(motor.web),
      left: figure.querySelector(".left"), front: figure.querySelector(".front"), now: figure.querySelector(".now") };
  });
  const curvesOf = (key) => race.motors.filter((m) => m[key]).map((m) => ({ label: m.name, colour: m.colour, x: race.shown, y: m[key] }));
  const plots = [slowmatchCurves(find("race-thrust"), time, `thrust (${race.force})`, curvesOf("thrust"))];
  if (curvesOf("pressure").length) {
    plots.push(slowmatchCurves(find("race-pressure"), time, `pressure (${race.pressure})`, curvesOf("pressure")));
  } else {
    find("race-pressure").hidden = true;
  }
  let moment = -1;
  function put(index) {
    const now = race.time[index];
    slider.value = String(index);
    const words = `${shown[index]} s`;
    slider.setAttribute("aria-valuetext", words);
    clock.textContent = words;
    for (const r of runners) {
      const parts = [`thrust ${r.thrust[index]} ${race.force}`];
      if (r.pressure) parts.push(`pressure ${r.pressure[index]} ${race.pressure}`);
      if (r.web) parts.push(`front ${r.web[index]} ${race.length} in`);
      r.now.textContent = parts.join(", ");
      if (!r.levels) continue;
      let k = 0;
      while (k + 1 < r.levels.length && r.levels[k + 1].time <= now) k++;
      r.left.setAttribute("d", r.levels[k].left);
      r.front.setAttribute("d", r.levels[k].front);
    }
    plots.forEach((plot) => plot.mark(now));
    let m = 0;
    while (m + 1 < race.moments.length && race.moments[m + 1].time <= now + 1e-9) m++;
    if (m !== moment) saying.textContent = race.moments[m].text;
    moment = m;
  }
  const indexOf = (t) => { let i = 0; while (i < last && race.time[i] < t) i++; return i; };
  let run = null;
  function stop() {
    if (run !== null) cancelAnimationFrame(run);
    run = null;
    play.textContent = "Play";
  }
  function start() {
    let index = Number(slider.value) >= last ? 0 : Number(slider.value);
    let from = race.time[index], began = null, pace = Number(find("pace").value);
    play.textContent = "Pause";
    const step = (stamp) => {
      if (began === null) began = stamp;
      const wanted = Number(find("pace").value);
      if (wanted !== pace) { from += ((stamp - began) / 1000) * pace; began = stamp; pace = wanted; }
      const now = from + ((stamp - began) / 1000) * pace;
      while (index < last && race.time[index + 1] <= now) index++;
      put(index);
      if (index >= last) stop();
      else run = requestAnimationFrame(step);
    };
    run = requestAnimationFrame(step);
  }
  play.addEventListener("click", () => (run === null ? start() : stop()));
  slider.addEventListener("input", () => { stop(); put(Number(slider.value)); });
  find("next-moment").addEventListener("click", () => {
    stop();
    const to = race.moments[(moment + 1) % race.moments.length];
    put(indexOf(to.time));
  });
  // Who asked for less motion steps from moment to moment.
  const settle = () => { play.hidden = calm.matches; find("pace").closest("label").hidden = calm.matches; stop(); };
  calm.addEventListener("change", settle);
  onLeave.push(stop);
  settle();
  put(0);

  // ---- change them ----
  const tries = load("try");
  const sizes = tries.stops.map((one) => one.length);
  const inputs = sizes.map((_, i) => find(`try-${i}`));
  const cells = [...find("try-table").tBodies[0].rows].map((row) => row.cells);
  const tryPlots = {};
  function change() {
    const [bore, length, exponent, throat] = inputs.map((input) => Number(input.value));
    inputs.forEach((input, i) => {
      const words = tries.stops[i][Number(input.value)];
      find(`try-${i}-says`).textContent = words;
      input.setAttribute("aria-valuetext", words);
    });
    const end = (length * sizes[2] + exponent) * sizes[3] + throat, cored = bore * sizes[1] * sizes[2] * sizes[3] + end;
    const pair = [tries.ends[end], tries.cored[cored]];
    pair.forEach((one, column) => one.rows.forEach((text, row) => { cells[row][column + 1].textContent = text; }));
    find("try-words").textContent = tries.words[cored];
    for (const key of ["thrust", "pressure"]) {
      const curves = pair.map((one) => one[key]);
      if (tryPlots[key]) tryPlots[key].set(curves);
      else tryPlots[key] = slowmatchCurves(find(`try-${key}`), time, key === "thrust" ? `thrust (${tries.force})` : `pressure (${tries.pressure})`, curves);
    }
  }
  inputs.forEach((input) => input.addEventListener("input", change));
  change();

  // ---- leaves with one slider ----
  function single(id, cases, show) {
    const input = find(`${id}-slider`);
    const update = () => {
      const one = cases[Number(input.value)];
      find(`${id}-says`).textContent = one.stop;
      input.setAttribute("aria-valuetext", one.stop);
      find(`${id}-words`).textContent = one.words;
      show(one);
    };
    input.addEventListener("input", update);
    update();
  }

  const scale = document.querySelector("svg.scale");
  single("border", load("border").cases, (one) => {
    scale.querySelector(".reach").setAttribute("d", `M${one.low} 4.5H${one.high}`);
    scale.querySelector(".here").setAttribute("d", `M${one.at} 2V13`);
  });

  const heat = load("heat");
  const heatPlots = {};
  single("heat", heat.cases, (one) => {
    for (const key of ["thrust", "pressure"]) {
      const curves = [heat.usual[key], one[key]];
      if (heatPlots[key]) heatPlots[key].set(curves);
      else heatPlots[key] = slowmatchCurves(find(`heat-${key}`), time, key === "thrust" ? `thrust (${heat.force})` : `pressure (${heat.pressure})`, curves);
    }
  });

  const erosion = load("erosion");
  slowmatchCurves(find("erosion-pressure"), time, `pressure (${erosion.pressure})`, erosion.curves);

  byAddress(false);
})();
