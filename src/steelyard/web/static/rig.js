// Writes figures and fills into the drawing that the page came with. It draws nothing itself.

const FULL = 92; // the trough's width in the drawing

export class Rig {
  constructor(root, { format, onChoose }) {
    this.root = root;
    this.format = format;
    this.wheels = new Map();
    for (const node of root.querySelectorAll(".wheel")) {
      const place = node.dataset.place;
      this.wheels.set(place, node);
      const choose = () => onChoose(place);
      node.addEventListener("click", choose);
      node.addEventListener("keydown", (event) => {
        if (event.key === "Enter" || event.key === " ") { event.preventDefault(); choose(); }
      });
    }
  }

  places() { return [...this.wheels.keys()]; }

  spoken(place) { return this.wheels.get(place)?.dataset.spoken ?? place; }

  choose(place) {
    for (const [name, node] of this.wheels) node.classList.toggle("chosen", name === place);
  }

  focus(place) { this.wheels.get(place)?.focus(); }

  // reading: { value, pad, moving, trouble } or null
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
    node.classList.toggle("over", share > 1);
    const state = reading?.trouble ?? (value === null ? "not read" : `${this.format(value)}${reading.moving ? ", moving" : ""}${share > 1 ? ", over its rating" : ""}`);
    const label = `${node.dataset.spoken}: ${state}${reading?.pad ? `, on ${reading.pad}` : ""}`;
    if (node.getAttribute("aria-label") !== label) node.setAttribute("aria-label", label);
  }
}

function set(node, text) {
  if (node.textContent !== text) node.textContent = text;
}
