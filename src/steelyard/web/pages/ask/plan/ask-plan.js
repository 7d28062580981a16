// The rig from above with its cargo: plates with the load of each wheel, markers that can be moved, the load map beneath.

import { mapOf, movesOf } from "./ask-layers.js";
import { markerOf, untangle } from "./ask-marker.js";
import { HIGH, MIDDLE, WIDTH, body, draw, frame, platesOf, round } from "./ask-shapes.js";

/** @typedef {import("./ask-marker.js").Point} Point */
/** @typedef {import("./ask-marker.js").Marker} Marker */

const TOP = 30,
  LONGEST = 600,
  WIDEST = 90;

export class Plan {
  /** @param {HTMLElement} root @param {number} step @param {Page.PlanHooks} told */
  constructor(root, step, told) {
    this.root = root;
    this.step = step;
    this.told = told;
    /** @type {Map<string, Marker>} */
    this.markers = new Map();
    /** @type {Map<string, { node: SVGElement, load: SVGElement, mark: SVGElement, y: number }>} */
    this.plates = new Map();
    /** @type {SVGElement | undefined} */
    this.pinned = undefined;
    this.held = false;
    // of what is drawn; nothing is yet
    /** @type {Api.StandingRig} */
    this.whole = { length: 1, half: 1, tyre: 0, tread: 0, vehicles: [], couplings: [] };
    this.plan = this.whole;
    /** @type {string | null} */
    this.only = null;
    /** @type {Map<string, Api.StandingVehicle>} */
    this.vehicles = new Map();
    this.offset = 0;
    this.scale = 1;
    this.low = 0;
    this.svg = draw("svg");
    this.mapLayer = draw("g", { class: "map" });
    this.under = draw("g", { class: "lines", "aria-hidden": "true" });
    this.arrowLayer = draw("g", { class: "arrows", "aria-hidden": "true" });
    this.itemLayer = draw("g");
  }

  /** @type {(name: string) => Api.StandingVehicle} */
  vehicle(name) {
    const found = this.vehicles.get(name);
    if (!found) throw new Error(`${name} is not drawn`);
    return found;
  }

  /** @type {(along: number) => number} */
  down(along) {
    return TOP + (along - this.offset) * this.scale;
  }
  /** @type {(vehicle: Api.StandingVehicle, x: number) => number} */
  y(vehicle, x) {
    return this.down(vehicle.origin + x);
  }
  /** @type {(y: number) => number} */
  x(y) {
    return MIDDLE - y * this.scale;
  }
  /** @type {(y: number) => number} */
  seen(y) {
    return Math.min(Math.max(y, 26), this.low - 32);
  } // what stands beyond the drawing is shown at its edge

  // only: the one vehicle to be shown, larger; null for the whole rig.
  /** @type {(whole: Api.StandingRig, only?: string | null) => void} */
  draw(whole, only = null) {
    const vehicles = whole.vehicles.filter((vehicle) => only === null || vehicle.id === only);
    const couplings = whole.couplings.filter((item) => only === null || item.trailer === only);
    const plan = (this.plan = { ...whole, vehicles, couplings });
    this.whole = whole;
    this.only = only;
    this.offset = only === null ? 0 : Math.min(vehicles[0].front, vehicles[0].towing ? Infinity : vehicles[0].origin);
    plan.length = only === null ? whole.length : Math.max(vehicles[0].rear, ...vehicles[0].couplings) - this.offset;
    this.scale = Math.min(LONGEST / plan.length, WIDEST / Math.max(...vehicles.map((vehicle) => vehicle.half)));
    this.vehicles = new Map(plan.vehicles.map((vehicle) => [vehicle.id, vehicle]));
    for (const layer of [this.mapLayer, this.under, this.arrowLayer, this.itemLayer]) layer.replaceChildren();
    const bodies = draw("g", { "aria-hidden": "true" }, ...plan.vehicles.map((vehicle) => body(this, vehicle)));
    const frames = draw(
      "g",
      { "aria-hidden": "true" },
      ...plan.vehicles.flatMap((vehicle) => frame(this, vehicle)),
      ...plan.couplings.map((item) =>
        draw("circle", {
          class: item.hitched ? "coupling" : "coupling open",
          cx: MIDDLE,
          cy: round(this.down(item.at)),
          r: 5.5,
        }),
      ),
    );
    const front = draw(
      "g",
      { "aria-hidden": "true" },
      draw("path", { class: "front", d: `M${MIDDLE} 6l6 11h-12z` }),
      Object.assign(draw("text", { class: "small", x: MIDDLE + 12, y: 16 }), { textContent: "front" }),
    );
    const plates = platesOf(this);
    const low =
      Math.max(TOP + plan.length * this.scale, ...[...this.plates.values()].map((plate) => plate.y + HIGH / 2)) + 26;
    this.low = low;
    this.svg = draw(
      "svg",
      {
        class: "rig asked",
        viewBox: `0 0 ${WIDTH} ${Math.ceil(low)}`,
        role: "group",
        "aria-label": `${plan.vehicles.map((vehicle) => vehicle.title).join(" and ")}, from above, front up`,
      },
      bodies,
      this.mapLayer,
      frames,
      this.under,
      plates,
      front,
      this.arrowLayer,
      this.itemLayer,
    );
    this.svg.addEventListener("click", (event) => this.tap(event));
    this.root.replaceChildren(this.svg);
    this.markers.clear();
  }

  /** @type {(loads: Map<string, string>, marks: Map<string, Page.Mark>) => void} */
  show(loads, marks) {
    for (const [id, plate] of this.plates) {
      plate.load.textContent = loads.get(id) ?? "–";
      const mark = marks.get(id);
      plate.mark.textContent = mark === "outside" ? "over" : mark === "undecided" ? "unsure" : "";
      plate.node.classList.toggle("trouble", mark === "outside");
      plate.node.classList.toggle("unsure", mark === "undecided");
    }
  }

  // ---- cargo ----

  /** @type {(items: Page.Drawn[], chosen: string | null) => void} */
  items(items, chosen) {
    const there = new Set();
    for (const item of items) {
      const vehicle = this.vehicles.get(item.on);
      if (!vehicle) continue;
      there.add(item.name);
      let marker = this.markers.get(item.name);
      if (!marker) {
        marker = markerOf(this, item);
        this.markers.set(item.name, marker);
        this.itemLayer.append(marker);
      }
      marker.setAttribute(
        "transform",
        `translate(${round(this.x(item.y))} ${round(this.seen(this.y(vehicle, item.x)))})`,
      );
      const label = `${item.title}, ${item.said}`;
      if (marker.getAttribute("aria-label") !== label) marker.setAttribute("aria-label", label);
      marker.setAttribute("aria-pressed", String(item.name === chosen));
      marker.classList.toggle("moved", Boolean(item.moved));
      marker.place = item;
    }
    for (const [name, marker] of this.markers)
      if (!there.has(name)) {
        marker.remove();
        this.markers.delete(name);
      }
    untangle(this, chosen);
  }

  /** @type {(marker: Marker) => Point} */
  spot(marker) {
    const vehicle = this.vehicle(marker.place.on);
    return { x: this.x(marker.place.y), y: this.seen(this.y(vehicle, marker.place.x)) };
  }

  // A place on a vehicle, on the grid of the step, where its body is.
  /** @type {(name: string, x: number, y: number) => [number, number]} */
  within(name, x, y) {
    const vehicle = this.vehicle(name);
    const low = Math.min(vehicle.front, vehicle.origin) - vehicle.origin,
      high = vehicle.rear - vehicle.origin;
    /** @type {(value: number) => number} */
    const snap = (value) => Number((Math.round(value / this.step) * this.step).toFixed(6));
    return [snap(Math.min(Math.max(x, low), high)), snap(Math.min(Math.max(y, -vehicle.half), vehicle.half))];
  }

  /** @type {(event: MouseEvent) => Point} */
  point(event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM()?.inverse());
    return { x: at.x, y: at.y };
  }

  // The vehicle under a place of the screen and where on it, or null.
  /** @type {(event: MouseEvent) => { vehicle: string, x: number, y: number } | null} */
  under_(event) {
    const at = this.point(event);
    for (const vehicle of this.plan.vehicles) {
      const along = (at.y - TOP) / this.scale + this.offset,
        across = (MIDDLE - at.x) / this.scale;
      if (
        along >= Math.min(vehicle.front, vehicle.origin) &&
        along <= vehicle.rear &&
        Math.abs(across) <= vehicle.half
      ) {
        const [x, y] = this.within(vehicle.id, along - vehicle.origin, across);
        return { vehicle: vehicle.id, x, y };
      }
    }
    return null;
  }

  /** @type {(event: MouseEvent) => void} */
  tap(event) {
    const place = this.under_(event);
    if (place) this.told.onTap(place.vehicle, place.x, place.y);
  }

  // ---- the map, the arrows ----

  /** @type {(vehicle: string, x: number, y: number) => void} */
  pin(vehicle, x, y) {
    this.pinned?.remove();
    this.pinned = draw("path", {
      class: "pin",
      d: "M-9 0H9M0 -9V9",
      transform: `translate(${round(this.x(y))} ${round(this.y(this.vehicle(vehicle), x))})`,
    });
    this.under.append(this.pinned);
  }

  /** @type {(data: Api.LoadMap | null) => void} */
  map(data) {
    mapOf(this, data);
  }

  /** @type {(moves: Page.Move[]) => void} */
  arrows(moves) {
    movesOf(this, moves);
  }
}
