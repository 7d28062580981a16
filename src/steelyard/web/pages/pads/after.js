// What a draft changed: findings before and after, in words. Figures come from the station; nothing is reckoned here.

import { inState, ofCargo, parse, rank } from "./finding-id.js";
import { formatNumber, halfWidth } from "./number.js";
import { byTrouble, ofStation } from "./verdict.js";

/** @typedef {Api.Finding & { value: number, low: number, high: number }} Known */
/** @type {(item: Api.Finding | undefined) => item is Known} */
const isKnown = (item) => item !== undefined && item.value !== null && item.low !== null && item.high !== null;

// Decimals that show two figures of the doubt, none below the unit.
/** @type {(doubt: number) => number} */
const decimals = (doubt) => (doubt > 0 ? Math.min(2, Math.max(0, 1 - Math.floor(Math.log10(doubt)))) : 0);

/** @type {(item: Known) => string} */
function span(item) {
  const digits = decimals(halfWidth(item));
  /** @type {(number: number) => string} */
  const show = (number) => formatNumber(number, digits, digits);
  // contested: which of the readings is wrong decides where in this span it lies
  return item.contested ? `${show(item.low)} to ${show(item.high)}` : `${show(item.value)} ± ${show(halfWidth(item))}`;
}

// A finding in words: its doubt, or where it is contested the span of the answers.
/** @type {(item: Api.Finding) => string} */
export const said = (item) =>
  isKnown(item) ? `${span(item)} ${item.unit}${item.contested ? " (contested)" : ""}` : "not known";

// Before and after: "7,391 ± 48 → 7,400 ± 30 lb".
/** @type {(old: Api.Finding | null | undefined, item: Api.Finding) => string} */
export function change(old, item) {
  const before = old && isKnown(old) ? span(old) : "not known";
  return `${before} → ${said(item)}`;
}

const ORDER = ["gross", "load", "axle", "side", "wheel"];

// Whether two figures differ by as much as this.
/** @type {(one: number | null, other: number | null, part: number) => boolean} */
const apart = (one, other, part) => !(Math.abs((one ?? 0) - (other ?? 0)) < part);

// The findings of one state that are new or moved by more than a part of their doubt, those that matter most first.
/** @type {(before: Api.Findings | null, after: Api.Findings, state: string) => { item: Api.Finding, old: Api.Finding | null }[]} */
export function moved(before, after, state) {
  const was = new Map((before?.findings ?? []).map((item) => [item.id, item]));
  const found = [];
  for (const item of after.findings) {
    if (!item.determined || !(inState(item.id, state) || ofCargo(item.id))) continue;
    const old = was.get(item.id);
    const part = 0.1 * (item.u ?? 0);
    if (old?.determined && !apart(old.value, item.value, part) && !apart(old.u, item.u, part)) continue;
    found.push({ item, old: old?.determined ? old : null });
  }
  return found.sort((a, b) => rank(a.item.id, ORDER) - rank(b.item.id, ORDER));
}

// The totals of the vehicles that a draft read, in its state.
/** @type {(found: Api.Findings, state: string, vehicles: string[]) => Api.Finding[]} */
export const totals = (found, state, vehicles) =>
  found.findings.filter((item) => {
    const name = parse(item.id);
    return name.kind === "gross" && inState(item.id, state) && vehicles.includes(name.owner);
  });

/** @typedef {Api.Verdict & { verdict: "within" | "undecided" | "outside" }} Decided */
/** @type {(item: Api.Verdict) => item is Decided} */
const isDecided = (item) => item.verdict !== null;

// Verdicts of the state as they stand now, worst first, each as a sign says it.
/** @type {(after: Api.Findings, state: string) => { item: Decided, told: Page.Verdict }[]} */
export function judged(after, state) {
  const known = new Map(after.findings.map((item) => [item.id, item]));
  return after.verdicts
    .filter(isDecided)
    .filter((item) => inState(item.finding, state))
    .map((item) => ({ item, told: ofStation(item, known.get(item.finding)) }))
    .sort((a, b) => byTrouble(a.told, b.told));
}

/** @type {(after: Api.Findings, number: number) => Api.Suspect[]} */
export function suspectsOf(after, number) {
  return after.consistency.suspects.filter((item) => item.draft === number);
}
