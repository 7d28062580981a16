// Writes figures and fills into the drawing that the page came with. It draws nothing itself.

import { every, make, only } from "./dom.js";

const FULL = 92; // the trough's width in the drawing
const LANE = 5; // from a plate to what is said beside it

export class Rig {
  // onChoose: null on a device that only looks; a plate is then nothing to press
  /** @param {HTMLElement} root @param {{ format: (value: number) => string, onChoose: ((place: string) => void) | null }} given */
  constructor(root, { format, onChoose }) {
    this.root = root;
    this.format = format;
    /** @type {Map<string, SVGElement>} */
    this.wheels = new Map();
    this.words = root.appendChild(make("p", "", { className: "wheel-says", hidden: true }));
    this.svg = only(root, "svg", SVGSVGElement);
    for (const node of every(root, ".wheel", SVGElement)) {
      const place = node.dataset.place ?? "";
      this.wheels.set(place, node);
      if (!onChoose) {
        node.setAttribute("role", "img");
        node.removeAttribute("tabindex");
        node.classList.add("still");
        continue;
      }
      const choose = () => onChoose(place);
      node.addEventListener("click", choose);
      node.addEventListener("keydown", (event) => {
        if (event.key === "Enter" || event.key === " ") {
          event.preventDefault();
          choose();
        }
      });
    }
  }

  /** @type {() => string[]} */
  places() {
    return [...this.wheels.keys()];
  }

  // Those on the ground: a platform on the towing vehicle is there only if somebody puts it there.
  grounded() {
    return this.places().filter((place) => !this.aboard(place));
  }

  /** @type {(place: string) => boolean} */
  aboard(place) {
    return Boolean(this.wheels.get(place)?.classList.contains("aboard"));
  }

  /** @type {(place: string) => string} */
  spoken(place) {
    return this.wheels.get(place)?.dataset.spoken ?? place;
  }

  /** @type {(place: string | null) => void} */
  choose(place) {
    for (const [name, node] of this.wheels) node.classList.toggle("chosen", name === place);
  }

  /** @type {(place: string) => void} */
  focus(place) {
    this.wheels.get(place)?.focus();
  }

  // A sentence beside one wheel, in the lane between the plates; null takes it away.
  /** @type {(place: string | undefined, words: string | null | undefined) => void} */
  say(place, words) {
    this.words.hidden = !words;
    const node = place === undefined ? undefined : this.wheels.get(place);
    if (!words || !node) return;
    set(this.words, words);
    const plate = only(node, ".plate", SVGGraphicsElement).getBBox();
    const sheet = this.svg.viewBox.baseVal;
    const left = plate.x + plate.width / 2 < sheet.width / 2;
    this.words.classList.toggle("right", !left);
    const on = this.svg.getScreenCTM();
    if (!on) return; // it is not drawn
    const box = this.root.getBoundingClientRect();
    const side = plate.width + LANE;
    Object.assign(this.words.style, {
      left: `${on.e + side * on.a - box.left}px`,
      width: `${(sheet.width - 2 * side) * on.a}px`,
      top: `${on.f + (plate.y + plate.height / 2) * on.d - box.top}px`,
    });
  }

  // reading: { value, pad, moving, old, trouble, wrong } or null; planned: the pad that a plan puts there
  /** @type {(place: string, reading: Page.Shown | null, rating?: number, planned?: string) => void} */
  show(place, reading, rating, planned) {
    const node = this.wheels.get(place);
    if (!node) return;
    const value = reading?.value ?? null;
    const share = value !== null && rating ? value / rating : 0;
    const words = reading?.trouble ?? (value === null ? "–" : this.format(value));
    set(only(node, ".load", Element), words);
    const old = value !== null && reading?.old ? `${reading.old} s old` : "";
    const next = planned && value === null ? `${planned} next` : "";
    set(only(node, ".pad", Element), old || next || (reading?.pad ?? ""));
    only(node, ".fill", Element).setAttribute("width", String(Math.round(Math.min(Math.max(share, 0), 1.08) * FULL)));
    only(node, ".limit", Element).toggleAttribute("hidden", !rating);
    node.classList.toggle("read", value !== null);
    node.classList.toggle("moving", Boolean(reading?.moving) && !old);
    node.classList.toggle("old", Boolean(old));
    node.classList.toggle("planned", Boolean(next));
    node.classList.toggle("trouble", Boolean(reading?.trouble));
    node.classList.toggle("wrong", Boolean(reading?.wrong));
    node.classList.toggle("over", share > 1);
    const state =
      reading?.trouble ??
      (value === null
        ? "not read"
        : `${this.format(value)}${old ? `, ${old}` : reading?.moving ? ", moving" : ""}${share > 1 ? ", over its rating" : ""}`);
    const plan = next ? `, the plan has ${planned} here next` : "";
    const label = `${node.dataset.spoken}: ${state}${reading?.pad ? `, on ${reading.pad}` : ""}${plan}`;
    if (node.getAttribute("aria-label") !== label) node.setAttribute("aria-label", label);
  }
}

/** @type {(node: Element, text: string) => void} */
function set(node, text) {
  if (node.textContent !== text) node.textContent = text;
}
