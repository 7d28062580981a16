// What was put on, taken off, moved or hitched and not kept as a state: there again after a reload, until it is kept.

import { OLD, Slate, ago } from "./slate.js";

export class Changes {
  constructor(day) {
    this.slate = new Slate(`asked ${day}`);
  }

  // What was left, if the day still has its state.
  read(states) {
    const left = this.slate.read(),
      { coupled } = left ?? {};
    return left && states[left.state] && Array.isArray(coupled?.hitch) && Array.isArray(coupled.unhitch) && coupled.bars
      ? left
      : null;
  }

  begin() {
    this.slate.begin();
  }

  write({ cargo, state, coupled }, differs) {
    const read = [...cargo].filter(([name]) => differs(name)),
      { hitch, unhitch, bars } = coupled;
    const touched = read.length || hitch.length || unhitch.length || Object.keys(bars).length;
    this.slate.write(touched ? { read, state, coupled } : null);
  }

  forget() {
    this.slate.write(null);
  }

  say(place, { when, read }, undo) {
    const old = Date.now() - when > OLD,
      button = Object.assign(document.createElement("button"), { type: "button", textContent: "As it was weighed" });
    const things = read.length ? `${read.length} thing${read.length === 1 ? "" : "s"}` : "how it is hitched";
    const row = Object.assign(document.createElement("div"), { className: "row" });
    button.onclick = () => {
      place.hidden = true;
      undo();
    };
    row.append(button);
    place.classList.toggle("doubt", old);
    place.replaceChildren(
      Object.assign(document.createElement("p"), {
        textContent: `What was changed${old ? ` ${ago(when)}` : ""} and not kept as a state is back: ${things}.`,
      }),
      row,
    );
    place.hidden = false;
  }
}
