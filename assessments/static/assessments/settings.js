// 'This tablet': is it ready for the day, and how it behaves.
"use strict";

import { closePanel, openPanel } from "./care.js";
import { fill, part, piece } from "./dom.js";
import { rename } from "./sender.js";
import { deletions } from "./store.js";
import { checks, set, settings } from "./tablet.js";
import { updateNow, updateWaits } from "./updates.js";
import { count } from "./words.js";

/** Open the panel. */
export async function openTablet() {
  const view = piece("tablet");
  const label = part(view, "label");
  label.value = settings.label;
  label.addEventListener("change", () => {
    set({ label: label.value.trim() });
    rename(label.value.trim());
  });
  for (const box of view.querySelectorAll("[data-setting]")) {
    box.checked = settings[box.dataset.setting];
    box.addEventListener("change", () => set({ [box.dataset.setting]: box.checked }));
  }
  part(view, "close").addEventListener("click", closePanel);
  part(view, "update").hidden = !updateWaits();
  part(view, "update").addEventListener("click", updateNow);
  drawChecks(part(view, "checks"));
  deletions().then((lines) => {
    const number = lines.reduce((sum, line) => sum + line.ids.length, 0);
    const last = lines.at(-1);
    fill(view, { deleted: last ? `${count(number, "entry", "entries")} cleared from this tablet so far, all of them at the club. Last: ${last.why}.` : "Nothing was ever cleared from this tablet." });
  }, () => undefined);
  await openPanel(view);
}

async function drawChecks(host) {
  const lines = await checks();
  host.replaceChildren(...lines.map((line) => {
    const element = piece("check", { name: line.name, text: line.text, word: line.ok ? "Good" : line.must ? "Act" : "Careful" });
    part(element, "glyph").classList.add(line.ok ? "ready" : "notyet");
    return element;
  }));
}
