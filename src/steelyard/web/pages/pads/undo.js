// One step back: a button that appears after an act and stays until the next one, with Ctrl+Z for it.

import { $, every } from "./dom.js";

/** @type {(target: EventTarget | null) => boolean} */
const writes = (target) =>
  target instanceof HTMLTextAreaElement ||
  (target instanceof HTMLInputElement && !["checkbox", "radio", "file"].includes(target.type));

class Undo {
  constructor() {
    /** @type {(() => void) | null} */
    this.act = null;
    this.buttons = every(document, "[data-undo]", HTMLButtonElement);
    for (const button of this.buttons) button.addEventListener("click", () => this.run());
    addEventListener("keydown", (event) => {
      if (!(event.ctrlKey || event.metaKey) || event.shiftKey || event.key.toLowerCase() !== "z") return;
      if (!this.act || writes(event.target)) return;
      event.preventDefault();
      this.run();
    });
  }

  // `words`: what was done, as in "1L was 2,180". `button`: whether one shows it; the keys do it in any case.
  /** @type {(words: string, act: () => void, given?: { button?: boolean }) => void} */
  offer(words, act, { button = true } = {}) {
    this.act = act;
    for (const one of this.buttons) {
      one.hidden = !button;
      one.textContent = one.dataset.undo === "short" ? "Undo" : `Undo: ${words}`;
    }
    $("undo-says").textContent = button ? `Can be undone: ${words}` : "";
  }

  clear() {
    this.act = null;
    for (const one of this.buttons) one.hidden = true;
    $("undo-says").textContent = "";
  }

  run() {
    const { act } = this;
    this.clear();
    act?.();
    $("undo-says").textContent = "Undone.";
  }
}

export const undo = new Undo();
