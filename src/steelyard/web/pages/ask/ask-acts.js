// Every act of a hand can be undone and done again: what was dragged, put on, taken off, filled, hitched, tensioned, named.

import { differs, named, now, titleOf } from "./ask-now.js";
import { $, element, isField } from "./dom.js";
import { stateWords } from "./place-words.js";

const MOST = 40;
const AT_ONCE = 900; // ms in which steps of the same thing are one act: keys that are held, a finger on a nudge

/** @type {(one: unknown, other: unknown) => boolean} */
const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

// Everything that an act can change.
/** @type {() => Page.Asked} */
export const standing = () => ({
  state: now.state,
  coupled: now.coupled,
  read: [...now.cargo].filter(([name]) => differs(name)).map(([name, at]) => [name, { ...at }]),
});

export class Acts {
  /** @param {Page.ActHooks} hooks */
  constructor(hooks) {
    this.hooks = hooks;
    /** @type {Page.Asked[]} */
    this.past = [];
    /** @type {Page.Asked[]} */
    this.next = [];
    this.now = standing();
    this.held = 0;
    this.last = { words: "", when: 0 };
    $("undo").addEventListener("click", () => this.step(this.past, this.next, "Undone"));
    $("redo").addEventListener("click", () => this.step(this.next, this.past, "Done again"));
    document.addEventListener("keydown", (event) => {
      const key = event.key.toLowerCase(),
        back = key === "z" && !event.shiftKey;
      if (!(event.ctrlKey || event.metaKey) || event.altKey || !["z", "y"].includes(key)) return;
      if (isField(event.target) && event.target.type !== "range" && event.target.type !== "checkbox") return; // it takes it
      event.preventDefault();
      if (back) this.step(this.past, this.next, "Undone");
      else this.step(this.next, this.past, "Done again");
    });
  }

  // What was kept on this device, where the day still has its states.
  /** @type {(left: Partial<Page.Kept>, states: Record<string, unknown>) => void} */
  begin({ past = [], next = [] }, states) {
    /** @type {(list: unknown) => Page.Asked[]} */
    const sound = (list) =>
      (Array.isArray(list) ? list : []).filter(
        (one) =>
          one &&
          states[one.state] &&
          Array.isArray(one.read) &&
          one.read.every(isSound) &&
          Array.isArray(one.coupled?.hitch) &&
          Array.isArray(one.coupled.unhitch) &&
          one.coupled.bars,
      );
    this.past = sound(past);
    this.next = sound(next);
    this.now = standing();
    this.say();
  }

  // Something that was left in another state: undoing leads there.
  /** @type {(left: Page.Asked) => void} */
  behind({ state, coupled, read }) {
    this.past.push({ state, coupled, read });
    this.say();
  }

  // After an act.
  note() {
    const found = standing();
    if (this.held || same(found, this.now)) return;
    const words = acted(this.now, found),
      when = Date.now();
    const again = words.startsWith("move ") && words === this.last.words && when - this.last.when < AT_ONCE;
    if (!again) this.past.push(this.now);
    this.past.splice(0, this.past.length - MOST);
    this.next = [];
    this.now = found;
    this.last = { words, when };
    this.say();
  }

  /** @type {(from: Page.Asked[], to: Page.Asked[], done: string) => Promise<void>} */
  async step(from, to, done) {
    const back = from.at(-1);
    if (!back || this.held) return;
    const words = done === "Undone" ? acted(back, this.now) : acted(this.now, back);
    this.held += 1;
    const there = await this.hooks.restore(back).finally(() => {
      this.held -= 1;
    });
    if (!there) return;
    from.pop();
    to.push(this.now);
    this.now = standing();
    this.last = { words: "", when: 0 };
    this.say();
    this.hooks.tell(`${done}: ${words}.`);
  }

  say() {
    const { past, next } = this;
    for (const [id, list] of /** @type {const} */ ([
      ["undo", past],
      ["redo", next],
    ])) {
      const button = element(id, HTMLButtonElement),
        to = list.at(-1);
      button.setAttribute("aria-disabled", String(!to));
      const words = !to ? "" : id === "undo" ? acted(to, this.now) : acted(this.now, to);
      button.title = words;
      $(`${id}-what`).textContent = words && `: ${words}`;
    }
    this.hooks.keep();
  }
}

// What leads from one to the other, in words.
/** @type {(one: Page.Asked, other: Page.Asked) => string} */
function acted(one, other) {
  if (one.state !== other.state) return `begin with ${stateWords(other.state)}`;
  if (!same(one.coupled, other.coupled)) return "hitch or bars";
  const [before, after] = [one, other].map((asked) => new Map(asked.read));
  const names = [...new Set([...before.keys(), ...after.keys()])].filter(
    (name) => !same(before.get(name), after.get(name)),
  );
  const [name] = names;
  if (names.length !== 1) return names.length ? `change ${names.length} things` : "nothing";
  const first = now.first.get(name),
    was = before.get(name) ?? first,
    is = after.get(name) ?? first,
    title = is?.title ?? was?.title ?? titleOf(name);
  if (!was?.aboard && is?.aboard) return `put on ${title}`;
  if (was?.aboard && !is?.aboard) return `take off ${title}`;
  if (was?.title !== is?.title) return `call it ${title}`;
  return was?.level !== is?.level ? `fill ${title}` : `move ${title}`;
}

// What lies on the device may be of another version of this page, or anybody's.
/** @type {(one: unknown) => boolean} */
const isSound = (one) =>
  Array.isArray(one) &&
  typeof one[0] === "string" &&
  typeof one[1]?.on === "string" &&
  ["mass", "x", "y"].every((key) => Number.isFinite(one[1][key]));

// What was changed, onto the state that is there.
/** @type {(read: Page.Asked["read"]) => void} */
export function putBack(read) {
  now.cargo = now.model.start();
  for (const [name, at] of read.filter(isSound)) {
    const there = now.cargo.get(name);
    if (there) Object.assign(there, at);
    else if (now.model.data.vehicles.includes(at.on) && (now.ours.has(name) || !named(name)))
      now.cargo.set(name, { ...at });
  }
  if (now.chosen !== null && !now.cargo.get(now.chosen)?.aboard) now.chosen = null;
}
