// The rig from above, front to the left, drawn to the distances as they are typed; the one being typed is marked.

import { formatNumber } from "./number.js";

const SVG = "http://www.w3.org/2000/svg";
const WIDE = 340,
  HIGH = 160,
  MIDDLE = 56; // units of the sheet, and the height of the centreline on it
// Metres where nothing is typed yet, so that there is something to see; common practice, no source.
/** @type {Record<string, number>} */
const USUAL = { wheelbase: 3.6, track: 1.7, trailer_x: 4.2, trailer_spacing: 0.86, trailer_track: 1.9 };
const TYRE = 0.75,
  TREAD = 0.24; // m
/** @type {Record<string, number>} */
const METRES = { in: 0.0254, mm: 0.001 };

export class Drawing {
  /** @param {HTMLElement} place */
  constructor(place) {
    this.place = place;
    this.place.hidden = false;
  }

  // given: the answers; numbers: the lengths that were understood, in `unit`; active: the name of the field being typed.
  /** @type {(given: Record<string, string>, numbers: Record<string, number>, unit: string, active: string) => void} */
  show(given, numbers, unit, active) {
    const sheet = new Sheet(given, numbers, METRES[unit] ?? 1, unit, active);
    this.place.replaceChildren(sheet.draw());
  }
}

class Sheet {
  /** @param {Record<string, string>} given @param {Record<string, number>} numbers @param {number} factor @param {string} unit @param {string} active */
  constructor(given, numbers, factor, unit, active) {
    this.given = given;
    this.unit = unit;
    this.active = active;
    this.numbers = numbers;
    this.factor = factor;
    const stands = given.stands;
    this.tows = stands !== "trailer";
    this.trailer = !["alone", "hitch"].includes(stands);
    this.coupled = this.tows && stands !== "alone";
    const kind = stands === "hitch" ? given.coupling : stands;
    this.base = this.metres("wheelbase", 0.3, 30);
    this.third = numbers.more_axles === undefined ? null : this.metres("more_axles", 0.3, 30);
    const last = Math.max(this.base, this.third ?? 0);
    this.inBed = kind === "gooseneck" || kind === "fifth_wheel";
    this.coupling = this.metres("coupling_x", 0, 40, this.inBed ? last - 0.1 : last + 1.2);
    this.origin = this.tows ? this.coupling : 0;
    this.first = this.metres("trailer_x", 0.1, 30);
    this.spacing = this.metres("trailer_spacing", 0.1, 10);
    this.axles = Array.from(
      { length: Number(given.trailer_axles ?? 2) },
      (_, i) => this.origin + this.first + i * this.spacing,
    );
    const rear = this.tows ? Math.max(last + 1, this.inBed ? 0 : this.coupled ? this.coupling - 0.25 : 0) : 0;
    const end = this.trailer ? Math.max(rear, (this.axles.at(-1) ?? 0) + 1.4) : rear;
    const nose = this.tows ? -0.9 : -0.4;
    this.scale = Math.min(
      WIDE / (end - nose),
      74 / Math.max(this.metres("track", 0.3, 5), this.metres("trailer_track", 0.3, 5)),
    );
    this.left = (WIDE - (end - nose) * this.scale) / 2 - nose * this.scale;
    this.end = end;
    // under the widest of what is drawn, with its tyres
    const widest = [this.tows && "track", this.trailer && "trailer_track"].map((name) =>
      name ? this.metres(name, 0.3, 5) : 0,
    );
    this.low = MIDDLE + (Math.max(...widest) / 2 + 0.2) * this.scale + 6;
  }

  /** @type {(name: string, least: number, most: number, usual?: number) => number} */
  metres(name, least, most, usual = USUAL[name]) {
    const typed = this.numbers[name];
    return typed === undefined ? usual : Math.min(Math.max(typed * this.factor, least), most);
  }

  /** @type {(x: number) => number} */
  x(x) {
    return this.left + x * this.scale;
  }

  draw() {
    const svg = make("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, class: "rig", "aria-hidden": "true" });
    if (this.trailer) svg.append(...this.drawTrailer());
    if (this.tows) svg.append(...this.drawTowing());
    if (this.coupled) svg.append(make("circle", { class: "coupling", cx: this.x(this.coupling), cy: MIDDLE, r: 4 }));
    else if (!this.tows) svg.append(make("circle", { class: "coupling open", cx: this.x(0), cy: MIDDLE, r: 4 }));
    svg.append(...this.distances());
    return svg;
  }

  drawTowing() {
    const half = (this.metres("track", 0.3, 5) / 2 + 0.15) * this.scale,
      front = this.x(-0.9),
      rear = this.x(Math.max(this.base, this.third ?? 0) + 1);
    const nose = half * 0.7;
    const body = `M${rear} ${MIDDLE - half}H${front + nose}Q${front} ${MIDDLE - half} ${front} ${MIDDLE}Q${front} ${MIDDLE + half} ${front + nose} ${MIDDLE + half}H${rear}Z`;
    const axles = [0, this.base, ...(this.third === null ? [] : [this.third])];
    return [
      make("path", { class: "body", d: body }),
      make("path", {
        class: "frame",
        d: `M${this.x(0)} ${MIDDLE}H${this.x(this.coupled ? this.coupling : (axles.at(-1) ?? 0))}`,
      }),
      ...axles.flatMap((x, i) => this.axle(x, this.metres("track", 0.3, 5), i > 0 && this.given.dual === "yes")),
    ];
  }

  drawTrailer() {
    const track = this.metres("trailer_track", 0.3, 5),
      half = (track / 2 + 0.1) * this.scale;
    const from = this.inBed ? this.origin - 0.4 : Math.min(this.origin + 1.1, this.axles[0] - 0.6);
    const box = `M${this.x(from)} ${MIDDLE - half}H${this.x(this.end - 0.2)}V${MIDDLE + half}H${this.x(from)}Z`;
    return [
      make("path", { class: "body over", d: box }),
      make("path", { class: "frame", d: `M${this.x(this.origin)} ${MIDDLE}H${this.x(this.axles.at(-1) ?? 0)}` }),
      ...this.axles.flatMap((x) => this.axle(x, track, this.given.trailer_dual === "yes")),
    ];
  }

  /** @type {(x: number, track: number, dual: boolean) => SVGElement[]} */
  axle(x, track, dual) {
    const half = (track / 2) * this.scale,
      long = TYRE * this.scale,
      wide = Math.max(TREAD * this.scale, 4);
    const tyres = [-1, 1].flatMap((side) =>
      (dual ? [-0.55, 0.55] : [0]).map((off) => {
        const y = MIDDLE + side * half + off * wide * 1.15;
        return make("rect", {
          class: "tyre",
          x: this.x(x) - long / 2,
          y: y - wide / 2,
          width: long,
          height: wide,
          rx: 2,
        });
      }),
    );
    return [make("path", { class: "frame", d: `M${this.x(x)} ${MIDDLE - half}V${MIDDLE + half}` }), ...tyres];
  }

  // Each distance with its line; below the rig along it, beside the rear axle across it.
  distances() {
    const lines = [];
    if (this.tows) lines.push(...this.along("wheelbase", 0, this.base, 0));
    if (this.third !== null && this.tows) lines.push(...this.along("more_axles", 0, this.third, 1));
    if (this.coupled) lines.push(...this.along("coupling_x", 0, this.coupling, 1));
    if (this.trailer) lines.push(...this.along("trailer_x", this.origin, this.axles[0], 0));
    if (this.active === "trailer_spacing" && this.axles.length > 1)
      lines.push(...this.along("trailer_spacing", this.axles[0], this.axles[1], 1));
    if (this.active === "track") lines.push(...this.across("track", this.base, this.metres("track", 0.3, 5)));
    if (this.active === "trailer_track")
      lines.push(...this.across("trailer_track", this.axles[0], this.metres("trailer_track", 0.3, 5)));
    return lines;
  }

  /** @type {(name: string, from: number, to: number, row: number) => SVGElement[]} */
  along(name, from, to, row) {
    if (row && !["coupling_x", this.active].includes(name)) return [];
    const y = this.low + 20 + row * 22,
      [a, b] = [this.x(from), this.x(to)],
      marked = name === this.active ? "distance marked" : "distance";
    return [
      make("path", { class: marked, d: `M${a} ${this.low}V${y + 4}M${b} ${this.low}V${y + 4}M${a} ${y}H${b}` }),
      make("path", { class: `${marked} ends`, d: `M${a} ${y}l7 -4v8zM${b} ${y}l-7 -4v8z` }),
      this.words(name, (a + b) / 2, y - 4, marked),
    ];
  }

  /** @type {(name: string, at: number, track: number) => SVGElement[]} */
  across(name, at, track) {
    const x = this.x(at) + 14,
      half = (track / 2) * this.scale;
    return [
      make("path", { class: "distance marked", d: `M${x} ${MIDDLE - half}V${MIDDLE + half}` }),
      make("path", {
        class: "distance marked ends",
        d: `M${x} ${MIDDLE - half}l-4 7h8zM${x} ${MIDDLE + half}l-4 -7h8z`,
      }),
      this.words(name, x + 34, MIDDLE + 5, "distance marked"),
    ];
  }

  /** @type {(name: string, x: number, y: number, marked: string) => SVGElement} */
  words(name, x, y, marked) {
    const typed = this.numbers[name];
    const words = typed === undefined ? "?" : `${formatNumber(typed, 1)} ${this.unit}`;
    const text = make("text", { class: marked, x: Math.min(Math.max(x, 30), WIDE - 30), y, "text-anchor": "middle" });
    text.textContent = words;
    return text;
  }
}

/** @type {(tag: string, given: Record<string, string | number>) => SVGElement} */
function make(tag, given) {
  const node = /** @type {SVGElement} */ (document.createElementNS(SVG, tag));
  for (const [name, value] of Object.entries(given))
    node.setAttribute(name, typeof value === "number" ? String(Math.round(value * 10) / 10) : value);
  return node;
}
