// A thing on the plan: dragged by a finger, moved by keys, and reached where several lie on one another.

import { draw } from "./ask-shapes.js";

/** @typedef {import("./ask-plan.js").Plan} Plan */
/** @typedef {{ x: number, y: number }} Point */
/** @typedef {SVGGElement & { place: Page.Drawn, label: SVGTextElement }} Marker */

const HIT = 50;

// Which way along and across a key moves a thing.
/** @type {Record<string, [number, number] | undefined>} */
const WAYS = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, 1], ArrowRight: [0, -1] };

// What ends a drag.
/** @type {("pointerup" | "pointercancel")[]} */
const ENDS = ["pointerup", "pointercancel"];

/** @type {(sheet: Plan, item: Page.Drawn) => Marker} */
export function markerOf(sheet, item) {
  const letters = [...new Intl.Segmenter().segment(item.title)].map(({ segment }) => segment),
    short = letters.length > 11 ? `${letters.slice(0, 10).join("")}…` : item.title;
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
  marker.addEventListener("pointerdown", (event) => grab(sheet, event, marker));
  marker.addEventListener("keydown", (event) => key(sheet, event, marker));
  marker.addEventListener("click", (event) => event.stopPropagation());
  return marker;
}

/** @type {(sheet: Plan, event: PointerEvent, marker: Marker) => void} */
export function grab(sheet, event, marker) {
  if (event.button > 0) return;
  const item = marker.place,
    again = marker.getAttribute("aria-pressed") === "true";
  sheet.held = true; // a marker that is put elsewhere in the drawing would lose the finger
  sheet.told.onChoose(item.name);
  marker.focus({ preventScroll: true });
  event.preventDefault();
  marker.setPointerCapture(event.pointerId);
  const start = sheet.point(event),
    from = { x: item.x, y: item.y };
  let moved = false;
  /** @type {(one: PointerEvent) => void} */
  const follow = (one) => {
    if (item.fixed) return;
    const now = sheet.point(one);
    if (!moved && Math.hypot(now.x - start.x, now.y - start.y) < 4) return;
    moved = true;
    const [x, y] = sheet.within(
      item.on,
      from.x + (now.y - start.y) / sheet.scale,
      from.y - (now.x - start.x) / sheet.scale,
    );
    sheet.told.onMove(item.name, x, y, false);
  };
  /** @type {(one: PointerEvent) => void} */
  const end = (one) => {
    sheet.held = false;
    marker.removeEventListener("pointermove", follow);
    for (const name of ENDS) marker.removeEventListener(name, end);
    const at = sheet.told.where(item.name);
    if (moved && at) sheet.told.onMove(item.name, at.x, at.y, true);
    if (moved || one.type !== "pointerup") return;
    const next = again ? beneath(sheet, start, marker) : null;
    if (next) {
      sheet.told.onChoose(next.place.name);
      next.focus({ preventScroll: true });
    } else sheet.told.onChoose(item.name);
  };
  marker.addEventListener("pointermove", follow);
  for (const name of ENDS) marker.addEventListener(name, end);
}

/** @type {(sheet: Plan, event: KeyboardEvent, marker: Marker) => void} */
export function key(sheet, event, marker) {
  const item = marker.place;
  const way = WAYS[event.key],
    at = sheet.told.where(item.name); // keys come faster than the drawing follows
  if (way && at && !item.fixed) {
    const by = sheet.step * (event.shiftKey ? 10 : 1);
    const [x, y] = sheet.within(item.on, at.x + way[0] * by, at.y + way[1] * by);
    sheet.told.onChoose(item.name);
    sheet.told.onMove(item.name, x, y, true);
  } else if (event.key === "Enter" || event.key === " ") sheet.told.onChoose(item.name);
  else if (event.key === "Delete" || event.key === "Backspace") sheet.told.onOff(item.name);
  else return;
  event.preventDefault();
}

// Names that would lie on one another or on a marker are left out, last come first; the chosen one is always shown, on top.
/** @type {(sheet: Plan, chosen: string | null) => void} */
export function untangle(sheet, chosen) {
  const order = [...sheet.markers.values()].sort(
    (a, b) => Number(b.place.name === chosen) - Number(a.place.name === chosen),
  );
  /** @type {number[][]} */
  const taken = [];
  for (const marker of order) {
    const { x, y } = sheet.spot(marker),
      half = 4 * (marker.label.textContent ?? "").length;
    const box = [x - half, y + 15, x + half, y + 30];
    const others = order
      .filter((other) => other !== marker)
      .map((other) => sheet.spot(other))
      .map((at) => [at.x - 14, at.y - 14, at.x + 14, at.y + 14]);
    const clear = [...taken, ...others].every(
      (one) => one[0] >= box[2] || one[2] <= box[0] || one[1] >= box[3] || one[3] <= box[1],
    );
    const shown = clear || marker.place.name === chosen;
    marker.label.classList.toggle("unshown", !shown);
    if (shown) taken.push(box);
  }
  const top = chosen === null ? undefined : sheet.markers.get(chosen);
  if (top && top !== sheet.itemLayer.lastChild && !sheet.held) raise(sheet, top);
}

// Drawn last, so on top; the focus stays where it was.
/** @type {(sheet: Plan, marker: Marker) => void} */
export function raise(sheet, marker) {
  const focused = document.activeElement === marker;
  sheet.itemLayer.append(marker);
  if (focused) marker.focus({ preventScroll: true });
}

// What lies under a press besides the marker that was hit: pressed again, the next of the pile is chosen.
/** @type {(sheet: Plan, at: Point, marker: Marker) => Marker | null} */
export function beneath(sheet, at, marker) {
  const pile = [...sheet.markers.values()]
    .filter((other) => {
      const spot = sheet.spot(other);
      return Math.abs(spot.x - at.x) <= HIT / 2 && Math.abs(spot.y - at.y) <= HIT / 2;
    })
    .sort((a, b) => (a.place.name < b.place.name ? -1 : 1));
  return pile.length > 1 ? pile[(pile.indexOf(marker) + 1) % pile.length] : null;
}
