// Several seals of one key against one another: gaps in their numbers, and contradictions.
import { same, hex } from "./bytes.js";

/** @typedef {import("./record.js").SealRecord} SealRecord */
/**
 * One seal with its digest and its place in what was given.
 * @typedef {{ place: number, digest: Uint8Array, record: SealRecord }} Numbered
 */
/** @typedef {{ words: string, wrong: number[] }} SeriesNote the seals that cannot all be as they should be; none for a gap */

/**
 * @param {Numbered[]} seals
 * @returns {SeriesNote[]}
 */
export function seriesNotes(seals) {
  /** @type {Map<string, Numbered[]>} */
  const byKey = new Map();
  for (const seal of seals) {
    const key = hex(seal.record.key);
    byKey.set(key, [...(byKey.get(key) ?? []), seal]);
  }
  return [...byKey.values()].flatMap((one) => notesOfKey(one));
}

/**
 * @param {Numbered[]} seals
 * @returns {SeriesNote[]}
 */
function notesOfKey(seals) {
  const ordered = [...seals].sort(
    (one, other) => one.record.number - other.record.number || one.record.sealedAt - other.record.sealedAt,
  );
  /** @type {SeriesNote[]} */
  const notes = [];
  for (let at = 1; at < ordered.length; at++) {
    const [one, other] = [ordered[at - 1], ordered[at]];
    const [before, after] = [one.record, other.record];
    const wrong = [one.place, other.place];
    if (before.number === after.number) {
      const words = `this key made two different seals with the number ${after.number}: one of them is hidden from somebody`;
      notes.push({ words, wrong });
      continue;
    }
    if (after.number > before.number + 1) notes.push({ words: gap(before.number + 1, after.number - 1), wrong: [] });
    else if (after.previous === null || !same(after.previous, one.digest)) {
      const words = `seal ${after.number} names another seal before it than the seal ${before.number} given here`;
      notes.push({ words, wrong });
    }
    if (after.sealedAt < before.sealedAt) {
      const words = `seal ${after.number} claims an earlier time than seal ${before.number}: the weigher's clock jumped`;
      notes.push({ words, wrong });
    }
  }
  return notes;
}

/**
 * @param {number} first
 * @param {number} last
 */
function gap(first, last) {
  return first === last
    ? `seal ${first} of this key is not among those given; ask the weigher for it`
    : `seals ${first} to ${last} of this key are not among those given; ask the weigher for them`;
}
