// The strip of states at the pads: one of them is pressed, and the strip fades at the right while there are more.

import { $, closest, element, every, first, make } from "./dom.js";
import { stateWords } from "./place-words.js";

const EDGE = 3; // px around the states, where the focus shows
const MANY = 8; // states from which on they are searched
const FADED = 43; // px at the right of the strip, where it fades while there are more states

export class StateStrip {
  /** @param {(id: string) => void} onChoose */
  constructor(onChoose) {
    this.box = $("states");
    this.box.addEventListener("scroll", () => this.fade(), { passive: true });
    addEventListener("resize", () => this.fade());
    this.box.addEventListener("click", (event) => {
      const button = closest(event.target, "[data-state]");
      if (button) this.choose(button.dataset.state ?? "");
    });
    this.onChoose = onChoose;
    this.search = element("find-state", HTMLInputElement);
    this.search.addEventListener("input", () => this.filter());
    this.search.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && this.search.value) this.clear();
      else if (event.key === "Enter") {
        const [one] = this.found();
        if (one) this.choose(one.dataset.state ?? "");
      } else return;
      event.preventDefault();
    });
    this.search.hidden = this.tabs().length < MANY;
  }

  tabs() {
    return every(this.box, "[data-state]", HTMLElement);
  }

  found() {
    return this.tabs().filter((tab) => !tab.hidden);
  }

  /** @param {string} id */
  choose(id) {
    this.clear();
    this.onChoose(id);
  }

  clear() {
    this.search.value = "";
    this.filter();
  }

  // The states that have every word that is typed; one says how many there are.
  filter() {
    const words = this.search.value.toLowerCase().split(/\s+/).filter(Boolean);
    for (const tab of this.tabs()) {
      const text = (tab.textContent ?? "").toLowerCase();
      tab.hidden = !words.every((word) => text.includes(word));
    }
    const count = this.found().length;
    $("find-says").textContent = words.length ? `${count || "No"} state${count === 1 ? "" : "s"}` : "";
    this.box.scrollLeft = 0;
    this.fade();
  }

  // The state that is pressed, brought into view sideways only: the page under the hand must not move.
  /** @param {string} id */
  press(id) {
    for (const button of every(this.box, "[data-state]", HTMLElement))
      button.setAttribute("aria-pressed", String(button.dataset.state === id));
    const tab = first(this.box, `[data-state="${CSS.escape(id)}"]`, HTMLElement);
    if (!tab) return;
    const left = tab.offsetLeft - this.box.offsetLeft;
    const right = left + tab.offsetWidth + FADED;
    if (left - EDGE < this.box.scrollLeft) this.box.scrollLeft = left - EDGE;
    else if (right > this.box.scrollLeft + this.box.clientWidth) this.box.scrollLeft = right - this.box.clientWidth;
    this.fade();
  }

  /** @param {string} id */
  add(id) {
    const button = make("button", stateWords(id), { type: "button", dir: "auto" });
    button.dataset.state = id;
    button.setAttribute("aria-pressed", "false");
    this.box.append(button);
    this.search.hidden = this.tabs().length < MANY;
    this.fade();
  }

  fade() {
    this.box.classList.toggle("more", this.box.scrollLeft + this.box.clientWidth < this.box.scrollWidth - 4);
  }
}
