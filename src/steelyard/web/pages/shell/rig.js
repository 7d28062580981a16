// Writes figures and fills into the drawing that the page came with. It draws nothing itself.

const FULL = 92; // the trough's width in the drawing
const LANE = 5; // from a plate to what is said beside it

export class Rig {
  // onChoose: null on a device that only looks; a plate is then nothing to press
  constructor(root, { format, onChoose }) {
    this.root = root;
    this.format = format;
    this.wheels = new Map();
    this.words = root.appendChild(
      Object.assign(document.createElement("p"), { className: "wheel-says", hidden: true }),
    );
    for (const node of root.querySelectorAll(".wheel")) {
      const place = node.dataset.place;
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

  places() {
    return [...this.wheels.keys()];
  }

  // Those on the ground: a platform on the towing vehicle is there only if somebody puts it there.
  grounded() {
    return this.places().filter((place) => !this.aboard(place));
  }

  aboard(place) {
    return Boolean(this.wheels.get(place)?.classList.contains("aboard"));
  }

  spoken(place) {
    return this.wheels.get(place)?.dataset.spoken ?? place;
  }

  choose(place) {
    for (const [name, node] of this.wheels) node.classList.toggle("chosen", name === place);
  }

  focus(place) {
    this.wheels.get(place)?.focus();
  }

  // A sentence beside one wheel, in the lane between the plates; null takes it away.
  say(place, words) {
    this.words.hidden = !words;
    if (!words) return;
    set(this.words, words);
    const node = this.wheels.get(place);
    const plate = node.querySelector(".plate").getBBox();
    const sheet = this.root.querySelector("svg").viewBox.baseVal;
    const left = plate.x + plate.width / 2 < sheet.width / 2;
    this.words.classList.toggle("right", !left);
    const on = this.root.querySelector("svg").getScreenCTM();
    const box = this.root.getBoundingClientRect();
    const side = plate.width + LANE;
    Object.assign(this.words.style, {
      left: `${on.e + side * on.a - box.left}px`,
      width: `${(sheet.width - 2 * side) * on.a}px`,
      top: `${on.f + (plate.y + plate.height / 2) * on.d - box.top}px`,
    });
  }

  // reading: { value, pad, moving, trouble, wrong } or null
  show(place, reading, rating) {
    const node = this.wheels.get(place);
    if (!node) return;
    const value = reading?.value ?? null;
    const share = value !== null && rating ? value / rating : 0;
    const words = reading?.trouble ?? (value === null ? "–" : this.format(value));
    set(node.querySelector(".load"), words);
    set(node.querySelector(".pad"), reading?.pad ?? "");
    node.querySelector(".fill").setAttribute("width", String(Math.round(Math.min(Math.max(share, 0), 1.08) * FULL)));
    node.querySelector(".limit").toggleAttribute("hidden", !rating);
    node.classList.toggle("read", value !== null);
    node.classList.toggle("moving", Boolean(reading?.moving));
    node.classList.toggle("trouble", Boolean(reading?.trouble));
    node.classList.toggle("wrong", Boolean(reading?.wrong));
    node.classList.toggle("over", share > 1);
    const state =
      reading?.trouble ??
      (value === null
        ? "not read"
        : `${this.format(value)}${reading.moving ? ", moving" : ""}${share > 1 ? ", over its rating" : ""}`);
    const label = `${node.dataset.spoken}: ${state}${reading?.pad ? `, on ${reading.pad}` : ""}`;
    if (node.getAttribute("aria-label") !== label) node.setAttribute("aria-label", label);
  }
}

function set(node, text) {
  if (node.textContent !== text) node.textContent = text;
}
