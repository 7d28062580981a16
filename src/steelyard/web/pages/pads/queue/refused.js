// What the station refused: asked about, put back on the wheels, named anew or thrown away. Never lost in silence.

import { ask } from "./question.js";
import { named, summary } from "./kept.js";
import { makeKey } from "./api.js";
import { discard, photosOf, rename } from "./outbox.js";

export class Refusals {
  /** @param {Page.Pads} day @param {Page.RefusalHooks} hooks */
  constructor(day, hooks) {
    this.day = day;
    this.hooks = hooks;
    this.asked = new Set();
  }

  // Each refusal is asked about once; it stays in the list for later.
  /** @type {(items: Page.Waiting[]) => void} */
  look(items) {
    for (const item of items) {
      if (!item.refused) {
        this.asked.delete(item.key);
        continue;
      }
      if (item.day !== this.day.day || this.asked.has(item.key)) continue;
      this.asked.add(item.key);
      if (item.what === "state") this.state(item);
      else this.question(item);
    }
  }

  /** @type {(item: Page.Waiting) => Promise<void>} */
  async question(item) {
    await this.hooks.refresh(); // it was refused by the day as it is now: the wheels should know it too
    const lines = [
      item.what === "draft" ? `${named(item)}: ${summary(item.json.readings)}` : named(item),
      `The station says: ${item.refused}.`,
      "It stays on this device until you decide. What came after it goes on.",
    ];
    const answers = [...(item.what === "draft" ? ["Correct it"] : []), "Leave it", "Throw away"];
    const chosen = await ask("The station refused this", lines, answers),
      answer = chosen === null ? "" : answers[chosen];
    if (item.what === "draft" && answer === "Correct it") await this.correct(item);
    if (answer === "Throw away") await this.drop(item);
  }

  /** @type {(item: Page.Waiting<Page.QueuedDraft>) => Promise<void>} */
  async correct(item) {
    await this.hooks.putBack(item, await photosOf(item));
  }

  /** @type {(item: Page.Waiting) => Promise<void>} */
  async drop(item) {
    const what = item.what === "draft" ? "this draft" : "this";
    const lines = [
      item.what === "draft" ? `${named(item)} ${summary(item.json.readings)}`.trim() : named(item),
      "It is on no disk but this device's. There is no way back.",
    ];
    if ((await ask(`Throw ${what} away?`, lines, ["Keep it", "Throw away"])) === 1) await discard(item);
  }

  // Another device was first with the name. Where it means the same, that one will do; else this one needs another.
  /** @type {(item: Page.Waiting<Page.QueuedState>) => Promise<void>} */
  async state(item) {
    const theirs = (await this.hooks.refresh())?.states[item.shown];
    if (!theirs) {
      this.question(item);
      return;
    }
    const { key: _key, name, ...mine } = item.json;
    if (same(theirs.table, mine)) {
      this.hooks.theirs(name, theirs, null);
      await discard(item);
      return;
    }
    let free = name;
    for (let count = 2; this.day.states[free]; count += 1) free = `${name.slice(0, 36)}_${count}`;
    const lines = [
      `Another device made a state ${name} that is something else. What was weighed here in ${name} waits until yours has another name.`,
    ];
    const answer = await ask("Two states of one name", lines, [`Name mine ${free}`, "Leave it"]);
    if (answer !== 0) return;
    await rename(item, free, makeKey());
    this.hooks.theirs(name, theirs, free);
  }
}

// Whether two states say the same, in whatever order their keys stand.
/** @type {(one: unknown, other: unknown) => boolean} */
function same(one, other) {
  /** @type {(value: unknown) => unknown} */
  const sorted = (value) => {
    if (Array.isArray(value)) return value.map(sorted);
    if (!value || typeof value !== "object") return value;
    const entries = Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1));
    return Object.fromEntries(entries.map(([key, inner]) => [key, sorted(inner)]));
  };
  return JSON.stringify(sorted(one)) === JSON.stringify(sorted(other));
}
