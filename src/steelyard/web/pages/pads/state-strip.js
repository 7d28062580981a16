// The strip of states at the pads: one of them is pressed, and the strip fades at the right while there are more.

import { $, closest, every, first, make } from "./dom.js";

const EDGE = 3; // px around the states, where the focus shows
const FADED = 43; // px at the right of the strip, where it fades while there are more states

export class StateStrip {
  /** @param {(id: string) => void} onChoose */
  constructor(onChoose) {
    this.box = $("states");
    this.box.addEventListener("scroll", () => this.fade(), { passive: true });
    addEventListener("resize", () => this.fade());
    this.box.addEventListener("click", (event) => {
      const button = closest(event.target, "[data-state]");
      if (button) onChoose(button.dataset.state ?? "");
    });
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
    const button = make("button", id, { type: "button" });
    button.dataset.state = id;
    button.setAttribute("aria-pressed", "false");
    this.box.append(button);
    this.fade();
  }

  fade() {
    this.box.classList.toggle("more", this.box.scrollLeft + this.box.clientWidth < this.box.scrollWidth - 4);
  }
}
