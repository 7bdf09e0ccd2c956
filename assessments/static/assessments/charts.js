// Draws every <div data-chart="id"> from the JSON with that id. Colours are tokens of the style sheet, put in when
// drawn, so that light, dark and paper each get their own. Without script the table below the chart says the same.
"use strict";

const TOKEN = /^var\((--[a-z0-9-]+)\)$/;
const CONFIG = { displayModeBar: false, responsive: true, scrollZoom: false, doubleClick: false, showTips: false };

function resolved(value, style) {
  if (typeof value === "string") {
    const token = TOKEN.exec(value);
    return token ? style.getPropertyValue(token[1]).trim() : value;
  }
  if (Array.isArray(value)) return value.map((one) => resolved(one, style));
  if (value && typeof value === "object") {
    return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, resolved(one, style)]));
  }
  return value;
}

function numbersOf(box) {
  return box.closest("figure")?.querySelector("details.numbers");
}

function draw(box) {
  const source = document.getElementById(box.dataset.chart);
  if (!source) return;
  if (!window.Plotly) {
    box.hidden = true;
    const numbers = numbersOf(box);
    if (numbers) numbers.open = true;
    return;
  }
  const style = getComputedStyle(document.documentElement);
  const figure = resolved(JSON.parse(source.textContent), style);
  if (box.clientWidth < 480) narrow(figure);
  figure.layout.font.family = getComputedStyle(document.body).fontFamily;
  window.Plotly.react(box, figure.data, figure.layout, CONFIG);
}

// On a phone words shrink a little, long ones have a short form in `name`, and the axis keeps half its dates.
function narrow(figure) {
  figure.layout.margin.l = 34;
  figure.layout.margin.r = 78;
  const months = /^M(\d+)$/.exec(figure.layout.xaxis.dtick);
  if (months) figure.layout.xaxis.dtick = `M${2 * Number(months[1])}`;
  for (const note of figure.layout.annotations || []) {
    note.font.size = 12;
    if (note.name) note.text = note.name;
  }
}

function drawAll(root) {
  for (const box of root.querySelectorAll("[data-chart]")) draw(box);
}

document.addEventListener("DOMContentLoaded", () => drawAll(document));
document.addEventListener("htmx:load", (event) => {
  if (event.detail.elt !== document.body) drawAll(event.detail.elt);
});
window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => drawAll(document));

// Paper is light, whatever the screen is.
let kept = null;
window.addEventListener("beforeprint", () => {
  kept = document.documentElement.dataset.theme ?? null;
  document.documentElement.dataset.theme = "light";
  drawAll(document);
});
window.addEventListener("afterprint", () => {
  if (kept === null) delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = kept;
  drawAll(document);
});

// With the keyboard on a chart, T opens and closes the table of the same numbers.
document.addEventListener("keydown", (event) => {
  if (event.key.toLowerCase() !== "t" || event.ctrlKey || event.metaKey || event.altKey) return;
  const box = event.target.closest?.("[data-chart]");
  const numbers = box && numbersOf(box);
  if (!numbers) return;
  event.preventDefault();
  numbers.open = !numbers.open;
});
