// The rig from above with its cargo: plates with the load of each wheel, markers that can be moved, the load map beneath.

import { idText } from "./finding-id.js";
import { formatNumber } from "./number.js";

const NS = "http://www.w3.org/2000/svg";
const WIDTH = 366,
  MIDDLE = WIDTH / 2,
  TOP = 30,
  LONGEST = 600,
  WIDEST = 90,
  PLATE = 80,
  HIGH = 42,
  PITCH = 46,
  HIT = 50;

/** @typedef {{ x: number, y: number }} Point */
/** @typedef {SVGGElement & { place: Page.Drawn, label: SVGTextElement }} Marker */

// Which way along and across a key moves a thing.
/** @type {Record<string, [number, number] | undefined>} */
const WAYS = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, 1], ArrowRight: [0, -1] };

// What ends a drag.
/** @type {("pointerup" | "pointercancel")[]} */
const ENDS = ["pointerup", "pointercancel"];
/** @type {[number, number][]} */
const NO_POINTS = [];

/**
 * An element of a drawing.
 * @template {keyof SVGElementTagNameMap} K
 * @param {K} tag
 * @param {Record<string, string | number>} [attributes]
 * @param {Node[]} children
 * @returns {SVGElementTagNameMap[K]}
 */
export function draw(tag, attributes = {}, ...children) {
  const node = document.createElementNS(NS, tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, String(value));
  node.append(...children);
  return node;
}
/** @type {(value: number) => number} */
const round = (value) => Math.round(value * 10) / 10;

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
    const bodies = draw("g", { "aria-hidden": "true" }, ...plan.vehicles.map((vehicle) => this.body(vehicle)));
    const frames = draw(
      "g",
      { "aria-hidden": "true" },
      ...plan.vehicles.flatMap((vehicle) => this.frame(vehicle)),
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
    const plates = this.platesOf();
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

  /** @type {(vehicle: Api.StandingVehicle) => SVGPathElement} */
  body(vehicle) {
    const half = vehicle.half * this.scale,
      m = MIDDLE;
    const front = this.down(vehicle.front),
      rear = this.down(vehicle.rear),
      left = m - half,
      right = m + half;
    let d;
    if (vehicle.towing) {
      const r = 0.45 * half;
      d = `M${left} ${rear}V${front + 1.4 * r}Q${left} ${front} ${left + r} ${front}H${right - r}Q${right} ${front} ${right} ${front + 1.4 * r}V${rear}Z`;
    } else if (vehicle.neck !== null) {
      const neck = this.down(vehicle.neck),
        nose = 0.62 * half;
      d = `M${m - nose} ${front}H${m + nose}V${neck - half + nose}L${right} ${neck}V${rear}H${left}V${neck}L${m - nose} ${neck - half + nose}Z`;
    } else {
      d = `M${left} ${front}H${right}V${rear}H${left}ZM${m - 0.6 * half} ${front}L${m} ${this.down(vehicle.origin)}L${m + 0.6 * half} ${front}`;
    }
    return draw("path", { class: vehicle.neck === null ? "body" : "body over", d });
  }

  /** @type {(vehicle: Api.StandingVehicle) => SVGElement[]} */
  frame(vehicle) {
    /** @type {SVGElement[]} */
    const parts = [],
      length = this.plan.tyre * this.scale,
      tread = this.plan.tread * this.scale;
    const ends = [
      ...vehicle.axles.map((axle) => axle.at),
      ...vehicle.couplings,
      ...(vehicle.towing ? [] : [vehicle.origin]),
    ];
    parts.push(
      draw("path", { class: "frame", d: `M${MIDDLE} ${this.down(Math.min(...ends))}V${this.down(Math.max(...ends))}` }),
    );
    for (const axle of vehicle.axles) {
      const y = this.down(axle.at);
      parts.push(
        draw("path", {
          class: "frame",
          d: `M${MIDDLE - axle.half * this.scale} ${y}H${MIDDLE + axle.half * this.scale}`,
        }),
      );
      for (const side of [-1, 1]) {
        for (const tyre of axle.tyres)
          parts.push(
            draw("rect", {
              class: "tyre",
              x: round(MIDDLE + side * (axle.half + tyre) * this.scale - tread / 2),
              y: round(y - length / 2),
              width: round(tread),
              height: round(length),
              rx: 2,
            }),
          );
      }
    }
    return parts;
  }

  platesOf() {
    this.plates.clear();
    const group = draw("g", { "aria-hidden": "true" });
    for (const side of ["L", "R"]) {
      const wheels = this.plan.vehicles.flatMap((vehicle) =>
        vehicle.axles.map((axle) => ({
          id: idText({ states: [""], owner: vehicle.id, kind: "wheel", place: `${axle.number}${side}` }),
          name: `${axle.number}${side}`,
          wheel: this.down(axle.at),
          outer: axle.outer * this.scale,
        })),
      );
      let last = -Infinity;
      for (const wheel of wheels.sort((a, b) => a.wheel - b.wheel)) {
        const y = Math.max(wheel.wheel, HIGH / 2 + 2, last + PITCH);
        last = y;
        const left = side === "L" ? 2 : WIDTH - 2 - PLATE;
        const near = side === "L" ? left + PLATE : left;
        const x = MIDDLE + (side === "L" ? -1 : 1) * wheel.outer;
        const load = draw("text", { class: "load", x: left + PLATE - 8, y: round(y + 15) });
        const mark = draw("text", { class: "mark", x: left + PLATE - 8, y: round(y - 6) });
        const name = Object.assign(draw("text", { class: "name", x: left + 8, y: round(y - 6) }), {
          textContent: wheel.name,
        });
        const node = draw(
          "g",
          { class: "end" },
          draw("path", { class: "lead", d: `M${round(x)} ${round(wheel.wheel)}L${near} ${round(y)}` }),
          draw("rect", { class: "plate", x: left, y: round(y - HIGH / 2), width: PLATE, height: HIGH, rx: 6 }),
          name,
          mark,
          load,
        );
        this.plates.set(wheel.id, { node, load, mark, y });
        group.append(node);
      }
    }
    return group;
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
        marker = this.marker(item);
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
    this.untangle(chosen);
  }

  // Names that would lie on one another or on a marker are left out, last come first; the chosen one is always shown, on top.
  /** @type {(chosen: string | null) => void} */
  untangle(chosen) {
    const order = [...this.markers.values()].sort(
      (a, b) => Number(b.place.name === chosen) - Number(a.place.name === chosen),
    );
    /** @type {number[][]} */
    const taken = [];
    for (const marker of order) {
      const { x, y } = this.spot(marker),
        half = 4 * (marker.label.textContent ?? "").length;
      const box = [x - half, y + 15, x + half, y + 30];
      const others = order
        .filter((other) => other !== marker)
        .map((other) => this.spot(other))
        .map((at) => [at.x - 14, at.y - 14, at.x + 14, at.y + 14]);
      const clear = [...taken, ...others].every(
        (one) => one[0] >= box[2] || one[2] <= box[0] || one[1] >= box[3] || one[3] <= box[1],
      );
      const shown = clear || marker.place.name === chosen;
      marker.label.classList.toggle("unshown", !shown);
      if (shown) taken.push(box);
    }
    const top = chosen === null ? undefined : this.markers.get(chosen);
    if (top && top !== this.itemLayer.lastChild && !this.held) this.raise(top);
  }

  // Drawn last, so on top; the focus stays where it was.
  /** @type {(marker: Marker) => void} */
  raise(marker) {
    const focused = document.activeElement === marker;
    this.itemLayer.append(marker);
    if (focused) marker.focus({ preventScroll: true });
  }

  /** @type {(marker: Marker) => Point} */
  spot(marker) {
    const vehicle = this.vehicle(marker.place.on);
    return { x: this.x(marker.place.y), y: this.seen(this.y(vehicle, marker.place.x)) };
  }

  // What lies under a press besides the marker that was hit: pressed again, the next of the pile is chosen.
  /** @type {(at: Point, marker: Marker) => Marker | null} */
  beneath(at, marker) {
    const pile = [...this.markers.values()]
      .filter((other) => {
        const spot = this.spot(other);
        return Math.abs(spot.x - at.x) <= HIT / 2 && Math.abs(spot.y - at.y) <= HIT / 2;
      })
      .sort((a, b) => (a.place.name < b.place.name ? -1 : 1));
    return pile.length > 1 ? pile[(pile.indexOf(marker) + 1) % pile.length] : null;
  }

  /** @type {(item: Page.Drawn) => Marker} */
  marker(item) {
    const short = item.title.length > 11 ? `${item.title.slice(0, 10)}…` : item.title;
    const label = Object.assign(draw("text", { class: "tag-of", x: 0, y: 27 }), { textContent: short });
    const drawn = draw(
      "g",
      { class: "item", role: "button", tabindex: 0, "data-item": item.name, "aria-describedby": "how-to-move" },
      draw("rect", { class: "hit", x: -HIT / 2, y: -HIT / 2, width: HIT, height: HIT }),
      draw("path", { class: "ring", d: "M-14 -14H14V14H-14Z" }),
      draw("path", { class: "dot", d: "M-10 -10H10V10H-10Z" }),
      draw("path", {
        class: "cross",
        d: item.fixed ? "M-4.5 -3a4.5 4.5 0 1 1 6.5 4q-2 1 -2 2.5M0 6.2v1.3" : "M-5 0H5M0 -5V5",
      }),
      label,
    );
    const marker = Object.assign(drawn, { place: item, label });
    marker.addEventListener("pointerdown", (event) => this.grab(event, marker));
    marker.addEventListener("keydown", (event) => this.key(event, marker));
    marker.addEventListener("click", (event) => event.stopPropagation());
    return marker;
  }

  /** @type {(event: PointerEvent, marker: Marker) => void} */
  grab(event, marker) {
    if (event.button > 0) return;
    const item = marker.place,
      again = marker.getAttribute("aria-pressed") === "true";
    this.held = true; // a marker that is put elsewhere in the drawing would lose the finger
    this.told.onChoose(item.name);
    marker.focus({ preventScroll: true });
    event.preventDefault();
    marker.setPointerCapture(event.pointerId);
    const start = this.point(event),
      from = { x: item.x, y: item.y };
    let moved = false;
    /** @type {(one: PointerEvent) => void} */
    const follow = (one) => {
      if (item.fixed) return;
      const now = this.point(one);
      if (!moved && Math.hypot(now.x - start.x, now.y - start.y) < 4) return;
      moved = true;
      const [x, y] = this.within(
        item.on,
        from.x + (now.y - start.y) / this.scale,
        from.y - (now.x - start.x) / this.scale,
      );
      this.told.onMove(item.name, x, y, false);
    };
    /** @type {(one: PointerEvent) => void} */
    const end = (one) => {
      this.held = false;
      marker.removeEventListener("pointermove", follow);
      for (const name of ENDS) marker.removeEventListener(name, end);
      const at = this.told.where(item.name);
      if (moved && at) this.told.onMove(item.name, at.x, at.y, true);
      if (moved || one.type !== "pointerup") return;
      const next = again ? this.beneath(start, marker) : null;
      if (next) {
        this.told.onChoose(next.place.name);
        next.focus({ preventScroll: true });
      } else this.told.onChoose(item.name);
    };
    marker.addEventListener("pointermove", follow);
    for (const name of ENDS) marker.addEventListener(name, end);
  }

  /** @type {(event: KeyboardEvent, marker: Marker) => void} */
  key(event, marker) {
    const item = marker.place;
    const way = WAYS[event.key],
      at = this.told.where(item.name); // keys come faster than the drawing follows
    if (way && at && !item.fixed) {
      const by = this.step * (event.shiftKey ? 10 : 1);
      const [x, y] = this.within(item.on, at.x + way[0] * by, at.y + way[1] * by);
      this.told.onChoose(item.name);
      this.told.onMove(item.name, x, y, true);
    } else if (event.key === "Enter" || event.key === " ") this.told.onChoose(item.name);
    else if (event.key === "Delete" || event.key === "Backspace") this.told.onOff(item.name);
    else return;
    event.preventDefault();
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
    this.mapLayer.replaceChildren();
    this.under.replaceChildren();
    this.svg.classList.toggle("mapped", Boolean(data));
    if (!data) return;
    const vehicle = this.vehicles.get(data.vehicle);
    if (!vehicle) return;
    /** @type {(points: [number, number][], closed: boolean) => string} */
    const path = (points, closed) =>
      `M${points.map(([x, y]) => `${round(this.x(y))} ${round(this.y(vehicle, x))}`).join("L")}${closed ? "Z" : ""}`;
    const floor = path(data.outline, true);
    const clip = draw("clipPath", { id: "floor" }, draw("path", { d: floor }));
    const bands = draw("g", { "clip-path": "url(#floor)" });
    for (const band of data.bands)
      bands.append(
        draw("path", {
          d: band.loops === null ? floor : band.loops.map((loop) => path(loop, true)).join(""),
          fill: band.colour,
          "fill-rule": "evenodd",
        }),
      );
    for (const line of data.lines)
      for (const stretch of line.stretches) bands.append(draw("path", { class: "level", d: path(stretch, false) }));
    for (const stretch of data.borders)
      for (const kind of ["border under", "border"])
        bands.append(draw("path", { class: kind, d: path(stretch, false) }));
    this.mapLayer.append(clip, bands, draw("path", { class: "floor", d: floor }));
    const taken = data.tags.map((tag) => ({ x: this.x(tag.at[1]), y: this.y(vehicle, tag.at[0]) }));
    for (const line of data.lines) {
      const longest = line.stretches.reduce(
        (best, stretch) => (stretch.length > best.length ? stretch : best),
        NO_POINTS,
      );
      const free = longest
        .map(([x, y]) => ({ x: this.x(y), y: this.y(vehicle, x) }))
        .filter((at) => taken.every((other) => Math.abs(at.x - other.x) > 40 || Math.abs(at.y - other.y) > 20));
      const at = free[Math.floor(free.length / 2)];
      if (!at) continue;
      taken.push(at);
      this.under.append(this.plate(at, formatNumber(line.at, 3), "figure"));
    }
    for (const tag of data.tags)
      this.under.append(this.plate({ x: this.x(tag.at[1]), y: this.y(vehicle, tag.at[0]) }, tag.letter, "letter"));
  }

  /** @type {(at: Point, words: string, kind: string) => SVGElement} */
  plate(at, words, kind) {
    const width = kind === "letter" ? 20 : 8 * words.length + 8;
    return draw(
      "g",
      { class: kind },
      draw("rect", { x: round(at.x - width / 2), y: round(at.y - 9), width, height: 18, rx: 3 }),
      Object.assign(draw("text", { x: round(at.x), y: round(at.y + 5) }), { textContent: words }),
    );
  }

  // An arrow for each move; a thing that is taken off has no place to go to.
  /** @type {(moves: { on: string, from: [number, number], to: [number, number] | null }[]) => void} */
  arrows(moves) {
    this.arrowLayer.replaceChildren();
    for (const { on, from, to } of moves) {
      const vehicle = this.vehicles.get(on);
      if (!vehicle) continue;
      const a = { x: this.x(from[1]), y: this.y(vehicle, from[0]) };
      const b = to
        ? { x: this.x(to[1]), y: this.y(vehicle, to[0]) }
        : { x: a.x + (a.x >= MIDDLE ? 56 : -56), y: a.y + 18 };
      const angle = Math.atan2(b.y - a.y, b.x - a.x);
      /** @type {(turn: number) => string} */
      const wing = (turn) => `${round(b.x - 11 * Math.cos(angle + turn))} ${round(b.y - 11 * Math.sin(angle + turn))}`;
      const d = `M${round(a.x)} ${round(a.y)}L${round(b.x)} ${round(b.y)}M${wing(0.5)}L${round(b.x)} ${round(b.y)}L${wing(-0.5)}`;
      for (const kind of ["arrow under", "arrow"])
        this.arrowLayer.append(draw("path", { class: to ? kind : `${kind} away`, d }));
    }
  }
}
