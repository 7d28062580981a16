// Places as people say them: the name of the vehicle beside the short name on the plate. Ids stay in the file.

const RIGHT_TO_LEFT = /[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff]/;
const LONGEST = 40; // letters of a name inside a line

// A name inside a sentence; one that is written from right to left keeps to itself and does not turn the sentence round.
/** @type {(name: string) => string} */
export const isolated = (name) => (RIGHT_TO_LEFT.test(name) ? `\u2068${name}\u2069` : name);

// A name of two hundred letters would hide the figures that it stands before.
/** @type {(name: string) => string} */
function shortened(name) {
  const letters = [...name];
  return letters.length > LONGEST
    ? `${letters
        .slice(0, LONGEST - 1)
        .join("")
        .trimEnd()}…`
    : name;
}

/** @type {(titles: Record<string, string>, vehicle: string) => string} */
const titleOf = (titles, vehicle) => isolated(shortened(titles[vehicle] ?? vehicle.replaceAll("_", " ")));

/** @type {(end: string) => string} */
const short = (end) => (/^\d+$/.test(end) ? `axle ${end}` : end);

// "1L of Oven trailer"; a place of several parts has them all.
/** @type {(titles: Record<string, string>, place: string) => string} */
export function called(titles, place) {
  const parts = place.split("+").map((part) => {
    const [vehicle, end] = part.trim().split("/");
    return end === undefined ? titleOf(titles, vehicle) : `${short(end)} of ${titleOf(titles, vehicle)}`;
  });
  return parts.join(" and ");
}

// What stands at each place, vehicle by vehicle: "Oven trailer: 1L 2,020  1R 1,800".
/** @type {(titles: Record<string, string>, entries: [place: string, shown: string][]) => string} */
export function byVehicle(titles, entries) {
  /** @type {Map<string, string[]>} */
  const groups = new Map();
  for (const [place, shown] of entries) {
    const [vehicle, end] = place.includes("+") ? [place, undefined] : place.split("/");
    const words = [end === undefined ? "" : short(end), shown].filter(Boolean).join(" ");
    groups.set(vehicle, [...(groups.get(vehicle) ?? []), words]);
  }
  return [...groups]
    .map(
      ([vehicle, words]) =>
        `${vehicle.includes("+") ? called(titles, vehicle) : titleOf(titles, vehicle)}: ${words.join("  ")}`,
    )
    .join("; ");
}

// A sentence of the station with its places and vehicles in words. An id stands alone only where one is named: it may be a
// word of the sentence too.
/** @type {(titles: Record<string, string>, text: string) => string} */
export const inWords = (titles, text) =>
  text.replace(
    /(\b(?:of|from|to|off|aboard|bring|hitch|unhitch) )?([A-Za-z0-9_-]+)(?:\/(\d+[LR]?|coupling)\b)?/g,
    (all, lead, vehicle, end) => {
      if (!Object.hasOwn(titles, vehicle) || (!lead && end === undefined)) return all;
      return `${lead ?? ""}${end === undefined ? titleOf(titles, vehicle) : called(titles, `${vehicle}/${end}`)}`;
    },
  );

/** @type {Record<string, string>} */
let states = {};

// What people call the states of the day that the page shows.
/** @type {(titles?: Record<string, string>) => void} */
export const nameStates = (titles) => {
  states = titles ?? {};
};

// The name of a state as it is read.
/** @type {(state: string) => string} */
export const stateWords = (state) => (Object.hasOwn(states, state) ? states[state] : state.replaceAll("_", " "));
