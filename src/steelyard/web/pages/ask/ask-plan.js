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

export function draw(tag, attributes = {}, ...children) {
  const node = document.createElementNS(NS, tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, String(value));
  node.append(...children);
  return node;
}
const round = (value) => Math.round(value * 10) / 10;

export class Plan {
  // told: where(name), onMove(name, x, y, done), onChoose(name), onTap(vehicle, x, y), onOff(name)
  constructor(root, step, told) {
    Object.assign(this, { root, step, told, markers: new Map(), plates: new Map() });
  }

  down(along) {
    return TOP + (along - this.offset) * this.scale;
  }
  y(vehicle, x) {
    return this.down(vehicle.origin + x);
  }
  x(y) {
    return MIDDLE - y * this.scale;
  }
  seen(y) {
    return Math.min(Math.max(y, 26), this.low - 32);
  } // what stands beyond the drawing is shown at its edge

  // only: the one vehicle to be shown, larger; null for the whole rig.
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
    this.mapLayer = draw("g", { class: "map" });
    this.under = draw("g", { class: "lines", "aria-hidden": "true" });
    this.arrowLayer = draw("g", { class: "arrows", "aria-hidden": "true" });
    this.itemLayer = draw("g");
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

  frame(vehicle) {
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

  // marks: by wheel "outside" | "undecided" | undefined
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

  // items: [{ name, title, on, x, y, said, fresh }]
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
    this.untangle(items, chosen);
  }

  // Names that would lie on one another or on a marker are left out, last come first; the chosen one is always shown, on top.
  untangle(items, chosen) {
    const order = [...this.markers.values()].sort(
      (a, b) => Number(b.place.name === chosen) - Number(a.place.name === chosen),
    );
    const taken = [];
    for (const marker of order) {
      const { x, y } = this.spot(marker),
        half = 4 * marker.lastChild.textContent.length;
      const box = [x - half, y + 15, x + half, y + 30];
      const others = order
        .filter((other) => other !== marker)
        .map((other) => this.spot(other))
        .map((at) => [at.x - 14, at.y - 14, at.x + 14, at.y + 14]);
      const clear = [...taken, ...others].every(
        (one) => one[0] >= box[2] || one[2] <= box[0] || one[1] >= box[3] || one[3] <= box[1],
      );
      const shown = clear || marker.place.name === chosen;
      marker.lastChild.classList.toggle("unshown", !shown);
      if (shown) taken.push(box);
    }
    const top = this.markers.get(chosen);
    if (top && top !== this.itemLayer.lastChild && !this.held) this.raise(top);
  }

  // Drawn last, so on top; the focus stays where it was.
  raise(marker) {
    const focused = document.activeElement === marker;
    this.itemLayer.append(marker);
    if (focused) marker.focus({ preventScroll: true });
  }

  spot(marker) {
    const vehicle = this.vehicles.get(marker.place.on);
    return { x: this.x(marker.place.y), y: this.seen(this.y(vehicle, marker.place.x)) };
  }

  // What lies under a press besides the marker that was hit: pressed again, the next of the pile is chosen.
  beneath(at, marker) {
    const pile = [...this.markers.values()]
      .filter((other) => {
        const spot = this.spot(other);
        return Math.abs(spot.x - at.x) <= HIT / 2 && Math.abs(spot.y - at.y) <= HIT / 2;
      })
      .sort((a, b) => (a.place.name < b.place.name ? -1 : 1));
    return pile.length > 1 ? pile[(pile.indexOf(marker) + 1) % pile.length] : null;
  }

  marker(item) {
    const short = item.title.length > 11 ? `${item.title.slice(0, 10)}…` : item.title;
    const marker = draw(
      "g",
      { class: "item", role: "button", tabindex: 0, "data-item": item.name, "aria-describedby": "how-to-move" },
      draw("rect", { class: "hit", x: -HIT / 2, y: -HIT / 2, width: HIT, height: HIT }),
      draw("path", { class: "ring", d: "M-14 -14H14V14H-14Z" }),
      draw("path", { class: "dot", d: "M-10 -10H10V10H-10Z" }),
      draw("path", {
        class: "cross",
        d: item.fixed ? "M-4.5 -3a4.5 4.5 0 1 1 6.5 4q-2 1 -2 2.5M0 6.2v1.3" : "M-5 0H5M0 -5V5",
      }),
      Object.assign(draw("text", { class: "tag-of", x: 0, y: 27 }), { textContent: short }),
    );
    marker.addEventListener("pointerdown", (event) => this.grab(event, marker));
    marker.addEventListener("keydown", (event) => this.key(event, marker));
    marker.addEventListener("click", (event) => event.stopPropagation());
    return marker;
  }

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
    const end = (one) => {
      this.held = false;
      marker.removeEventListener("pointermove", follow);
      for (const name of ["pointerup", "pointercancel"]) marker.removeEventListener(name, end);
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
    for (const name of ["pointerup", "pointercancel"]) marker.addEventListener(name, end);
  }

  key(event, marker) {
    const item = marker.place;
    const way = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, 1], ArrowRight: [0, -1] }[event.key];
    if (way && !item.fixed) {
      const by = this.step * (event.shiftKey ? 10 : 1);
      const at = this.told.where(item.name); // keys come faster than the drawing follows
      const [x, y] = this.within(item.on, at.x + way[0] * by, at.y + way[1] * by);
      this.told.onChoose(item.name);
      this.told.onMove(item.name, x, y, true);
    } else if (event.key === "Enter" || event.key === " ") this.told.onChoose(item.name);
    else if (event.key === "Delete" || event.key === "Backspace") this.told.onOff(item.name);
    else return;
    event.preventDefault();
  }

  // A place on a vehicle, on the grid of the step, where its body is.
  within(name, x, y) {
    const vehicle = this.vehicles.get(name);
    const low = Math.min(vehicle.front, vehicle.origin) - vehicle.origin,
      high = vehicle.rear - vehicle.origin;
    const snap = (value) => Number((Math.round(value / this.step) * this.step).toFixed(6));
    return [snap(Math.min(Math.max(x, low), high)), snap(Math.min(Math.max(y, -vehicle.half), vehicle.half))];
  }

  point(event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return { x: at.x, y: at.y };
  }

  // The vehicle under a place of the screen and where on it, or null.
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

  tap(event) {
    const place = this.under_(event);
    if (place) this.told.onTap(place.vehicle, place.x, place.y);
  }

  // ---- the map, the arrows ----

  pin(vehicle, x, y) {
    this.pinned?.remove();
    this.pinned = draw("path", {
      class: "pin",
      d: "M-9 0H9M0 -9V9",
      transform: `translate(${round(this.x(y))} ${round(this.y(this.vehicles.get(vehicle), x))})`,
    });
    this.under.append(this.pinned);
  }

  map(data) {
    this.mapLayer.replaceChildren();
    this.under.replaceChildren();
    this.svg.classList.toggle("mapped", Boolean(data));
    if (!data) return;
    const vehicle = this.vehicles.get(data.vehicle);
    if (!vehicle) return;
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
      const longest = line.stretches.reduce((best, stretch) => (stretch.length > best.length ? stretch : best), []);
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

  plate(at, words, kind) {
    const width = kind === "letter" ? 20 : 8 * words.length + 8;
    return draw(
      "g",
      { class: kind },
      draw("rect", { x: round(at.x - width / 2), y: round(at.y - 9), width, height: 18, rx: 3 }),
      Object.assign(draw("text", { x: round(at.x), y: round(at.y + 5) }), { textContent: words }),
    );
  }

  // moves: [{ on, from: [x, y], to: [x, y] | null }]
  arrows(moves) {
    this.arrowLayer.replaceChildren();
    for (const { on, from, to } of moves) {
      const vehicle = this.vehicles.get(on);
      if (!vehicle) continue;
      const a = { x: this.x(from[1]), y: this.y(vehicle, from[0]) };
      const b = to
        ? { x: this.x(to[1]), y: this.y(vehicle, to[0]) }
        : { x: a.x + (a.x >= MIDDLE ? 56 : -56), y: a.y + 18 };
      const angle = Math.atan2(b.y - a.y, b.x - a.x),
        wing = (turn) => `${round(b.x - 11 * Math.cos(angle + turn))} ${round(b.y - 11 * Math.sin(angle + turn))}`;
      const d = `M${round(a.x)} ${round(a.y)}L${round(b.x)} ${round(b.y)}M${wing(0.5)}L${round(b.x)} ${round(b.y)}L${wing(-0.5)}`;
      for (const kind of ["arrow under", "arrow"])
        this.arrowLayer.append(draw("path", { class: to ? kind : `${kind} away`, d }));
    }
  }
}
