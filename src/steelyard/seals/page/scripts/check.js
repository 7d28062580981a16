// One check: everything that was given and told, read and judged.
import { Refused } from "./bytes.js";
import { judged } from "./judge.js";
import { readBook, readFingerprint } from "./keybook.js";
import { knownKeys } from "./known.js";
import { codesIn } from "./picture.js";
import { readFile, readText } from "./reading.js";

/**
 * A file or a pasted text that was given.
 * @typedef {{ name: string, data?: Uint8Array, text?: string }} Given
 */
/** @typedef {{ name: string, message: string }} Fault */

/**
 * The judgement, or null where nothing was given that can be judged; and what could not be read.
 * @param {Given[]} given
 * @param {string[]} fingerprints typed
 * @param {string | null} built the keys.json that is part of the page
 * @param {number} [now] by the clock here [s since 1970]
 */
export async function checkAll(given, fingerprints, built, now = Date.now() / 1000) {
  const pieces = [];
  /** @type {Fault[]} */
  const faults = [];
  for (const one of given) {
    try {
      pieces.push(...(await piecesOf(one)));
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      faults.push({ name: one.name, message: error.message });
    }
  }
  const books = pieces.flatMap((piece) => (piece.kind === "keys" ? [piece.book] : []));
  if (built !== null) books.push(await readBook(new TextEncoder().encode(built), "this page"));
  const prints = [];
  for (const typed of fingerprints) {
    const print = readFingerprint(typed);
    if (print === null) faults.push({ name: "fingerprint", message: "is none: it has 32 digits, 0 to 9 and a to f" });
    else prints.push(print);
  }
  const evidence = pieces.filter((piece) => piece.kind !== "keys");
  const standing = await knownKeys(books, prints);
  const answer = evidence.length > 0 ? await judged(evidence, standing, Math.floor(now)) : null;
  return { answer, faults, books };
}

/** @param {Given} given */
async function piecesOf({ name, data, text }) {
  if (text !== undefined) return readText(text, name);
  return readFile(data ?? new Uint8Array(0), name, codesIn);
}
