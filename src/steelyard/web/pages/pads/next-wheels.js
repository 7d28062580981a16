// Which wheels to read next: those of the plan where there is one, else what is not known yet, else the pads swapped.

import { inState, rank } from "./finding-id.js";
import { called, day, names, now, paint, places, rigs, shown } from "./at-the-pads.js";
import { stateWords } from "./place-words.js";

const ORDER = ["gross", "load", "axle", "side", "wheel"];

/** @typedef {{ words: string, act: { words: string, run: () => void } | null }} Next */

/**
 * @param {Api.Findings} after
 * @param {string} state
 * @param {{ planned: { words: string, run: () => void } | null, read: (state: string, place: string) => void }} ways
 * @returns {Next}
 */
export function nextWheels(after, state, { planned, read }) {
  if (planned) return { words: planned.words, act: { words: "Go there", run: planned.run } };
  return unknown(after, state, read) ?? swap();
}

// The finding that matters most of those that are not known, and what would tell it.
/** @type {(after: Api.Findings, state: string, read: (state: string, place: string) => void) => Next | null} */
function unknown(after, state, read) {
  const open = after.findings
    .filter((item) => !item.determined && item.needs.length && inState(item.id, state))
    .sort((a, b) => rank(a.id, ORDER) - rank(b.id, ORDER));
  const [item] = open,
    need = item?.needs[0];
  if (!need) return null;
  const { wheels } = rigs.get(day.states[need.state]?.rig)?.rig ?? { wheels: new Map() };
  const drawn = need.places.filter((place) => wheels.has(place));
  const where = need.state === state ? "" : ` in ${stateWords(need.state)}`;
  const words = `${label(item.label, state)} is not known yet. Read ${need.places.map(called).join(", ")}${where}.`;
  const place = drawn[0];
  return { words, act: place ? { words: "Read them", run: () => read(need.state, place) } : null };
}

/** @type {() => Next} */
function swap() {
  const pairs = places.pairs();
  const known = "All of this state is known.";
  if (!pairs.length || names.length < 2)
    return { words: `${known} Read the same wheels again, or go on to the next state.`, act: null };
  const words = `${known} The same wheels with the pads swapped tell whether one reads wrong.`;
  return {
    words,
    act: {
      words: "Swap the pads",
      run: () => {
        if (now.read.size) return;
        places.swap();
        paint();
        shown().focus(pairs[0][0]);
      },
    },
  };
}

// A finding's label without the state that is shown anyway.
/** @type {(words: string, state: string) => string} */
export const label = (words, state) => words.replace(`${state}: `, "");
