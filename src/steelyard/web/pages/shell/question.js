// Questions, one after the other: none opens over another dialog that a person is busy with.

import { element } from "./dom.js";

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

function put(title, lines, answers, main) {
  const dialog = element("question", HTMLDialogElement);
  document.getElementById("question-head").textContent = title;
  document
    .getElementById("question-body")
    .replaceChildren(...lines.map((words) => Object.assign(document.createElement("p"), { textContent: words })));
  return new Promise((resolve) => {
    const buttons = answers.map((words, number) => {
      const button = Object.assign(document.createElement("button"), {
        type: "button",
        textContent: words,
        className: number === main ? "main" : "",
      });
      button.onclick = () => {
        dialog.close(String(number));
      };
      return button;
    });
    document.getElementById("question-acts").replaceChildren(...buttons);
    dialog.onclose = () => resolve(dialog.returnValue === "" ? null : Number(dialog.returnValue));
    dialog.returnValue = "";
    dialog.showModal();
  });
}
