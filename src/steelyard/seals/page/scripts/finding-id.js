// The names of headline figures, as model/finding_id.py of the program writes them. This script alone knows how such a name
// is written. A figure has a place: 0 is the gross mass of a vehicle, 2 its axle 2, 201 its wheel 2L, 202 its wheel 2R; of
// the couplings it is their number.

export const COUPLING = "coupling";
export const GROSS = 0;
const WHEELS = 100;
const SIDES = ["", "L", "R"];

/**
 * `axle`, `wheel`, `gross` or `load`, and which.
 * @param {string} owner
 * @param {number} place
 * @returns {[string, string]}
 */
export function kindOf(owner, place) {
  if (owner === COUPLING) return ["load", String(place)];
  if (place === GROSS) return ["gross", ""];
  if (place < WHEELS) return ["axle", String(place)];
  return ["wheel", `${Math.floor(place / WHEELS)}${SIDES[place % WHEELS]}`];
}

/**
 * The name of the finding: `hitched/tow/axle/1`.
 * @param {string} state
 * @param {string} owner
 * @param {number} place
 */
export function findingName(state, owner, place) {
  const [kind, which] = kindOf(owner, place);
  if (owner === COUPLING) return place === 1 ? `${state}/${owner}/${kind}` : `${state}/${owner}/${which}/${kind}`;
  return which ? `${state}/${owner}/${kind}/${which}` : `${state}/${owner}/${kind}`;
}

/**
 * State, owner and place of a finding's name; null where it is no headline figure.
 * @param {string} name
 */
export function placeNamed(name) {
  const [state, owner, ...rest] = name.split("/");
  if (!state || !owner || state === "cargo" || state.includes(">") || rest.includes("")) return null;
  if (owner === COUPLING) {
    if (rest.length === 1 && rest[0] === "load") return { state, owner, place: 1 };
    return rest.length === 2 && rest[1] === "load" && /^\d+$/.test(rest[0])
      ? { state, owner, place: Number(rest[0]) }
      : null;
  }
  const [kind, which = ""] = rest;
  if (rest.length === 1 && kind === "gross") return { state, owner, place: 0 };
  if (rest.length !== 2) return null;
  if (kind === "axle" && /^\d+$/.test(which)) return { state, owner, place: Number(which) };
  const wheel = kind === "wheel" ? /^(\d+)([LR])$/.exec(which) : null;
  return wheel && { state, owner, place: 100 * Number(wheel[1]) + (wheel[2] === "L" ? 1 : 2) };
}
