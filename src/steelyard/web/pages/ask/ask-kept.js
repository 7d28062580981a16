// What was put on, taken off, moved, hitched or named and not kept as a state, and how it came to be so: there again after a
// reload, until it is kept.

import { make } from "./dom.js";
import { OLD, Slate, ago } from "./slate.js";

export class Changes {
  /** @param {string} day */
  constructor(day) {
    /** @type {Slate<Page.Kept>} */
    this.slate = new Slate(`asked ${day}`);
  }

  // What was left, if the day still has its state.
  /** @type {(states: Record<string, unknown>) => Page.Left<Page.Kept> | null} */
  read(states) {
    const left = this.slate.read(),
      coupled = left?.coupled;
    return left &&
      coupled &&
      states[left.state] &&
      Array.isArray(coupled.hitch) &&
      Array.isArray(coupled.unhitch) &&
      coupled.bars
      ? left
      : null;
  }

  begin() {
    this.slate.begin();
  }

  /** @type {(now: { cargo: Page.Cargo, state: string, coupled: Page.Coupled }, acts: { past: Page.Asked[], next: Page.Asked[] }, differs: (name: string) => boolean) => void} */
  write({ cargo, state, coupled }, { past, next }, differs) {
    const read = [...cargo].filter(([name]) => differs(name)),
      { hitch, unhitch, bars } = coupled;
    const touched = read.length || hitch.length || unhitch.length || Object.keys(bars).length;
    this.slate.write(touched || past.length || next.length ? { read, state, coupled, past, next } : null);
  }

  forget() {
    this.slate.write(null);
  }

  /** @type {(place: HTMLElement, left: Page.Left<{ read: unknown[], coupled: Page.Coupled }>, undo: () => void) => void} */
  say(place, { when, read, coupled }, undo) {
    if (!read.length && !coupled.hitch.length && !coupled.unhitch.length && !Object.keys(coupled.bars).length) return;
    const old = Date.now() - when > OLD,
      button = make("button", "As it was weighed", { type: "button" });
    const things = read.length ? `${read.length} thing${read.length === 1 ? "" : "s"}` : "how it is hitched";
    const row = make("div", "", "row");
    button.onclick = () => {
      place.hidden = true;
      undo();
    };
    row.append(button);
    place.classList.toggle("doubt", old);
    place.replaceChildren(
      make("p", `What was changed${old ? ` ${ago(when)}` : ""} and not kept as a state is back: ${things}.`),
      row,
    );
    place.hidden = false;
  }
}
