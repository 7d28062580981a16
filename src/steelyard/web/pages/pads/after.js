// What a draft changed: findings before and after, in words. Figures come from the station; nothing is reckoned here.

import { inState, ofCargo, rank } from "./finding-id.js";
import { formatNumber } from "./number.js";

export function places(value, u) {
  if (!(u > 0)) return 0;
  return Math.max(0, 1 - Math.floor(Math.log10(u)));
}

export function amount(value, u, unit) {
  const digits = Math.min(places(value, u), 2);
  const show = (number) => formatNumber(number, digits, digits);
  return `${show(value)} ± ${show(u)} ${unit}`;
}

// A finding in words: its doubt, or where it is contested the span of the answers.
export function said(item) {
  if (!item.contested) return amount(item.value, item.u, item.unit);
  const digits = Math.min(places(item.value, (item.high - item.low) / 2), 2);
  const show = (number) => formatNumber(number, digits, digits);
  return `${show(item.low)} to ${show(item.high)} ${item.unit} (contested)`;
}

const ORDER = ["gross", "load", "axle", "side", "wheel"];
const RANK = { outside: 0, undecided: 1, within: 2 };

// The findings of one state that are new or moved by more than a part of their doubt, those that matter most first.
export function moved(before, after, state) {
  const was = new Map((before?.findings ?? []).map((item) => [item.id, item]));
  const found = [];
  for (const item of after.findings) {
    if (!item.determined || !(inState(item.id, state) || ofCargo(item.id))) continue;
    const old = was.get(item.id);
    if (old?.determined && Math.abs(old.value - item.value) < 0.1 * item.u && Math.abs(old.u - item.u) < 0.1 * item.u)
      continue;
    found.push({ item, old: old?.determined ? old : null });
  }
  return found.sort((a, b) => rank(a.item.id, ORDER) - rank(b.item.id, ORDER));
}

// Verdicts of the state as they stand now, worst first, and whether the draft changed them.
export function judged(before, after, state) {
  const was = new Map((before?.verdicts ?? []).map((item) => [item.id, item.verdict]));
  return after.verdicts
    .filter((item) => item.verdict && inState(item.finding, state))
    .map((item) => ({ item, changed: was.get(item.id) !== item.verdict }))
    .sort((a, b) => RANK[a.item.verdict] - RANK[b.item.verdict] || a.item.probability - b.item.probability);
}

export function suspectsOf(after, number) {
  return after.consistency.suspects.filter((item) => item.draft === number);
}
