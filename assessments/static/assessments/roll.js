// Who is here, and 'anything sore, ill or new?', asked of each child before anything is scored. Also the order on the floor.
"use strict";

import { children, day, lockOrder, rollOf, setRoll } from "./day.js";
import { fill, part, piece } from "./dom.js";
import { openSore } from "./care.js";
import { count, nameOf, whoOf } from "./words.js";

/** Open the roll. */
export function openRoll(screen, acts, context) {
  const bar = piece("acts-plain");
  acts.replaceChildren(bar);
  part(bar, "hurts").addEventListener("click", () => context.hurts(children().filter((child) => !rollOf(child).stopped && rollOf(child).present !== false)));
  part(bar, "go").addEventListener("click", () => context.onDone());
  fill(bar, { go: "To the stations" });
  const view = piece("roll");
  const list = part(view, "list");
  let ordering = false;
  let dragged = null;
  screen.replaceChildren(view);
  part(view, "order").addEventListener("click", () => {
    if (ordering) lockOrder([...part(view, "list").children].map((line) => line.dataset.child)).catch(context.alarm);
    ordering = !ordering;
    draw();
  });

  function draw() {
    const button = part(view, "order");
    button.hidden = Boolean(day.order?.locked) && !ordering;
    button.textContent = ordering ? "Lock this order for the day" : "Order on the floor";
    button.classList.toggle("main", ordering);
    part(view, "list").classList.toggle("ordering", ordering);
    part(view, "list").replaceChildren(...children().map(ordering ? orderLine : rollLine));
    paint();
  }

  function paint() {
    const rolls = children().map(rollOf);
    const open = rolls.filter((roll) => roll.sore === "not_asked" && roll.present !== false && !roll.stopped).length;
    const words = ordering ? "Drag the children into the order in which they lie, or use the arrows. It is locked for the day."
      : open ? `Ask each child: anything sore, ill or new? ${count(open, "child", "children")} to ask.` : "Everybody here has been asked.";
    fill(view, { lead: words });
    fill(bar, { status: count(rolls.filter((roll) => roll.present === true).length, "child here", "children here") });
  }

  function rollLine(child) {
    const line = piece("roll-line", { name: nameOf(child), who: whoOf(child), asked: `Anything sore, ill or new? ${nameOf(child)}` });
    const roll = rollOf(child);
    line.dataset.child = child.code;
    const press = (name, on) => part(line, name).setAttribute("aria-pressed", String(on));
    press("no", roll.sore === "no");
    press("yes", roll.sore === "yes");
    press("away", roll.present === false);
    line.classList.toggle("away", roll.present === false);
    for (const name of ["no", "yes", "away"]) part(line, name).setAttribute("aria-label", `${nameOf(child)}: ${part(line, name).textContent}`);
    if (roll.stopped || roll.areas.length) fill(line, { question: roll.stopped ? "No tests today." : "Some places rest. Anything else?" });
    const answer = async (fields) => {
      await setRoll(child.code, fields, context.judge()).catch(context.alarm);
      line.replaceWith(rollLine(child));
      paint();
      context.changed();
    };
    part(line, "no").addEventListener("click", () => answer({ sore: "no", present: true }));
    part(line, "away").addEventListener("click", () => answer({ present: roll.present === false }));
    part(line, "yes").addEventListener("click", async () => {
      if (!(await openSore(child, context))) return;
      line.replaceWith(rollLine(child));
      paint();
      context.changed();
    });
    return line;
  }

  function orderLine(child) {
    const line = piece("order-line", { name: nameOf(child), who: whoOf(child), up: `${nameOf(child)} earlier`, down: `${nameOf(child)} later` });
    line.dataset.child = child.code;
    part(line, "up").addEventListener("click", () => { line.previousElementSibling?.before(line); part(line, "up").focus(); });
    part(line, "down").addEventListener("click", () => { line.nextElementSibling?.after(line); part(line, "down").focus(); });
    part(line, "grip").addEventListener("pointerdown", (event) => {
      dragged = line;
      list.setPointerCapture(event.pointerId);
      line.classList.add("dragged");
    });
    return line;
  }

  // The list follows the finger, not the line: a line that is put elsewhere would lose it.
  function drag(event) {
    const over = dragged && document.elementFromPoint(event.clientX, event.clientY)?.closest(".order-line");
    if (!over || over === dragged) return;
    const box = over.getBoundingClientRect();
    if (event.clientY < box.top + box.height / 2) over.before(dragged);
    else over.after(dragged);
  }

  function drop() {
    dragged?.classList.remove("dragged");
    dragged = null;
  }

  list.addEventListener("pointermove", drag);
  for (const end of ["pointerup", "pointercancel"]) list.addEventListener(end, drop);

  draw();
  return { busy: () => false, refresh: () => { if (!ordering) draw(); }, leave: async () => undefined, title: () => day.data.day.groups.join(", ") };
}
