"""A hand that is as quick as the page: it waits for what the screen shows, then acts, inside the page itself."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tests.browser.tablet import Tablet

_HAND = """
const shown = (selector) => document.querySelector(selector)?.textContent.trim() ?? "";
const until = async (holds, what) => {
  const end = performance.now() + 30000;
  while (!holds()) {
    if (performance.now() > end) throw new Error(`never: ${what}, but ${shown("#screen").slice(0, 200)}`);
    await new Promise(requestAnimationFrame);
  }
};
const press = (element) => element.dispatchEvent(new PointerEvent("pointerdown", { bubbles: true, button: 0 }));
const button = (name) => document.querySelector(`#acts [data-part=${name}]`);
const type = (key) => document.body.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true }));
"""
#: One child after another: {who, side, tries, keys, levels}. What a step expects on screen comes before what it does.
_TURNS = f"""async (steps) => {{{_HAND}
  document.activeElement?.blur();
  for (const {{ who, side = "", tries = "", keys = [], levels = [] }} of steps) {{
    const body = document.querySelector("[data-part=body]");
    const here = () => shown(".who-name") === who && shown("[data-slot=tries]").startsWith(tries)
      && shown(".turn-body .who .quiet").includes(side && `${{side}} side`) && !body.inert;
    await until(here, [who, side, tries].join(" "));
    for (const key of keys) type(key);
    const rows = document.querySelectorAll(".criterion");
    levels.forEach((level, row) => rows[row].querySelector(`input[value="${{level}}"]`).click());
    press(button("go"));
    await until(() => !here() || body.inert, `on from ${{who}}`);
  }}
}}"""
#: One group: wait for its clocks, stop each tile at its second, and read what the tiles show.
_GROUP = f"""async ([size, seconds, pain]) => {{{_HAND}
  await until(() => document.querySelectorAll(".tile.run").length === size, `${{size}} holding`);
  const tiles = [...document.querySelectorAll(".tile")];
  for (const [number, tile] of tiles.entries()) {{
    const clock = tile.querySelector("[data-slot=t]");
    await until(() => Number(clock.textContent) >= seconds[number], "a second");
    if (number === pain) press(button("hurts"));
    press(tile.querySelector(".press"));
  }}
  await until(() => document.querySelectorAll(".tile.done").length === size, "all down");
  return Object.fromEntries(tiles.map((tile) => [tile.dataset.child, tile.querySelector("[data-slot=t]").textContent]));
}}"""


def take_turns(one: Tablet, steps: Sequence[dict[str, Any]]) -> None:
    """Children one after another at the station that is open."""
    one.page.evaluate(_TURNS, list(steps))


def hold_group(one: Tablet, seconds: Sequence[int], *, pain: int | None = None) -> dict[str, str]:
    """A group whose start was pressed: stop each tile when it shows its second. Answers what each child's tile shows."""
    shown: dict[str, str] = one.page.evaluate(_GROUP, [len(seconds), list(seconds), pain])
    return shown
