// What was asked, kept as a state of the day.

import { Away, call, makeKey, wordsOf } from "./api.js";
import { day, now, wanted } from "./ask-now.js";
import { $, element, make, maybe } from "./dom.js";

/** @type {(done: () => void) => void} */
export function keeping(done) {
  maybe("keep", HTMLElement)?.addEventListener("submit", async (event) => {
    event.preventDefault();
    const name = element("keep-name", HTMLInputElement).value.trim(),
      said = $("keep-says");
    if (!/^[A-Za-z0-9_-]{1,40}$/.test(name)) {
      said.textContent = "A name has letters, digits, - and _, no spaces.";
      return;
    }
    now.key = now.key?.name === name ? now.key : { name, key: makeKey() };
    try {
      const sent = wanted();
      await call("POST", day.links.keep, { json: { ...sent, name, key: now.key.key } });
      for (const { name: thing, x, y } of sent.add) if (thing) now.ours.set(thing, { x, y });
      done();
      said.replaceChildren(
        `Kept as ${name}: a state without drafts, a prediction. `,
        make("a", "Ask about it", { href: `?state=${encodeURIComponent(name)}` }),
        " or ",
        make("a", "see it at the bench", { href: `${day.links.bench}#s-${encodeURIComponent(name)}` }),
        ".",
      );
    } catch (error) {
      said.textContent =
        error instanceof Away
          ? "Not kept: the station does not answer. Try again when it does."
          : `Not kept: ${wordsOf(error).replace(/\.$/, "")}.`;
    }
  });
}
