// The skill map: one finger or the mouse moves it, two fingers or the buttons bring it nearer, keys do both.
"use strict";

const NEAREST = 4;      // times the size at which the map's width fits
const READABLE = 0.8;   // smallest size at the beginning
const STEP = 0.2;       // of the visible part, for a key or a button
const CLICK = 6;        // pixels that a finger may wander and still press a skill

class SkillMap {
  constructor(root) {
    this.root = root;
    this.sheet = root.querySelector(".sheet");
    this.svg = this.sheet.querySelector("svg");
    const { width, height } = this.svg.viewBox.baseVal;
    this.whole = { width, height };
    this.view = { x: 0, y: 0, width, height };
    this.fingers = new Map();
    this.wandered = 0;
    root.classList.add("live");
    root.querySelector(".controls").hidden = false;
    this.begin();
    this.listen();
  }

  listen() {
    this.root.addEventListener("click", (event) => {
      const act = event.target.closest("[data-map-act]")?.dataset.mapAct;
      if (act) this.act(act);
    });
    this.sheet.addEventListener("keydown", (event) => this.key(event));
    this.sheet.addEventListener("pointerdown", (event) => this.down(event));
    this.sheet.addEventListener("pointermove", (event) => this.move(event));
    for (const end of ["pointerup", "pointercancel", "pointerleave"]) {
      this.sheet.addEventListener(end, (event) => this.fingers.delete(event.pointerId));
    }
    // A drag that ends on a box is no press of that box.
    this.sheet.addEventListener("click", (event) => {
      if (this.wandered > CLICK) event.preventDefault();
    }, true);
    this.sheet.addEventListener("dragstart", (event) => event.preventDefault());
    this.sheet.addEventListener("wheel", (event) => {
      if (!event.ctrlKey) return;
      event.preventDefault();
      this.zoom(event.deltaY < 0 ? 1.2 : 1 / 1.2, this.place(event.clientX, event.clientY));
    }, { passive: false });
    this.sheet.addEventListener("focusin", (event) => this.reveal(event.target.closest(".node")));
    window.addEventListener("resize", () => this.draw());
    for (const event of ["pointerover", "focusin"]) {
      this.sheet.addEventListener(event, (seen) => this.follow(seen.target.closest(".node")));
    }
  }

  // --- what may be asked for ---------------------------------------------------------------------

  act(name) {
    const { width, height } = this.view;
    const acts = {
      in: () => this.zoom(1.4), out: () => this.zoom(1 / 1.4), fit: () => this.fit(),
      left: () => this.shift(-STEP * width, 0), right: () => this.shift(STEP * width, 0),
      up: () => this.shift(0, -STEP * height), down: () => this.shift(0, STEP * height),
    };
    acts[name]?.();
  }

  key(event) {
    const keys = {
      ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down",
      "+": "in", "=": "in", "-": "out", "0": "fit",
    };
    if (event.ctrlKey || event.metaKey || event.altKey || !keys[event.key]) return;
    event.preventDefault();
    this.act(keys[event.key]);
  }

  down(event) {
    if (event.pointerType === "mouse" && event.button !== 0) return;
    if (this.fingers.size === 0) this.wandered = 0;
    this.fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
  }

  move(event) {
    const before = this.fingers.get(event.pointerId);
    if (!before) return;
    const now = { x: event.clientX, y: event.clientY };
    const other = [...this.fingers].find(([id]) => id !== event.pointerId)?.[1];
    this.wandered += Math.hypot(now.x - before.x, now.y - before.y);
    if (this.wandered > CLICK && !this.sheet.hasPointerCapture(event.pointerId)) {
      this.sheet.setPointerCapture(event.pointerId);
    }
    if (other) {
      const factor = distance(now, other) / Math.max(distance(before, other), 1);
      this.zoom(factor, this.place((now.x + other.x) / 2, (now.y + other.y) / 2));
    }
    const scale = this.scale() * (other ? 2 : 1);  // with two fingers the middle moves half as far
    this.shift((before.x - now.x) * scale, (before.y - now.y) * scale);
    this.fingers.set(event.pointerId, now);
  }

  // --- the visible part --------------------------------------------------------------------------

  scale() {
    return this.view.width / Math.max(this.sheet.clientWidth, 1);
  }

  place(clientX, clientY) {
    const box = this.sheet.getBoundingClientRect();
    return {
      x: this.view.x + (clientX - box.left) * this.scale(),
      y: this.view.y + (clientY - box.top) * this.scale(),
    };
  }

  widest() {
    const shape = this.sheet.clientWidth / Math.max(this.sheet.clientHeight, 1);
    return Math.max(this.whole.width, this.whole.height * shape);
  }

  // At first the words can be read: the whole width where there is room for it, the left part of it elsewhere.
  begin() {
    const width = Math.min(this.whole.width, this.sheet.clientWidth / READABLE);
    this.view = { x: 0, y: 0, width, height: 0 };
    this.draw();
  }

  fit() {
    this.view = { x: 0, y: 0, width: this.widest(), height: 0 };
    this.draw();
  }

  zoom(factor, middle) {
    const about = middle ?? { x: this.view.x + this.view.width / 2, y: this.view.y + this.view.height / 2 };
    const width = Math.min(Math.max(this.view.width / factor, this.whole.width / NEAREST), this.widest());
    const real = this.view.width / width;
    this.view.x = about.x - (about.x - this.view.x) / real;
    this.view.y = about.y - (about.y - this.view.y) / real;
    this.view.width = width;
    this.draw();
  }

  shift(x, y) {
    this.view.x += x;
    this.view.y += y;
    this.draw();
  }

  draw() {
    const box = this.sheet;
    this.view.height = this.view.width * (box.clientHeight / Math.max(box.clientWidth, 1));
    this.view.x = within(this.view.x, this.whole.width - this.view.width);
    this.view.y = within(this.view.y, this.whole.height - this.view.height);
    const { x, y, width, height } = this.view;
    this.svg.setAttribute("viewBox", [x, y, width, height].map((one) => one.toFixed(2)).join(" "));
  }

  // --- the skill in focus ------------------------------------------------------------------------

  reveal(node) {
    if (!node) return;
    const [x, y] = node.getAttribute("transform").match(/-?[\d.]+/g).map(Number);
    const box = node.querySelector(".box");
    const [width, height] = [box.width.baseVal.value, box.height.baseVal.value];
    const inside = x >= this.view.x && x + width <= this.view.x + this.view.width
      && y >= this.view.y && y + height <= this.view.y + this.view.height;
    if (inside) return;
    this.view.x = x + width / 2 - this.view.width / 2;
    this.view.y = y + height / 2 - this.view.height / 2;
    this.draw();
  }

  follow(node) {
    const skill = node?.dataset.skill;
    for (const edge of this.svg.querySelectorAll(".edge")) {
      edge.classList.toggle("near", Boolean(skill) && [edge.dataset.before, edge.dataset.after].includes(skill));
    }
  }
}

function distance(one, other) {
  return Math.hypot(one.x - other.x, one.y - other.y);
}

// Between nought and the end; in the middle when all of it fits.
function within(value, end) {
  return end < 0 ? end / 2 : Math.min(Math.max(value, 0), end);
}

for (const root of document.querySelectorAll("[data-map]")) new SkillMap(root);
