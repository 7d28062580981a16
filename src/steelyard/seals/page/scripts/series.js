// Several seals of one weigher against one another: gaps in their numbers, and contradictions.
//
// The numbers go on when a key takes the place of another. A gap is looked for among all keys of a weigher, because a seal
// could be hidden behind a new key. A contradiction is looked for among the seals of one key: a thief who has an old key
// must not be able to make the seals of the new one wrong.
import { same, hex } from "./bytes.js";

/** @typedef {import("./record.js").SealRecord} SealRecord */
/**
 * One seal with its digest, its place in what was given, and whose key it is where a file of keys says so.
 * @typedef {{ place: number, digest: Uint8Array, record: SealRecord, weigher: string | null }} Numbered
 */
/** @typedef {{ words: string, wrong: number[] }} SeriesNote the seals that cannot all be as they should be; none for a gap */

/**
 * @param {Numbered[]} seals
 * @returns {SeriesNote[]}
 */
export function seriesNotes(seals) {
  /** @type {Map<string, Numbered[]>} */
  const byKey = new Map();
  /** @type {Map<string, Numbered[]>} */
  const byWeigher = new Map();
  for (const seal of seals) {
    const key = hex(seal.record.key);
    const weigher = seal.weigher ?? key;
    byKey.set(key, [...(byKey.get(key) ?? []), seal]);
    byWeigher.set(weigher, [...(byWeigher.get(weigher) ?? []), seal]);
  }
  return [...[...byKey.values()].flatMap(notesOfKey), ...[...byWeigher.values()].flatMap(gaps)];
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
    const next = after.number === before.number + 1;
    if (next && (after.previous === null || !same(after.previous, one.digest))) {
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
 * The numbers that are missing between the seals of one weigher.
 * @param {Numbered[]} seals
 * @returns {SeriesNote[]}
 */
function gaps(seals) {
  const whose = new Set(seals.map(({ record }) => hex(record.key))).size === 1 ? "key" : "weigher";
  const numbers = [...new Set(seals.map(({ record }) => record.number))].sort((one, other) => one - other);
  return numbers.flatMap((number, at) => {
    const before = at === 0 ? number : numbers[at - 1];
    return number > before + 1 ? [{ words: gap(before + 1, number - 1, whose), wrong: [] }] : [];
  });
}

/**
 * @param {number} first
 * @param {number} last
 * @param {string} whose
 */
function gap(first, last, whose) {
  return first === last
    ? `seal ${first} of this ${whose} is not among those given; ask the weigher for it`
    : `seals ${first} to ${last} of this ${whose} are not among those given; ask the weigher for them`;
}
