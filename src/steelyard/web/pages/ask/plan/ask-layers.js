// What is laid over and under the plan: the load map, and what is proposed to be moved.

import { MIDDLE, WIDTH, draw, round } from "./ask-shapes.js";
import { formatNumber } from "./number.js";

/** @typedef {import("./ask-plan.js").Plan} Plan */
/** @typedef {import("./ask-marker.js").Point} Point */
/** @type {[number, number][]} */
const NO_POINTS = [];

/** @type {(sheet: Plan, data: Api.LoadMap | null) => void} */
export function mapOf(sheet, data) {
  sheet.mapLayer.replaceChildren();
  sheet.under.replaceChildren();
  sheet.svg.classList.toggle("mapped", Boolean(data));
  if (!data) return;
  const vehicle = sheet.vehicles.get(data.vehicle);
  if (!vehicle) return;
  /** @type {(points: [number, number][], closed: boolean) => string} */
  const path = (points, closed) =>
    `M${points.map(([x, y]) => `${round(sheet.x(y))} ${round(sheet.y(vehicle, x))}`).join("L")}${closed ? "Z" : ""}`;
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
    for (const kind of ["border under", "border"]) bands.append(draw("path", { class: kind, d: path(stretch, false) }));
  sheet.mapLayer.append(clip, bands, draw("path", { class: "floor", d: floor }));
  const taken = data.tags.map((tag) => ({ x: sheet.x(tag.at[1]), y: sheet.y(vehicle, tag.at[0]) }));
  for (const line of data.lines) {
    const longest = line.stretches.reduce(
      (best, stretch) => (stretch.length > best.length ? stretch : best),
      NO_POINTS,
    );
    const free = longest
      .map(([x, y]) => ({ x: sheet.x(y), y: sheet.y(vehicle, x) }))
      .filter((at) => taken.every((other) => Math.abs(at.x - other.x) > 40 || Math.abs(at.y - other.y) > 20));
    const at = free[Math.floor(free.length / 2)];
    if (!at) continue;
    taken.push(at);
    sheet.under.append(plate(at, formatNumber(line.at, 3), "figure"));
  }
  for (const tag of data.tags)
    sheet.under.append(plate({ x: sheet.x(tag.at[1]), y: sheet.y(vehicle, tag.at[0]) }, tag.letter, "letter"));
}

/** @type {(at: Point, words: string, kind: string) => SVGElement} */
function plate(at, words, kind) {
  const width = kind === "letter" ? 20 : 8 * words.length + 8;
  return draw(
    "g",
    { class: kind },
    draw("rect", { x: round(at.x - width / 2), y: round(at.y - 9), width, height: 18, rx: 3 }),
    Object.assign(draw("text", { x: round(at.x), y: round(at.y + 5) }), { textContent: words }),
  );
}

// What is proposed: where a thing stood, where it goes, and an arrow with its figure from one to the other. What leaves the
// vehicle has no place to go to.
/** @type {(sheet: Plan, moves: Page.Move[]) => void} */
export function movesOf(sheet, moves) {
  sheet.arrowLayer.replaceChildren();
  for (const { on, from, to, words } of moves) {
    const vehicle = sheet.vehicles.get(on);
    if (!vehicle) continue;
    /** @type {(at: [number, number]) => Point} */
    const point = (at) => ({ x: sheet.x(at[1]), y: sheet.seen(sheet.y(vehicle, at[0])) });
    const a = point(from),
      b = to ? point(to) : { x: a.x + (a.x >= MIDDLE ? 56 : -56), y: a.y + 18 };
    const box = (/** @type {Point} */ at) => `M${round(at.x - 14)} ${round(at.y - 14)}h28v28h-28Z`;
    sheet.arrowLayer.append(draw("path", { class: "was", d: box(a) }));
    if (to) sheet.arrowLayer.append(draw("path", { class: "will", d: box(b) }));
    const angle = Math.atan2(b.y - a.y, b.x - a.x);
    /** @type {(turn: number) => string} */
    const wing = (turn) => `${round(b.x - 11 * Math.cos(angle + turn))} ${round(b.y - 11 * Math.sin(angle + turn))}`;
    const d = `M${round(a.x)} ${round(a.y)}L${round(b.x)} ${round(b.y)}M${wing(0.5)}L${round(b.x)} ${round(b.y)}L${wing(-0.5)}`;
    for (const kind of ["arrow under", "arrow"])
      sheet.arrowLayer.append(draw("path", { class: to ? kind : `${kind} away`, d }));
    // the figure stands where there is more room, beside the end that is further from the middle of the drawing
    const left = b.x < MIDDLE,
      half = 4 * words.length + 4,
      x = Math.min(Math.max(left ? b.x - 20 - half : b.x + 20 + half, half + 2), WIDTH - half - 2);
    const text = draw("text", { class: "moved-by", x: round(x), y: round(b.y + (to ? 5 : 20)) });
    text.textContent = words;
    sheet.arrowLayer.append(text);
  }
}
