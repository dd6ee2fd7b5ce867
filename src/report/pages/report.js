// The report: plots and the slider over the fire front. All numbers are the engine's text.
"use strict";

(() => {
  const data = JSON.parse(document.getElementById("curves-data").textContent);
  const x = { words: slowmatchColumn(data.time.shown).words, numbers: data.time.values };
  // What the samples say of thrust, at their own instants; the axis reaches to where the last of them burn.
  const drawn = data.panels.flatMap((panel) => panel.series).find((one) => one.band)?.band;
  const band = drawn && { x: drawn.time, low: slowmatchColumn(drawn.low).numbers, high: slowmatchColumn(drawn.high).numbers };
  const reaches = band ? band.x[band.high.findLastIndex((value) => value > 0.005 * Math.max(...band.high))] : 0;
  for (const panel of data.panels) {
    const series = panel.series.map((one) => ({
      label: one.label, colour: one.colour, column: slowmatchColumn(one.shown),
      band: one.low && { low: slowmatchColumn(one.low), high: slowmatchColumn(one.high), drawn: band },
    }));
    slowmatchPlot(document.getElementById(panel.id), {
      x, xUnit: "s", xLabel: "time since ignition (s)", yLabel: panel.axis, unit: panel.unit, series,
      rules: panel.rules, spans: panel.spans, group: "run", reaches,
    });
  }

  const fronts = document.getElementById("fronts");
  if (!fronts) return;
  for (const grain of JSON.parse(fronts.textContent)) {
    const figure = document.getElementById(grain.id);
    const slider = figure.querySelector("input"), words = figure.querySelector("output");
    const left = figure.querySelector(".left"), front = figure.querySelector(".front");
    const put = () => {
      const level = grain.levels[Number(slider.value)];
      left.setAttribute("d", level.left);
      front.setAttribute("d", level.front);
      words.textContent = level.text;
      slider.setAttribute("aria-valuetext", level.text);
    };
    slider.addEventListener("input", put);
    put();
  }
})();
