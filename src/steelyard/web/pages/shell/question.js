// Questions, one after the other: none opens over another dialog that a person is busy with.

import { $, element, make } from "./dom.js";

/** @type {Promise<number | null>} */
let last = Promise.resolve(null);

/**
 * Resolves to the number of the answer; null where the question was only closed. `main` is the one that stands out.
 * @param {string} title
 * @param {string[]} lines
 * @param {string[]} answers
 * @returns {Promise<number | null>}
 */
export function ask(title, lines, answers, { main = 0 } = {}) {
  last = last.then(() => free()).then(() => put(title, lines, answers, main));
  return last;
}

/** @type {() => Promise<void>} */
async function free() {
  for (;;) {
    const open = document.querySelector("dialog[open]");
    if (!open) return;
    await new Promise((done) => {
      open.addEventListener("close", done, { once: true });
    });
    await new Promise((done) => {
      setTimeout(done);
    }); // the keypad closes for a moment between two wheels
  }
}

/** @type {(title: string, lines: string[], answers: string[], main: number) => Promise<number | null>} */
function put(title, lines, answers, main) {
  const dialog = element("question", HTMLDialogElement);
  $("question-head").textContent = title;
  $("question-body").replaceChildren(...lines.map((words) => make("p", words)));
  return new Promise((resolve) => {
    const buttons = answers.map((words, number) => {
      const button = make("button", words, { type: "button", className: number === main ? "main" : "" });
      button.onclick = () => {
        dialog.close(String(number));
      };
      return button;
    });
    $("question-acts").replaceChildren(...buttons);
    dialog.onclose = () => resolve(dialog.returnValue === "" ? null : Number(dialog.returnValue));
    dialog.returnValue = "";
    dialog.showModal();
  });
}
