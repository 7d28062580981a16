// What is asked about: the state, how it is coupled, its cargo as it was and as it is now, and its names for people.

import { Model } from "./ask-model.js";
import { pageData } from "./dom.js";
import { formatNumber as show } from "./number.js";
import { nameStates } from "./place-words.js";

/** @type {Page.Ask} */
export const day = pageData();
nameStates(day.called);
/** @type {Page.Axis[]} */
export const AXES = ["x", "y"];

// What is hitched, unhitched and tensioned against the state: bars by trailer, "none" or { as: a state }.
/** @type {Page.Coupled} */
export const ALONE = { hitch: [], unhitch: [], bars: {} };

/** @type {Page.AskNow} */
export const now = {
  state: day.state,
  coupled: ALONE,
  model: new Model(day.influence, day.tape),
  first: new Map(),
  before: { quantities: new Map(), verdicts: new Map() },
  cargo: new Map(),
  chosen: null,
  answer: null,
  asked: 0,
  timer: 0,
  pending: false,
  refused: "",
  ours: new Map(),
};

// Where the chosen thing stands.
/** @type {() => Page.Stowed | undefined} */
export const chosen = () => (now.chosen === null ? undefined : now.cargo.get(now.chosen));

/** @type {(coupled: Page.Coupled) => boolean} */
export const alike = ({ hitch, unhitch, bars }) =>
  hitch.length === 0 && unhitch.length === 0 && Object.keys(bars).length === 0;

/** @type {(name: string) => boolean} */
export function differs(name) {
  const first = now.first.get(name),
    at = now.cargo.get(name);
  return (
    !first || !at || first.aboard !== at.aboard || first.x !== at.x || first.y !== at.y || first.level !== at.level
  );
}

export const touched = () => !alike(now.coupled) || [...now.cargo.keys()].some(differs);

// Whether the day has something of that name, aboard or not, in whatever state.
/** @type {(name: string) => boolean} */
export const named = (name) => now.cargo.has(name) || now.ours.has(name) || day.cargo.includes(name);
// Whether somebody calls another thing so.
/** @type {(title: string, but?: string) => boolean} */
export const called = (title, but = "") =>
  (named(title) && title !== but) || [...now.cargo.keys()].some((name) => name !== but && titleOf(name) === title);

// ---- the question ----

/** @type {(state?: string, coupled?: Page.Coupled) => Api.ScenarioQuestion} */
export function question(state = now.state, { hitch, unhitch, bars } = now.coupled) {
  /** @type {Api.ScenarioQuestion} */
  const json = { from: state };
  if (hitch.length)
    json.hitch = hitch.map((item) => (bars[item.trailer] ? { ...item, distribution: bars[item.trailer] } : item));
  if (unhitch.length) json.unhitch = unhitch;
  const staying = Object.entries(bars).filter(([trailer]) => !hitch.some((item) => item.trailer === trailer));
  if (staying.length) json.distribution = Object.fromEntries(staying);
  return json;
}

/** @type {() => Page.Scenario} */
export function wanted() {
  /** @type {Page.Scenario} */
  const json = { ...question(), add: [], put_on: [], remove: [], change: {} };
  for (const [name, at] of now.cargo) {
    const first = now.first.get(name);
    const kept = now.ours.get(name);
    if (!first && kept) {
      if (!at.aboard) continue;
      json.put_on.push(name);
      const moved = Object.fromEntries(AXES.filter((axis) => at[axis] !== kept[axis]).map((axis) => [axis, at[axis]]));
      if (Object.keys(moved).length) json.change[name] = moved;
      continue;
    }
    if (!first) {
      const title = at.title && at.title !== name ? { title: at.title } : {};
      if (at.aboard) json.add.push({ name, ...title, on: at.on, mass: at.mass, x: at.x, y: at.y });
      continue;
    }
    if (first.aboard && !at.aboard) json.remove.push(name);
    if (!first.aboard && at.aboard) json.put_on.push(name);
    if (!at.aboard) continue;
    /** @type {{ x?: number, y?: number, level?: string }} */
    const change = {};
    for (const axis of AXES) if (at[axis] !== first[axis]) change[axis] = at[axis];
    if (at.level !== null && at.level !== first.level) change.level = `${Number((100 * at.level).toFixed(4))} %`;
    if (Object.keys(change).length) json.change[name] = change;
  }
  return json;
}

// ---- words ----

/** @type {(name: string) => string} */
export const titleOf = (name) => now.cargo.get(name)?.title ?? now.model.items.get(name)?.title ?? name;
/** @type {(name: string) => number} */
export const massOf = (name) => {
  const item = now.model.items.get(name),
    at = now.cargo.get(name);
  return item?.level ? item.mass[0] * (at?.level ?? 0) : (at?.mass ?? 0);
};
/** @type {(name: string) => boolean} */
export const fixed = (name) => {
  const item = now.model.items.get(name);
  return item ? !item.known : false;
};
/** @type {(name: string) => boolean} */
export const placed = (name) => now.model.items.get(name)?.placed ?? true;
/** @type {(at: { x: number, y: number }) => string} */
export const spot = (at) =>
  `${show(at.x, 2)} ${day.length} back, ${Math.abs(at.y) < 0.005 ? "in the middle" : `${show(Math.abs(at.y), 2)} ${day.length} ${at.y > 0 ? "left" : "right"}`}`;
/** @type {(name: string) => string} */
export const saidOf = (name) => {
  const at = now.cargo.get(name);
  if (fixed(name) || !at) return placed(name) ? "mass not known" : "place not known";
  return `${show(massOf(name), 1)} ${day.unit}, ${spot(at)}`;
};
