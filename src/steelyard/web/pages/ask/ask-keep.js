// What was asked, kept as a state of the day.

import { call, makeKey, passes, wordsOf } from "./api.js";
import { day, differs, now, wanted } from "./ask-now.js";
import { $, element, make, maybe } from "./dom.js";
import { keep, onChange } from "./outbox.js";

const KEPT = "a state without drafts, a prediction";

// A free name, of the state that was asked about and what was changed in it.
/** @type {() => string} */
function suggested() {
  const what = [...now.cargo.keys()].find(differs) ?? "changed",
    name = `${now.state}_${what}`.replace(/[^A-Za-z0-9_-]/g, "_").slice(0, 36);
  let free = name;
  for (let number = 2; free in day.states || taken.has(free); number += 1) free = `${name}_${number}`;
  return free;
}
/** @type {Set<string>} names of states that were kept here */
const taken = new Set();

// Where the kept state is shown.
/** @type {(name: string, words: string) => void} */
function say(name, words) {
  $("keep-says").replaceChildren(
    `${words} `,
    make("a", "Ask about it", { href: `?state=${encodeURIComponent(name)}` }),
    " or ",
    make("a", "see it at the bench", { href: `${day.links.bench}#s-${encodeURIComponent(name)}` }),
    ".",
  );
}

/** @type {(done: () => void) => void} */
export function keeping(done) {
  const part = maybe("keep-it", HTMLDetailsElement);
  part?.addEventListener("toggle", () => {
    const field = element("keep-name", HTMLInputElement);
    if (part.open && (!field.value || field.value === field.dataset.suggested))
      field.dataset.suggested = field.value = suggested();
  });
  maybe("keep", HTMLElement)?.addEventListener("submit", async (event) => {
    event.preventDefault();
    const name = element("keep-name", HTMLInputElement).value.trim(),
      said = $("keep-says");
    if (!/^[A-Za-z0-9_-]{1,40}$/.test(name)) {
      said.textContent = "A name has letters, digits, - and _, no spaces.";
      return;
    }
    now.key = now.key?.name === name ? now.key : { name, key: makeKey() };
    const { key } = now.key,
      sent = wanted(),
      json = { ...sent, name, key };
    /** @type {(words: string) => void} */
    const kept = (words) => {
      for (const { name: thing, x, y } of sent.add) if (thing) now.ours.set(thing, { x, y });
      taken.add(name);
      done();
      say(name, words);
    };
    try {
      const arrived = await call("POST", day.links.keep, { json }).catch((error) => {
        if (!passes(error)) throw error;
        return null;
      });
      if (!arrived)
        await keep({ day: day.day, what: "scenario", key, method: "POST", url: day.links.keep, json, shown: name });
      kept(
        arrived
          ? `Kept as ${name}: ${KEPT}.`
          : `Kept as ${name} on this device; it goes to the station by itself when that answers. After that:`,
      );
    } catch (error) {
      said.textContent = `Not kept: ${wordsOf(error).replace(/\.$/, "")}.`;
    }
  });
  onChange(({ sent }) => {
    if (sent?.item.what !== "scenario" || sent.item.key !== now.key?.key) return;
    const { shown } = sent.item;
    if (sent.answer) say(shown, `Kept as ${shown}: ${KEPT}.`);
    else
      $("keep-says").textContent =
        `Not kept as ${shown}: ${`${sent.item.refused}`.replace(/\.$/, "")}. At the pads it can be thrown away.`;
  });
}
