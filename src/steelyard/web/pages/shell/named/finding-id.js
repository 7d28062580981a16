// The names of findings and of verdicts, as model/finding_id.py of the program writes them. This script alone knows how such
// a name is written; the others ask it. A name is { states, owner, kind, place, of, limit }: no state for cargo, two for a
// change, "" for the state that a page asks about; `limit` is the requirement of a verdict.

const COUPLING = "coupling";
const PLACED = new Set(["wheel", "axle", "side", "axles", "spread"]);
const LOADS = new Set(["gross", "payload", "load", "axles", "axle", "wheel", "side"]);

/** @type {(id: string) => Required<Page.FindingName>} */
export function parse(id) {
  const colon = id.lastIndexOf(":");
  const [finding, limit] = colon < 0 ? [id, ""] : [id.slice(0, colon), id.slice(colon + 1)];
  const [head, owner, ...what] = finding.split("/");
  const states = head === "cargo" ? [] : head.split(">");
  if (owner === COUPLING && states.length)
    return { states, owner, kind: what.at(-1) ?? "", place: what.length > 1 ? what[0] : "", of: "", limit };
  const [kind, ...more] = what;
  const of = PLACED.has(kind) ? "" : (more.pop() ?? "");
  return { states, owner, kind, place: more[0] ?? "", of, limit };
}

/** @type {(name: Page.FindingName) => string} */
export function idText({ states, owner, kind, place = "", of = "", limit = "" }) {
  const what = owner === COUPLING && place && !of ? [place, kind] : [kind, place, of].filter(Boolean);
  return [states.length ? states.join(">") : "cargo", owner, ...what].join("/") + (limit && `:${limit}`);
}

// The same quantity without the name of a state, for it has another name in the state that is asked about.
/** @type {(id: string, state: string) => string} */
export function tail(id, state) {
  const name = parse(id);
  return idText({ ...name, states: name.states.map((one) => (one === state ? "" : one)) });
}

// The same name whatever its states are called.
/** @type {(id: string) => string} */
export const inAnyState = (id) => idText({ ...parse(id), states: [""] });

/** @type {(id: string, state: string) => boolean} */
export const inState = (id, state) => {
  const { states } = parse(id);
  return states.length === 1 && states[0] === state;
};
/** @type {(id: string) => boolean} */
export const ofCargo = (id) => parse(id).states.length === 0;
/** @type {(id: string) => boolean} */
export const ofWheel = (id) => parse(id).kind === "wheel";
/** @type {(id: string) => boolean} */
export const isLoad = (id) => LOADS.has(parse(id).kind);

// Where a name comes in a list that is sorted by kinds, the load of a coupling among them; what is not listed comes last.
/** @type {(id: string, kinds: string[]) => number} */
export function rank(id, kinds) {
  const at = kinds.indexOf(parse(id).kind);
  return at < 0 ? kinds.length : at;
}
