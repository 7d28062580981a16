// The keypad: big keys for gloves, and a real keyboard works as well.

import { closest, only } from "./dom.js";

const LONGEST = 7;

export class Keypad {
  /** @param {HTMLDialogElement} dialog @param {Page.KeypadHooks} hooks */
  constructor(dialog, hooks) {
    this.dialog = dialog;
    this.hooks = hooks;
    this.place = "";
    this.text = "";
    this.fresh = true;
    this.insisting = false;
    this.shown = only(dialog, "output", HTMLOutputElement);
    this.warning = only(dialog, "#keypad-warn", HTMLElement);
    this.pad = only(dialog, "select", HTMLSelectElement);
    this.onward = only(dialog, "[data-act=next]", HTMLButtonElement);
    this.end = only(dialog, "[data-act=keep]", HTMLButtonElement);
    dialog.addEventListener("click", (event) => {
      const button = closest(event.target, "button");
      if (button?.dataset.digit) this.digit(button.dataset.digit);
      else if (button?.dataset.act) this.act(button.dataset.act);
      else if (event.target === dialog) this.close();
    });
    dialog.addEventListener("keydown", (event) => {
      if (event.target === this.pad && event.key !== "Enter") return;
      if (event.target instanceof HTMLInputElement) return; // a photo is chosen there
      if (/^[0-9.,]$/.test(event.key)) this.digit(event.key);
      else if (event.key === "Backspace") this.act("rub");
      else if (event.key === "Delete") this.act("clear");
      else if (event.key === "Enter" && !closest(event.target, "button:not([data-digit]):not([data-act=next])"))
        this.act("next");
      else return;
      event.preventDefault();
    });
    dialog.addEventListener("close", () => this.hooks.closed(this.place));
    only(dialog, "form", HTMLFormElement).addEventListener("submit", (event) => event.preventDefault());
    this.pad.addEventListener("change", () => {
      this.hooks.pad(this.place, this.pad.value);
      this.judge();
    });
  }

  /** @type {(place: string, given: { title: string, value: string, instruments: string[], instrument: string }) => void} */
  open(place, { title, value, instruments, instrument }) {
    this.place = place;
    this.text = value ?? "";
    this.fresh = true;
    this.insisting = false;
    only(this.dialog, "h2", HTMLElement).textContent = title;
    this.pad.replaceChildren(...instruments.map((name) => new Option(name, name, false, name === instrument)));
    closest(this.pad, ".row")?.toggleAttribute("hidden", instruments.length < 2);
    this.paint();
    if (!this.dialog.open) {
      this.dialog.showModal();
      this.onward.focus();
    }
  }

  close() {
    this.dialog.close();
  }

  /** @type {(digit: string) => void} */
  digit(digit) {
    if (this.fresh) this.text = "";
    this.fresh = false;
    if (/[.,]/.test(digit))
      digit = this.text === "" ? `0${digit}` : this.text.includes(digit) || /[.,]$/.test(this.text) ? "" : digit;
    if (this.text.length < LONGEST) this.text += digit;
    this.changed();
  }

  /** @type {(what: string) => void} */
  act(what) {
    this.fresh = false;
    if (what === "rub") this.text = this.text.slice(0, -1);
    else if (what === "clear") this.text = "";
    else if (what === "close") return this.close();
    else if (what === "next" || what === "keep") return this.hooks.next(this.place, { ends: what === "keep" });
    this.changed();
  }

  changed() {
    this.hooks.typed(this.place, this.text === "" ? null : this.text);
    this.paint();
  }

  paint() {
    this.shown.textContent = this.text === "" ? "–" : this.text;
    this.judge();
  }

  // Onward only from what can be: otherwise the refusal comes when the rig has left. Half a number is no mistake, so
  // nothing is said before that; from then on until it is put right.
  insist() {
    this.insisting = true;
    this.warning.textContent = "";
    setTimeout(() => this.judge()); // said again to who does not see it
  }

  // What is to be known of the wheel before.
  /** @type {(words: string) => void} */
  say(words) {
    this.warning.textContent = words;
  }

  judge() {
    const words = this.text === "" || !this.insisting ? "" : this.hooks.warn(this.place, this.text);
    this.warning.textContent = words;
    for (const name of ["stops", "insists"]) this.warning.classList.toggle(name, Boolean(words));
    this.onward.textContent = this.hooks.nextWords(this.place);
    this.end.hidden = !this.hooks.endsHere(this.place);
  }
}
