// One child at all stations: what is done, what is open, and the way to each.
"use strict";

import { children, day, sidesOf, taken, wordFor } from "./day.js";
import { drawing, fill, onPress, part, piece } from "./dom.js";
import { askFirst } from "./care.js";
import { nameOf, resultWords, whoOf } from "./words.js";

const WORDS = { done: "done", away: "away today", resting: "rests here today", stopped: "no more today", ready: "open", ask: "ask first" };

/** Open the page of one child; `context.child` says who, `context.go(station, child)` opens a station for this child only. */
export function openByChild(screen, acts, context) {
  const view = piece("by-child");
  const bar = piece("acts-plain");
  let child = children().find((one) => one.code === context.child) || children()[0];
  screen.replaceChildren(view);
  acts.replaceChildren(bar);
  part(bar, "hurts").addEventListener("click", () => context.hurts([child]));
  onPress(part(bar, "go"), () => {
    const open = day.data.stations.find((station) => wordFor(child, station).word === "ready");
    if (open) context.go(open, child);
    else pick(children()[(children().indexOf(child) + 1) % children().length]);
  }, { dead: 350 });

  function pick(next) {
    child = next;
    draw();
  }

  function draw() {
    const queue = part(view, "queue");
    queue.replaceChildren(...children().map((one) => {
      const open = day.data.stations.filter((station) => wordFor(one, station).word === "ready").length;
      const button = piece("child", { name: nameOf(one), who: whoOf(one), state: open ? `${open} open` : "" });
      button.classList.toggle("on", one === child);
      button.setAttribute("aria-pressed", String(one === child));
      button.addEventListener("click", () => pick(one));
      return button;
    }));
    queue.querySelector(".on")?.scrollIntoView({ block: "nearest", inline: "nearest" });
    fill(view.querySelector(".who"), { name: nameOf(child), who: whoOf(child) });
    const asking = day.data.stations.some((station) => wordFor(child, station).word === "ask");
    const open = day.data.stations.find((station) => wordFor(child, station).word === "ready");
    fill(bar, { go: open ? `Next: ${open.name}` : "Next child", status: "" });
    part(view, "stations").replaceChildren(...(asking ? [askFirst("ask", child, context, draw)] : []), ...day.data.stations.map(stationCard));
  }

  function stationCard(station) {
    const { word } = wordFor(child, station);
    const said = sidesOf(station).flatMap((side) => taken(child, station, side).map((entry) => `${side ? `${side} ` : ""}${resultWords(entry, station)}`));
    const card = piece("station", { name: station.name, progress: said.join(", ") || WORDS[word] });
    const figure = drawing(station.measure, station.variant);
    if (figure) part(card, "figure").append(figure);
    card.disabled = !["ready", "done"].includes(word);
    card.addEventListener("click", () => context.go(station, child));
    return card;
  }

  draw();
  return { busy: () => false, refresh: draw, leave: async () => undefined, title: () => whoOf(child) };
}
