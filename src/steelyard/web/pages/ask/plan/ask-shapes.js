// What the plan is drawn of: bodies, frames and tyres, and the plates with the load of each wheel.

import { idText } from "./finding-id.js";

/** @typedef {import("./ask-plan.js").Plan} Plan */

const NS = "http://www.w3.org/2000/svg";
export const WIDTH = 366,
  MIDDLE = WIDTH / 2;
const PLATE = 80,
  PITCH = 46;
export const HIGH = 42;

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
export const round = (value) => Math.round(value * 10) / 10;

/** @type {(sheet: Plan, vehicle: Api.StandingVehicle) => SVGPathElement} */
export function body(sheet, vehicle) {
  const half = vehicle.half * sheet.scale,
    m = MIDDLE;
  const front = sheet.down(vehicle.front),
    rear = sheet.down(vehicle.rear),
    left = m - half,
    right = m + half;
  let d;
  if (vehicle.towing) {
    const r = 0.45 * half;
    d = `M${left} ${rear}V${front + 1.4 * r}Q${left} ${front} ${left + r} ${front}H${right - r}Q${right} ${front} ${right} ${front + 1.4 * r}V${rear}Z`;
  } else if (vehicle.neck !== null) {
    const neck = sheet.down(vehicle.neck),
      nose = 0.62 * half;
    d = `M${m - nose} ${front}H${m + nose}V${neck - half + nose}L${right} ${neck}V${rear}H${left}V${neck}L${m - nose} ${neck - half + nose}Z`;
  } else {
    d = `M${left} ${front}H${right}V${rear}H${left}ZM${m - 0.6 * half} ${front}L${m} ${sheet.down(vehicle.origin)}L${m + 0.6 * half} ${front}`;
  }
  return draw("path", { class: vehicle.neck === null ? "body" : "body over", d });
}

/** @type {(sheet: Plan, vehicle: Api.StandingVehicle) => SVGElement[]} */
export function frame(sheet, vehicle) {
  /** @type {SVGElement[]} */
  const parts = [],
    length = sheet.plan.tyre * sheet.scale,
    tread = sheet.plan.tread * sheet.scale;
  const ends = [
    ...vehicle.axles.map((axle) => axle.at),
    ...vehicle.couplings,
    ...(vehicle.towing ? [] : [vehicle.origin]),
  ];
  parts.push(
    draw("path", { class: "frame", d: `M${MIDDLE} ${sheet.down(Math.min(...ends))}V${sheet.down(Math.max(...ends))}` }),
  );
  for (const axle of vehicle.axles) {
    const y = sheet.down(axle.at);
    parts.push(
      draw("path", {
        class: "frame",
        d: `M${MIDDLE - axle.half * sheet.scale} ${y}H${MIDDLE + axle.half * sheet.scale}`,
      }),
    );
    for (const side of [-1, 1]) {
      for (const tyre of axle.tyres)
        parts.push(
          draw("rect", {
            class: "tyre",
            x: round(MIDDLE + side * (axle.half + tyre) * sheet.scale - tread / 2),
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

/** @param {Plan} sheet */
export function platesOf(sheet) {
  sheet.plates.clear();
  const group = draw("g", { "aria-hidden": "true" });
  for (const side of ["L", "R"]) {
    const wheels = sheet.plan.vehicles.flatMap((vehicle) =>
      vehicle.axles.map((axle) => ({
        id: idText({ states: [""], owner: vehicle.id, kind: "wheel", place: `${axle.number}${side}` }),
        name: `${axle.number}${side}`,
        wheel: sheet.down(axle.at),
        outer: axle.outer * sheet.scale,
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
      sheet.plates.set(wheel.id, { node, load, mark, y });
      group.append(node);
    }
  }
  return group;
}
