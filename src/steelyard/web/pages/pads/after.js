// What a draft changed: findings before and after, in words. Figures come from the station; nothing is reckoned here.

import { inState, ofCargo, rank } from "./finding-id.js";
import { formatNumber } from "./number.js";
import { byTrouble, ofStation } from "./verdict.js";

/** @type {(value: number, u: number) => number} */
export function places(value, u) {
  if (!(u > 0)) return 0;
  return Math.max(0, 1 - Math.floor(Math.log10(u)));
}

/** @type {(value: number, u: number, unit: string) => string} */
export function amount(value, u, unit) {
  const digits = Math.min(places(value, u), 2);
  /** @type {(number: number) => string} */
  const show = (number) => formatNumber(number, digits, digits);
  return `${show(value)} ± ${show(u)} ${unit}`;
}

// A finding in words: its doubt, or where it is contested the span of the answers.
/** @type {(item: Api.Finding) => string} */
export function said(item) {
  const { value, u, low, high } = item;
  if (value === null || u === null || low === null || high === null) return "not determined";
  if (!item.contested) return amount(value, u, item.unit);
  const digits = Math.min(places(value, (high - low) / 2), 2);
  /** @type {(number: number) => string} */
  const show = (number) => formatNumber(number, digits, digits);
  return `${show(low)} to ${show(high)} ${item.unit} (contested)`;
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

/** @typedef {Api.Verdict & { verdict: "within" | "undecided" | "outside" }} Decided */
/** @type {(item: Api.Verdict) => item is Decided} */
const isDecided = (item) => item.verdict !== null;

// Verdicts of the state as they stand now, worst first, each as a sign says it, and whether the draft changed them.
/** @type {(before: Api.Findings | null, after: Api.Findings, state: string) => { item: Decided, told: Page.Verdict, changed: boolean }[]} */
export function judged(before, after, state) {
  const was = new Map((before?.verdicts ?? []).map((item) => [item.id, item.verdict])),
    known = new Map(after.findings.map((item) => [item.id, item]));
  return after.verdicts
    .filter(isDecided)
    .filter((item) => inState(item.finding, state))
    .map((item) => ({
      item,
      told: ofStation(item, known.get(item.finding)),
      changed: was.get(item.id) !== item.verdict,
    }))
    .sort((a, b) => byTrouble(a.told, b.told));
}

/** @type {(after: Api.Findings, number: number) => Api.Suspect[]} */
export function suspectsOf(after, number) {
  return after.consistency.suspects.filter((item) => item.draft === number);
}
