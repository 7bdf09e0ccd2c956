// What a hand has begun and not kept yet: a draft for each child, side and look, so that going to another child loses nothing.
"use strict";

import { day } from "./day.js";
import { newId, records } from "./outbox.js";
import { ask, keep, run } from "./store.js";

const PREFIX = "draft:";

/** The drafts of one station, by place; `child` has one when any of its places has. */
export class Drafts {
  constructor(station) {
    this.start = `${PREFIX}${day.code}:${station.code}|`;
    this.open = new Map();
  }

  /** The key of a place. The same on every tab, so that what was kept in one is no draft in another. */
  key(child, side, second) {
    return `${this.start}${child.code}|${side}|${second ? "second" : "first"}`;
  }

  /** Read what is on the tablet. A draft whose entry was kept after all is none. */
  async read() {
    const range = IDBKeyRange.bound(this.start, `${this.start}\uffff`);
    const found = await run(["kept"], "readonly", ({ kept }) => ask(kept.getAll(range)));
    for (const { key, value } of found) if (value && !records.has(value.id)) this.open.set(key, value);
  }

  of(child, side, second) {
    return this.open.get(this.key(child, side, second)) || null;
  }

  has(child) {
    return [...this.open.values()].some((draft) => draft.child === child.code);
  }

  latest(only = null) {
    const all = [...this.open.values()].filter((draft) => !only || draft.child === only);
    return all.sort((a, b) => a.at - b.at).at(-1) || null;
  }

  /** Write down how far it is; null when nothing is left. The id is that of its entry to be: kept twice it is one entry. */
  async write(child, side, second, content) {
    const key = this.key(child, side, second);
    if (content === null) {
      this.open.delete(key);
      await keep(key, null);
      return;
    }
    const id = this.open.get(key)?.id || newId();
    const draft = { id, child: child.code, side, second, content, at: Date.now() };
    this.open.set(key, draft);
    await keep(key, draft);
  }

  /** Nothing is open here any more; on the tablet it goes with the entry, in one write. */
  close(child, side, second) {
    this.open.delete(this.key(child, side, second));
  }
}
