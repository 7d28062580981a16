// Where the pads stand: from what was read before, changed by hand, or told by the simulator.

import { $, make } from "./dom.js";
import { called } from "./place-words.js";

export class PadPlaces {
  /** @param {Page.Pads} day @param {() => void} changed */
  constructor(day, changed) {
    this.day = day;
    this.changed = changed;
    this.names = Object.keys(day.instruments);
    /** @type {Map<string, string>} */
    this.at = new Map(); // pad -> place
    /** @type {Map<string, string>} */
    this.before = new Map(); // place -> pad, as last read
    for (const draft of day.drafts) this.remember(draft.readings);
  }

  /** @type {(readings: Page.Readings) => void} */
  remember(readings) {
    for (const [place, [pad]] of Object.entries(readings)) this.before.set(place, pad);
  }

  /** @type {(place: string) => string | undefined} */
  usual(place) {
    return this.before.get(place);
  }

  /** @type {(place: string) => string | undefined} */
  padAt(place) {
    for (const [pad, at] of this.at) if (at === place) return pad;
    return undefined;
  }

  /** @type {(pad: string, place: string) => void} */
  set(pad, place) {
    for (const [other, at] of this.at) if (at === place) this.at.delete(other);
    if (place) this.at.set(pad, place);
    else this.at.delete(pad);
  }

  // Keep what fits the drawing; with nothing left, put the pads under the first wheels that they suit.
  /** @type {(places: string[]) => void} */
  fit(places) {
    for (const [pad, place] of this.at) if (!places.includes(place)) this.at.delete(pad);
    if (this.at.size === 0) this.put(this.sets(places)[0]?.places ?? []);
  }

  /** @type {(places: string[]) => void} */
  put(places) {
    this.at.clear();
    const free = new Set(this.names);
    for (const place of places) {
      const usual = this.before.get(place);
      const pad = usual && free.has(usual) ? usual : [...free][0];
      if (!pad) break;
      free.delete(pad);
      this.at.set(pad, place);
    }
  }

  /** @type {(places: Record<string, string>, rig: import("./rig.js").Rig) => void} */
  follow(places, rig) {
    if (!Object.values(places).every((place) => rig.wheels.has(place))) return;
    this.at = new Map(Object.entries(places));
  }

  // Wheels left and right of one axle that have a pad each.
  /** @type {() => [left: string, right: string][]} */
  pairs() {
    const stands = [...this.at.values()];
    return stands.flatMap((place) => {
      const right = place.replace(/L$/, "R");
      return place.endsWith("L") && stands.includes(right) ? [/** @type {[string, string]} */ ([place, right])] : [];
    });
  }

  // Each pad of a pair goes to the other side of its axle.
  swap() {
    for (const [left, right] of this.pairs()) {
      const [one, other] = [this.padAt(left), this.padAt(right)];
      if (one) this.at.set(one, right);
      if (other) this.at.set(other, left);
    }
  }

  // Sets of wheels that the pads can stand under together, along the rig.
  /** @type {(places: string[]) => { words: string, places: string[] }[]} */
  sets(places) {
    const wheels = places.filter((place) => !place.endsWith("/coupling"));
    const size = Math.max(this.names.length - (this.names.length % 2), 1);
    const found = [];
    for (const vehicle of new Set(wheels.map((place) => place.split("/")[0]))) {
      const own = wheels.filter((place) => place.startsWith(`${vehicle}/`));
      for (let start = 0; start < own.length; start += size) {
        const part = own.slice(start, start + size);
        const ends = part.map((place) => place.split("/")[1]);
        found.push({ words: `${this.day.vehicles[vehicle] ?? vehicle} ${ends[0]} to ${ends.at(-1)}`, places: part });
      }
    }
    return found;
  }

  /** @type {(dialog: HTMLDialogElement, rig: import("./rig.js").Rig) => void} */
  open(dialog, rig) {
    const places = rig.places();
    const sets = this.sets(places).map(({ words, places: set }) => {
      const button = make("button", words, { type: "button", dir: "auto" });
      button.onclick = () => {
        this.put(set);
        this.fill(places);
        this.changed();
      };
      return button;
    });
    $("pad-sets").replaceChildren(...sets);
    this.fill(places);
    dialog.showModal();
  }

  /** @type {(places: string[]) => void} */
  fill(places) {
    const rows = this.names.map((name) => {
      const field = make("div", "", "field");
      const id = `pad-${name}`;
      const label = make("label", name, { htmlFor: id });
      const select = make("select", "", { id });
      select.append(
        new Option("nowhere", ""),
        ...places.map(
          (place) => new Option(called(this.day.vehicles, place), place, false, this.at.get(name) === place),
        ),
      );
      select.onchange = () => {
        this.set(name, select.value);
        this.fill(places);
        this.changed();
        $(id).focus();
      };
      field.append(label, select);
      return field;
    });
    $("pad-places").replaceChildren(...rows);
  }
}
