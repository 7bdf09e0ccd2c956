// The care owed to a child before and during a test: the question that is asked first, and the button that ends the day.
"use strict";

import { areaChoices, childOf, setRoll } from "./day.js";
import { byId, part, piece } from "./dom.js";
import { nameOf, whoOf } from "./words.js";

/** Show a piece in the panel; resolves when it is closed. */
export async function openPanel(content, { onClose = () => undefined } = {}) {
  const panel = byId("panel");
  // The event of a closing comes later: the next panel must not take it for its own.
  if (panel.open) await new Promise((closed) => { panel.addEventListener("close", closed, { once: true }); panel.close(); });
  panel.replaceChildren(content);
  panel.showModal();
  await new Promise((resolve) => {
    panel.addEventListener("close", () => { onClose(); resolve(); }, { once: true });
  });
}

export const closePanel = () => byId("panel").close();

function chipSet(host, list, { many = false, chosen = [] } = {}) {
  const picked = new Set(chosen);
  const buttons = list.map(([value, text]) => {
    const button = piece("chip", { text });
    button.setAttribute("aria-pressed", String(picked.has(value)));
    button.addEventListener("click", () => {
      if (!many) picked.clear();
      if (picked.has(value)) picked.delete(value);
      else picked.add(value);
      buttons.forEach((one, number) => one.setAttribute("aria-pressed", String(picked.has(list[number][0]))));
    });
    return button;
  });
  host.replaceChildren(...buttons);
  return picked;
}

/** The question in a tile or in place of a station: no score before it is answered. `after` is called with the answer kept. */
export function askFirst(name, child, context, after) {
  const element = piece(name, { name: nameOf(child), who: whoOf(child) });
  element.dataset.child = child.code;
  part(element, "no").addEventListener("click", async () => {
    await setRoll(child.code, { sore: "no", present: true }, context.judge()).catch(context.alarm);
    after();
  });
  part(element, "yes").addEventListener("click", async () => {
    if (await openSore(child, context)) after();
  });
  return element;
}

/** What is sore, ill or new: the child does no test today, and the club opens a rest note. Answers whether it was kept. */
export async function openSore(child, context) {
  const form = piece("sore", { name: nameOf(child) });
  const areas = chipSet(part(form, "areas"), areaChoices(), { many: true });
  let kept = false;
  part(form, "save").addEventListener("click", async () => {
    part(form, "error").hidden = areas.size > 0;
    if (!areas.size) return;
    await setRoll(child.code, { sore: "yes", present: true, stopped: true, areas: [...areas] }, context.judge()).catch(context.alarm);
    kept = true;
    closePanel();
  });
  part(form, "cancel").addEventListener("click", closePanel);
  await openPanel(form);
  return kept;
}

const NOTES = { pain: "", fear: "Afraid", dizzy: "Dizzy or ill" };

/** Ask what it is and where. Answers {areas, note}, or null when the coach went back. */
export async function openHurts(child) {
  const form = piece("hurts", { name: nameOf(child) });
  let kind = "pain";
  let said = null;
  const areas = chipSet(part(form, "areas"), areaChoices(), { many: true });
  const kinds = [...part(form, "kinds").children];
  for (const button of kinds) {
    button.addEventListener("click", () => {
      kind = button.dataset.kind;
      for (const one of kinds) one.setAttribute("aria-pressed", String(one === button));
      part(form, "areas-field").hidden = kind !== "pain";
    });
  }
  part(form, "save").addEventListener("click", () => {
    const needed = kind === "pain" && !areas.size;
    part(form, "error").hidden = !needed;
    if (needed) return;
    said = { areas: kind === "pain" ? [...areas] : kind === "dizzy" ? ["general"] : [], note: NOTES[kind] };
    closePanel();
  });
  part(form, "cancel").addEventListener("click", closePanel);
  await openPanel(form);
  return said;
}

/** Which child is it? Answers the child or null. */
export async function pickChild(children) {
  if (children.length === 1) return children[0];
  const content = piece("move-who");
  let found = null;
  const buttons = children.map((child) => {
    const button = piece("chip", { text: nameOf(child) });
    button.addEventListener("click", () => { found = childOf(child.code); closePanel(); });
    return button;
  });
  part(content, "who").replaceChildren(...buttons);
  part(content, "cancel").addEventListener("click", closePanel);
  await openPanel(content);
  return found;
}

export { chipSet };
