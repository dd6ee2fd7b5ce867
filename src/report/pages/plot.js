// Our plots over uPlot: the grammar of the drawn ones. Values come as text that the engine made, and are shown as that text.
"use strict";

const slowmatchAccents = ["#6e6e6e", "#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9", "#000000"];
// The same dark enough for text on white (4.5 to 1).
const slowmatchInks = ["#6e6e6e", "#0072b2", "#a84a00", "#00704f", "#97507a", "#8a5f00", "#2b72a0", "#000000"];

// "1.0 2.0 -" to the words and to numbers with gaps.
function slowmatchColumn(text) {
  const words = text === "" ? [] : text.split(" ");
  return { words, numbers: words.map((word) => (word === "-" ? null : Number(word))) };
}

const slowmatchFont = "13px system-ui, 'DejaVu Sans', sans-serif";
const slowmatchAxis = { font: slowmatchFont, labelFont: slowmatchFont, stroke: "#333", grid: { stroke: "#e6e6e6", width: 1 },
  ticks: { stroke: "#333", width: 1, size: 4 }, border: { show: true, stroke: "#333", width: 1 } };

// From zero to a little above the highest.
function slowmatchRange(low, high) {
  const [a, b] = uPlot.rangeNum(Math.min(0, low ?? 0), high == null || high <= 0 ? 1 : high, 0.08, true);
  return [low == null || low >= 0 ? 0 : a, b];
}

// Does a curve, numbers of x and y, run through a box on the canvas?
function slowmatchRuns(u, curve, box) {
  let before = null;
  for (let i = 0; i < curve.x.length; i++) {
    if (curve.y[i] == null) { before = null; continue; }
    const now = { x: u.valToPos(curve.x[i], "x", true), y: u.valToPos(curve.y[i], "y", true) }, last = before ?? now;
    if (now.x >= box.left && last.x <= box.right && Math.max(now.y, last.y) >= box.top && Math.min(now.y, last.y) <= box.bottom) return true;
    before = now;
  }
  return false;
}

// A curve keeps its own places: rounded to whole pixels, a steep tail would look like a stair.
const slowmatchLine = { width: 2.2, pxAlign: 0, points: { show: false } };

// A curve's name in its own colour, by the curve where share of it is past, or else near there or further on, where no curve
// and no name taken before it stands.
function slowmatchName(u, taken, one, curves, share) {
  const c = u.ctx, ratio = devicePixelRatio, width = c.measureText(one.label).width, area = u.bbox;
  const boxAt = (x, y) => ({ left: x - 2 * ratio, right: x + width + 2 * ratio, top: y - 11 * ratio, bottom: y + 3 * ratio });
  const meets = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
  const inside = (b) => b.top >= area.top && b.bottom <= area.top + area.height && b.right <= area.left + area.width;
  const at = (part) => {
    const n = one.end;
    if (n < 0) return null;
    let i = 0;
    while (i < n && one.x[i] < part * one.x[n]) i++;
    return one.y[i] == null ? null : { x: Math.min(u.valToPos(one.x[i], "x", true), area.left + area.width - width - 4 * ratio),
      y: u.valToPos(one.y[i], "y", true) };
  };
  let best = null;
  for (const part of [share, 0.5, 0.35, 0.65, 0.8, 0.2, 0.1, 0.9, 0.97, 1]) {
    const point = at(part);
    if (!point) continue;
    for (const [right, down] of [[0, -9], [0, 19], [0, -14], [0, 24], [0, 34], [7, 4], [7, 20], [7, 36]]) {
      const x = point.x + right * ratio, y = point.y + down * ratio, box = boxAt(x, y);
      if (!inside(box) || taken.some((other) => meets(other, box))) continue;
      best ??= { x, y, box };
      if (curves.some((other) => slowmatchRuns(u, other, box))) continue;
      best = { x, y, box, isClear: true };
      break;
    }
    if (best?.isClear) break;
  }
  if (!best) return;
  taken.push(best.box);
  c.textAlign = "left"; // a white rim, where it has to lie over a curve
  c.lineWidth = 4 * ratio; c.strokeStyle = "#fff"; c.strokeText(one.label, best.x, best.y);
  c.fillStyle = slowmatchInks[one.colour];
  c.fillText(one.label, best.x, best.y);
}

// A plot as wide as its place; on paper as wide as half a sheet where two stand side by side, or as a whole one, so that its
// words keep their size.
function slowmatchFit(plot, place) {
  const HALF = 330, WHOLE = 680, HIGH = 190; // of A4 and Letter between their margins [CSS px]
  const gone = new AbortController(), { signal } = gone;
  let onPaper = false;
  const fit = () => {
    if (!onPaper && place.clientWidth > 0) plot.setSize({ width: place.clientWidth, height: place.clientHeight });
  };
  new ResizeObserver(fit).observe(place);
  addEventListener("beforeprint", () => {
    onPaper = true;
    plot.setSize({ width: place.closest(".pair, .views") ? HALF : WHOLE, height: HIGH });
  }, { signal });
  addEventListener("afterprint", () => { onPaper = false; fit(); }, { signal });
  (plot.hooks.destroy ??= []).push(() => gone.abort());
}

/*
 * Curves side by side that don't share their instants, to be looked at rather than read off: { label, colour, x, y } each, with
 * x and y text of the engine's. Returned: { set(curves), mark(time) }, the latter drawing a line at a time.
 */
function slowmatchCurves(host, xLabel, yLabel, initial) {
  const place = host.querySelector(".place");
  let curves = [], at = null;
  const join = () => uPlot.join(curves.map((c) => [c.x.numbers, c.y.numbers]));
  const take = (list) => { curves = list.map((c) => ({ ...c, x: slowmatchColumn(c.x), y: slowmatchColumn(c.y) })); };
  take(initial);
  place.setAttribute("role", "img");
  place.setAttribute("aria-label", `${yLabel} against ${xLabel}: ${curves.map((c) => c.label).join(", ")}`);
  function annotate(u) {
    const c = u.ctx, ratio = devicePixelRatio;
    c.save();
    c.font = `${12 * ratio}px system-ui, 'DejaVu Sans', sans-serif`;
    // Each curve is named part of the way along what it has above zero, further along the later it comes.
    const taken = [], lines = curves.map((one) => ({ label: one.label, colour: one.colour, x: one.x.numbers, y: one.y.numbers }));
    lines.forEach((one, k) => {
      one.end = one.x.length - 1;
      while (one.end > 0 && !(one.y[one.end] > 0)) one.end--;
      slowmatchName(u, taken, one, lines, 0.35 + 0.2 * k);
    });
    if (at !== null) {
      const x = u.valToPos(at, "x", true);
      c.strokeStyle = "#333"; c.lineWidth = ratio;
      c.beginPath(); c.moveTo(x, u.bbox.top); c.lineTo(x, u.bbox.top + u.bbox.height); c.stroke();
    }
    c.restore();
  }
  const plot = new uPlot({
    width: place.clientWidth || 600, height: place.clientHeight || 180, legend: { show: false }, cursor: { show: false },
    scales: { x: { time: false, range: (u, low, high) => [0, high] }, y: { range: (u, low, high) => slowmatchRange(low, high) } },
    axes: [{ ...slowmatchAxis, label: xLabel, labelSize: 22, size: 34 }, { ...slowmatchAxis, label: yLabel, labelSize: 22, size: 56 }],
    series: [{}, ...curves.map((c) => ({ ...slowmatchLine, stroke: slowmatchAccents[c.colour], spanGaps: true }))],
    hooks: { draw: [annotate] },
  }, join(), place);
  slowmatchFit(plot, place);
  return {
    set(list) { take(list); plot.setData(join()); },
    mark(time) { at = time; plot.redraw(false); },
  };
}

/*
 * Puts a plot into host, an element with the classes .reading and .place in it.
 *
 * spec: { x: column, xUnit, xLabel, yLabel, unit, series: [{ label, column, colour, dash, band: { low, high, drawn } }],
 *         rules: [{ y: text, text }], spans: [{ from, to, text }], group, reaches: at least so far along x }
 * A column is what slowmatchColumn gives; drawn, { x, low, high } in numbers, is a band at instants of its own. Plots of one group share the pointer. Returned: { plot, show(index) }.
 */
function slowmatchPlot(host, spec) {
  const place = host.querySelector(".place");
  const reading = host.querySelector(".reading");
  const resting = reading.textContent;
  const data = [spec.x.numbers];
  const series = [{}];
  for (const one of spec.series) {
    const colour = slowmatchAccents[one.colour];
    data.push(one.column.numbers);
    series.push({ ...slowmatchLine, stroke: colour, dash: one.dash, spanGaps: false });
  }
  // A band at its own instants, if it has any.
  const drawnBand = ({ band }) => band.drawn ?? { x: spec.x.numbers, low: band.low.numbers, high: band.high.numbers };
  const banded = spec.series.filter((one) => one.band);
  const highest = Math.max(0, ...banded.flatMap((one) => drawnBand(one).high));
  const lowest = Math.min(0, ...banded.flatMap((one) => drawnBand(one).low));
  function tint(u) {
    const c = u.ctx, area = u.bbox;
    for (const one of banded) {
      const { x, low, high } = drawnBand(one), spots = [...x.keys()];
      const to = (y) => (i) => [u.valToPos(x[i], "x", true), u.valToPos(y[i], "y", true)];
      c.save(); c.beginPath(); c.rect(area.left, area.top, area.width, area.height); c.clip();
      c.beginPath();
      for (const spot of [...spots.map(to(high)), ...spots.reverse().map(to(low))]) c.lineTo(...spot);
      c.fillStyle = slowmatchAccents[one.colour] + "2e"; c.fill(); c.restore();
    }
  }
  function say(index) {
    const bold = (text) => Object.assign(document.createElement("b"), { textContent: text });
    const parts = ["at ", bold(`${spec.x.words[index]} ${spec.xUnit}`), ": "];
    for (const one of spec.series) {
      const word = one.column.words[index];
      if (word === undefined || word === "-") continue;
      if (parts.length > 3) parts.push(", ");
      parts.push(`${one.label} `, bold(spec.unit ? `${word} ${spec.unit}` : word));
      if (one.band) parts.push(` (${one.band.low.words[index]} to ${one.band.high.words[index]})`);
    }
    reading.replaceChildren(...parts);
  }
  function annotate(u) {
    const c = u.ctx, ratio = devicePixelRatio;
    c.save();
    c.font = `${12 * ratio}px system-ui, 'DejaVu Sans', sans-serif`;
    // Lines that share a plot are named where they run, in their own colour.
    const lines = spec.series.map((one) => ({ label: one.label, colour: one.colour, x: spec.x.numbers, y: one.column.numbers,
      end: one.column.numbers.findLastIndex((value) => value != null) })), taken = [];
    if (lines.length > 1) for (const one of lines) slowmatchName(u, taken, one, lines, 0.55);
    for (const rule of spec.rules || []) {
      const y = u.valToPos(Number(rule.y), "y", true), width = c.measureText(rule.text).width;
      // Below the line or above it, at the right or further left: where no curve runs, else where it was tried first.
      const places = [1, 0.5, 0.25].flatMap((part) => [18, -9].map((down) => {
        const right = u.bbox.left + u.bbox.width * part - 6 * ratio, base = y + down * ratio;
        return { right, base, box: { left: right - width - 2 * ratio, right: right + 2 * ratio, top: base - 11 * ratio, bottom: base + 3 * ratio } };
      })), inside = (box) => box.top >= u.bbox.top && box.bottom <= u.bbox.top + u.bbox.height;
      const place = places.find((one) => inside(one.box) && !lines.some((line) => slowmatchRuns(u, line, one.box))) ?? places[0];
      c.strokeStyle = "#777"; c.setLineDash([5 * ratio, 4 * ratio]); c.lineWidth = ratio;
      c.beginPath(); c.moveTo(u.bbox.left, y); c.lineTo(u.bbox.left + u.bbox.width, y); c.stroke();
      c.setLineDash([]); c.fillStyle = "#555"; c.textAlign = "right";
      c.fillText(rule.text, place.right, place.base);
    }
    for (const span of spec.spans || []) {
      const a = u.valToPos(Number(span.from), "x", true), b = u.valToPos(Number(span.to), "x", true);
      const y = u.bbox.top + u.bbox.height - 10 * ratio;
      c.strokeStyle = "#555"; c.lineWidth = ratio; c.beginPath();
      c.moveTo(a, y - 4 * ratio); c.lineTo(a, y + 4 * ratio); c.moveTo(a, y); c.lineTo(b, y);
      c.moveTo(b, y - 4 * ratio); c.lineTo(b, y + 4 * ratio); c.stroke();
      c.fillStyle = "#555"; c.textAlign = "center"; c.fillText(span.text, (a + b) / 2, y - 6 * ratio);
    }
    c.restore();
  }
  const plot = new uPlot({
    width: place.clientWidth || 600,
    height: place.clientHeight || 260,
    legend: { show: false },
    scales: { x: { time: false, range: (u, low, high) => [low, Math.max(high, spec.reaches || 0)] },
      y: { range: (u, low, high) => slowmatchRange(Math.min(low, lowest), Math.max(high, highest)) } },
    axes: [{ ...slowmatchAxis, label: spec.xLabel, labelSize: 22, size: 34 },
      { ...slowmatchAxis, label: spec.yLabel, labelSize: 22, size: 56 }],
    cursor: { y: false, drag: { x: false, y: false }, points: { size: 7 },
      sync: spec.group ? { key: spec.group } : undefined },
    series,
    hooks: {
      drawAxes: [tint],
      draw: [annotate],
      setCursor: [(u) => { if (u.cursor.idx == null) reading.textContent = resting; else say(u.cursor.idx); }],
    },
  }, data, place);
  function show(index) {
    const i = Math.max(0, Math.min(spec.x.numbers.length - 1, index));
    plot.setCursor({ left: plot.valToPos(spec.x.numbers[i], "x"), top: 10 });
    say(i);
    place.setAttribute("aria-valuenow", String(i));
    place.setAttribute("aria-valuetext", reading.textContent);
  }
  let at = 0;
  place.tabIndex = 0;
  place.setAttribute("role", "slider");
  place.setAttribute("aria-label", `${spec.yLabel} against ${spec.xLabel}`);
  place.setAttribute("aria-valuemin", "0");
  place.setAttribute("aria-valuemax", String(spec.x.numbers.length - 1));
  place.setAttribute("aria-valuenow", "0");
  place.setAttribute("aria-valuetext", resting);
  place.addEventListener("keydown", (event) => {
    const n = spec.x.numbers.length, far = Math.max(1, Math.round(n / 20));
    const steps = { ArrowRight: 1, ArrowLeft: -1, PageUp: far, PageDown: -far, Home: -n, End: n };
    if (!(event.key in steps)) return;
    event.preventDefault();
    at = Math.max(0, Math.min(n - 1, at + steps[event.key]));
    show(at);
  });
  slowmatchFit(plot, place);
  return { plot, show };
}
