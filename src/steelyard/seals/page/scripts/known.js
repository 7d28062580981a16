// The keys that somebody who checks a seal was told of, and how one of them stands.
//
// A file that is given is taken at its word, but for keys that only claim to follow another. Where fingerprints are
// given, they are the root of all trust: a key counts only if it is one of them or is tied to one by handovers that both
// keys have signed.
import { fingerprint, Refused, same } from "./bytes.js";
import { decoded } from "./cbor.js";
import { keyIdOf, parsed } from "./cose.js";
import { verified } from "./ed25519.js";
import { sameState } from "./keybook.js";
import { momentWords } from "./words.js";

/** @typedef {import("./keybook.js").KeyBook} KeyBook */
/** @typedef {import("./keybook.js").PublishedKey} PublishedKey */
/** @typedef {import("./keybook.js").Revocation} Revocation */
/** @typedef {{ state: "known" | "unknown" | "retired" | "revoked", good: boolean, why: string, name: string | null, since: number | null, until: number | null, cautions: string[], weigher: string | null }} Standing the weigher is the same for all keys of one file */
/** @typedef {Map<KeyBook, Map<string, [string, string]>>} Unproved */

const HANDOVER = "steelyard key handover";
const FORMAT = 1;
const MOST_SECONDS = 2 ** 40;
const SEVERITY = ["ended", "lost", "stolen"];

/**
 * What is told by some files and fingerprints; asked how a key stands for a seal that claims to be of a time.
 * @param {KeyBook[]} books
 * @param {string[]} fingerprints
 * @returns {Promise<(key: Uint8Array, when: number) => Promise<Standing>>}
 */
export async function knownKeys(books, fingerprints) {
  const unproved = await unprovedOf(books);
  const trusted = trustedOf(books, fingerprints, unproved);
  return async (key, when) => {
    const print = await fingerprint(key);
    const entries = books.flatMap((book) =>
      book.keys.filter((one) => one.fingerprint === print).map((one) => ({ book, one })),
    );
    if (!trusted.has(print)) {
      const proofless = entries
        .map(({ book }) => unproved.get(book)?.get(print))
        .find((reason) => reason !== undefined);
      const why = whyUnknown(
        proofless,
        entries.map(({ book }) => book.file),
        fingerprints.length > 0,
      );
      return { state: "unknown", good: false, why, name: null, since: null, until: null, cautions: [], weigher: null };
    }
    if (entries.length === 0) {
      const why = "You gave this fingerprint.";
      return { state: "known", good: true, why, name: null, since: null, until: null, cautions: [], weigher: null };
    }
    return standing(entries, when);
  };
}

/**
 * @param {{ book: KeyBook, one: PublishedKey }[]} entries
 * @param {number} when
 * @returns {Standing}
 */
function standing(entries, when) {
  const keys = entries.map(({ one }) => one);
  const name = entries.map(({ book }) => book.name).find((one) => one !== null) ?? null;
  const since = Math.min(...keys.map((key) => key.made));
  const ends = keys.map((key) => key.retired).filter((at) => at !== null);
  const until = ends.length > 0 ? Math.min(.../** @type {number[]} */ (ends)) : null;
  const revoked = worst(keys);
  const cautions = [...disagreements(entries), ...claimed(when, since, until, revoked)];
  const weigher = entries[0].book.keys[0].fingerprint;
  if (revoked !== null) {
    const why = `This key is revoked (${revoked.reason}) since ${momentWords(revoked.at)}.`;
    return { state: "revoked", good: false, why, name, since, until, cautions, weigher };
  }
  if (until !== null) {
    const why = `This key was in use from ${momentWords(since)} to ${momentWords(until)}; another took its place.`;
    return { state: "retired", good: true, why, name, since, until, cautions, weigher };
  }
  return {
    state: "known",
    good: true,
    why: `This key is in use since ${momentWords(since)}.`,
    name,
    since,
    until,
    cautions,
    weigher,
  };
}

/**
 * @param {[string, string] | undefined} unproved
 * @param {string[]} files
 * @param {boolean} typed
 */
function whyUnknown(unproved, files, typed) {
  if (unproved !== undefined) {
    return `${unproved[0]} says that this key follows another, but does not prove it: ${unproved[1]}.`;
  }
  if (files.length > 0 && typed) {
    return `${files[0]} lists this key, but no signed handover ties it to a fingerprint that you gave.`;
  }
  if (files.length > 0) return `${files[0]} ties this key to one that is not proved to be the weigher's.`;
  return "Nobody told the program this key.";
}

/**
 * Of each file, each key that follows another: the book, the old key, the new one.
 * @param {KeyBook[]} books
 * @returns {[KeyBook, PublishedKey, PublishedKey][]}
 */
function claims(books) {
  /** @type {[KeyBook, PublishedKey, PublishedKey][]} */
  const found = [];
  for (const book of books) {
    for (const key of book.keys) {
      const old = book.keys.find((one) => one.fingerprint === key.follows?.fingerprint);
      if (old !== undefined) found.push([book, old, key]);
    }
  }
  return found;
}

/**
 * The keys that claim to follow another without proof: by book and fingerprint the file and the reason.
 * @param {KeyBook[]} books
 * @returns {Promise<Unproved>}
 */
async function unprovedOf(books) {
  /** @type {Unproved} */
  const found = new Map(books.map((book) => [book, new Map()]));
  for (const [book, old, key] of claims(books)) {
    const fault = await faultOfHandover(old, key);
    if (fault !== null) found.get(book)?.set(key.fingerprint, [book.file, fault]);
  }
  return found;
}

/**
 * Why nothing proves that one key follows another; null where both have signed that it does.
 * @param {PublishedKey} old
 * @param {PublishedKey} key
 * @returns {Promise<string | null>}
 */
async function faultOfHandover(old, key) {
  if (key.follows === null) return "it names no key before it";
  try {
    const [byOld, byNew] = [parsed(key.follows.byOld), parsed(key.follows.byNew)];
    if (!same(byOld.payload, byNew.payload)) return "the old key and the new one sign different statements";
    const at = momentIn(byOld.payload, old.key, key.key);
    for (const [one, part, words] of /** @type {const} */ ([
      [old, byOld, "old"],
      [key, byNew, "new"],
    ])) {
      const named = same(part.keyId, await keyIdOf(one.key));
      if (!named || !(await verified(one.key, part.toBeSigned, part.signature))) {
        return `the signature of the ${words} key does not fit`;
      }
    }
    return at === key.made ? null : "the time of the handover is not that at which the key was made";
  } catch (error) {
    if (error instanceof Refused) return `a statement ${error.message}`;
    throw error;
  }
}

/**
 * @param {Uint8Array} payload
 * @param {Uint8Array} old
 * @param {Uint8Array} key
 */
function momentIn(payload, old, key) {
  const parts = decoded(payload);
  if (!Array.isArray(parts) || parts.length !== 5 || parts[0] !== HANDOVER || parts[1] !== FORMAT) {
    throw new Refused("is none that one key follows another");
  }
  const [, , first, second, at] = parts;
  if (!(first instanceof Uint8Array) || !(second instanceof Uint8Array) || !same(first, old) || !same(second, key)) {
    throw new Refused("is of other keys");
  }
  if (typeof at !== "number" || at < 0 || at >= MOST_SECONDS) throw new Refused("has no moment");
  return at;
}

/**
 * The fingerprints of all keys that are known.
 * @param {KeyBook[]} books
 * @param {string[]} fingerprints
 * @param {Unproved} unproved
 * @returns {Set<string>}
 */
function trustedOf(books, fingerprints, unproved) {
  const links = claims(books).filter(([book, , key]) => !unproved.get(book)?.has(key.fingerprint));
  if (fingerprints.length > 0) return reached(fingerprints, steps(books, links));
  /** @type {Set<string>} */
  const trusted = new Set();
  for (const book of books) {
    const roots = book.keys.filter((key) => key.follows === null).map((key) => key.fingerprint);
    const forward = links
      .filter(([one]) => one === book)
      .map(([, old, key]) => /** @type {[string, string]} */ ([old.fingerprint, key.fingerprint]));
    for (const one of reached(roots, forward)) trusted.add(one);
  }
  return trusted;
}

/**
 * Which key vouches for which: the new one for the old one, and the old one for the new one unless a thief or a finder
 * may have signed in its name.
 * @param {KeyBook[]} books
 * @param {[KeyBook, PublishedKey, PublishedKey][]} links
 * @returns {[string, string][]}
 */
function steps(books, links) {
  /** @type {[string, string][]} */
  const found = [];
  for (const [, old, key] of links) {
    found.push([key.fingerprint, old.fingerprint]);
    const revoked = worst(books.flatMap((book) => book.keys.filter((one) => one.fingerprint === old.fingerprint)));
    if (revoked === null || revoked.reason === "ended") found.push([old.fingerprint, key.fingerprint]);
  }
  return found;
}

/**
 * Everything that steps lead to, the roots included.
 * @param {string[]} roots
 * @param {[string, string][]} onward
 */
function reached(roots, onward) {
  const found = new Set(roots);
  const open = [...roots];
  for (let one = open.pop(); one !== undefined; one = open.pop()) {
    for (const [start, end] of onward) {
      if (start === one && !found.has(end)) {
        found.add(end);
        open.push(end);
      }
    }
  }
  return found;
}

/**
 * The earliest time and the worst reason.
 * @param {PublishedKey[]} keys
 * @returns {Revocation | null}
 */
function worst(keys) {
  const revoked = keys.flatMap((key) => (key.revoked === null ? [] : [key.revoked]));
  if (revoked.length === 0) return null;
  const reason = SEVERITY[Math.max(...revoked.map((one) => SEVERITY.indexOf(one.reason)))];
  return { at: Math.min(...revoked.map((one) => one.at)), reason };
}

/** @param {{ book: KeyBook, one: PublishedKey }[]} entries */
function disagreements(entries) {
  const files = [...new Set(entries.map(({ book }) => book.file))].join(" and ");
  const found = [];
  if (!entries.every(({ one }) => sameState(one, entries[0].one))) {
    found.push(`${files} contradict each other about this key; the worst of what they say counts here.`);
  }
  const names = [...new Set(entries.map(({ book }) => book.name).filter((name) => name !== null))];
  if (names.length > 1) found.push(`${files} call the holder of this key ${names.join(" and ")}.`);
  return found;
}

/**
 * Cautions about the time that a seal claims.
 * @param {number} when
 * @param {number} since
 * @param {number | null} until
 * @param {Revocation | null} revoked
 * @returns {string[]}
 */
function claimed(when, since, until, revoked) {
  const claim = `The seal claims ${momentWords(when)}`;
  const cautions = [];
  if (when < since) cautions.push(`${claim}, before the key was made: a clock was wrong, or the file is.`);
  if (revoked !== null) {
    if (when >= revoked.at) cautions.push(`${claim}, after the key was revoked.`);
    else if (revoked.reason === "ended") {
      cautions.push(`${claim}, before the key was revoked. That time is only claimed, by the weigher's own clock.`);
    } else {
      cautions.push(
        `${claim}, before the key was revoked. That time is only claimed: whoever has the private key can claim any.`,
      );
    }
  } else if (until !== null && when > until) {
    cautions.push(`${claim}, after another key took the place of this one. Ask the weigher why.`);
  }
  return cautions;
}
