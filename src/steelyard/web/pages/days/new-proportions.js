// Whether the distances and ratings of a new rig can belong to one rig; what cannot be is said in words, by field. The same
// rules as days/proportions.py; a table of cases, tests/web/pages/proportions.json, holds both to them.

import { UNITS, formatNumber } from "./number.js";

/** @type {Record<string, [number, number, string]>} */
const ABOUT = {
  wheelbase: [1, 12, "a wheelbase"],
  more_axles: [1.5, 16, "the way from the front axle to the third"],
  track: [0.6, 2.8, "a track"],
  coupling_x: [0.5, 20, "the way from the front axle to a coupling"],
  trailer_x: [0.6, 16, "the way from a coupling to the axle behind it"],
  trailer_spacing: [0.5, 6, "the way from axle to axle"],
  trailer_track: [0.6, 2.8, "a track"],
  height: [0, 0.5, "the height of a pad"],
};
const OVERHANG = 6,
  FORWARD = 0.4,
  BEHIND = 1,
  CLOSE = 0.5,
  LIKE = 2.5,
  STEPS = 20;
/** @type {Record<string, string>} */
const ON_BUMPER = { ball: "A ball", pintle: "A pintle hook" };
/** @type {Record<string, string>} */
const IN_BED = { gooseneck: "A gooseneck ball", fifth_wheel: "A fifth wheel" };
/** @type {Record<string, string>} */
const OVER_ZERO = {
  trailer_x: "The axle of a trailer lies behind its coupling: type how far, a number over zero.",
  coupling_x: "The coupling lies behind the front axle: type how far, a number over zero.",
};

// numbers: what was understood, by field, in `units`. coupling: its kind, or what stands there where it has none.
/** @type {(numbers: Record<string, number>, coupling: string, units: { mass: string, length: string }) => Record<string, string>} */
export function faultsOf(numbers, coupling, units) {
  /** @type {Record<string, string>} */
  const found = {};
  /** @type {(name: string, words: string) => void} */
  const fault = (name, words) => {
    found[name] ??= words;
  };
  /** @type {Record<string, number>} */
  const sound = {};
  for (const [name, value] of Object.entries(numbers)) {
    if (value > 0) sound[name] = value;
    else fault(name, OVER_ZERO[name] ?? "Type a number over zero.");
  }
  const metre = 1 / UNITS.length[units.length];
  sizes(sound, units.length, metre, fault);
  order(sound, coupling, units.length, metre, fault);
  tracks(sound, units.length, fault);
  ratings(sound, units.mass, fault);
  return found;
}

/** @typedef {(name: string, words: string) => void} Fault */

/** @type {(value: number) => string} */
const figure = (value) => formatNumber(value, 1);

/** @type {(numbers: Record<string, number>, unit: string, metre: number, fault: Fault) => void} */
function sizes(numbers, unit, metre, fault) {
  for (const [name, [least, most, what]] of Object.entries(ABOUT)) {
    const value = numbers[name];
    if (value === undefined || (least <= value / metre && value / metre <= most)) continue;
    const fits = ["m", "cm", "ft", "in", "mm"].filter((other) => {
      const length = value * UNITS.length[other];
      return other !== unit && least <= length && length <= most;
    });
    const both = fits.map((other) => `${figure(value)} ${other}`).join(" or ");
    const meant = both ? ` Is it ${both}? Type it with the unit.` : "";
    const range = `${figure(least * metre)} to ${figure(most * metre)} ${unit}`;
    fault(name, `${figure(value)} ${unit} is not ${what}, which has ${range}.${meant}`);
  }
}

/** @type {(numbers: Record<string, number>, coupling: string, unit: string, metre: number, fault: Fault) => void} */
function order({ wheelbase: base, more_axles: third, coupling_x: x }, coupling, unit, metre, fault) {
  if (base !== undefined && third !== undefined && third < base + CLOSE * metre)
    fault("more_axles", `The third axle lies behind the rear axle: more than ${figure(base + CLOSE * metre)} ${unit}.`);
  if (base === undefined || x === undefined) return;
  const last = third === undefined ? base : Math.max(base, third);
  if (coupling in ON_BUMPER && !(last < x && x <= last + OVERHANG * metre))
    fault(
      "coupling_x",
      `${ON_BUMPER[coupling]} lies behind the ${third === undefined ? "rear" : "last"} axle: more than ${figure(last)} ${unit}, and not over ${figure(last + OVERHANG * metre)} ${unit}, behind the front axle.`,
    );
  if (coupling in IN_BED && !(FORWARD * base <= x && x <= last + BEHIND * metre))
    fault(
      "coupling_x",
      `${IN_BED[coupling]} lies in the bed, in front of the rear axle or about it: ${figure(FORWARD * base)} to ${figure(last + BEHIND * metre)} ${unit} behind the front axle.`,
    );
}

/** @type {(numbers: Record<string, number>, unit: string, fault: Fault) => void} */
function tracks({ wheelbase: base, track, trailer_track: other }, unit, fault) {
  if (base !== undefined && track !== undefined && track > base)
    fault("track", `A track of ${figure(track)} ${unit} is wider than the rig is long from axle to axle.`);
  if (track !== undefined && other !== undefined && !(1 / LIKE <= track / other && track / other <= LIKE))
    fault(
      "trailer_track",
      `${figure(other)} ${unit} is out of all proportion to the track of ${figure(track)} ${unit} of what tows.`,
    );
}

/** @type {(numbers: Record<string, number>, unit: string, fault: Fault) => void} */
function ratings(numbers, unit, fault) {
  for (const [whole, part] of [
    ["gvwr", "payload"],
    ["trailer_gvwr", "trailer_payload"],
  ])
    if (numbers[part] >= numbers[whole])
      fault(part, `A payload is what is left of the gross rating: less than ${figure(numbers[whole])} ${unit}.`);
  if (numbers.gcwr < numbers.gvwr)
    fault("gcwr", `It is the rating of both together: ${figure(numbers.gvwr)} ${unit} or more.`);
  for (const [step, most] of [
    ["division", "capacity"],
    ["platform_division", "platform_capacity"],
  ])
    if (numbers[most] < STEPS * numbers[step])
      fault(step, `A capacity of ${figure(numbers[most])} ${unit} has less than ${STEPS} steps of this.`);
}
