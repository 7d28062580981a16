// `keys.json`, the file in which a weigher publishes every public key that they have had, and what became of each.
import { fingerprint, Refused, same, utf8 } from "./bytes.js";
import { faultOfKey, KEY_LENGTH } from "./ed25519.js";
import { readJson } from "./json.js";

/** @typedef {Seals.Json} Json */
/** @typedef {{ at: number, reason: string }} Revocation */
/** @typedef {{ fingerprint: string, byOld: Uint8Array, byNew: Uint8Array }} Follows */
/** @typedef {{ key: Uint8Array, fingerprint: string, made: number, retired: number | null, revoked: Revocation | null, follows: Follows | null }} PublishedKey */
/** @typedef {{ file: string, name: string | null, keys: PublishedKey[] }} KeyBook */

const FORMAT = 1;
const LARGEST = 1_000_000;
const MOST_KEYS = 100;
const LONGEST_NAME = 60;
const LONGEST_STATEMENT = 1000;
const REASONS = ["lost", "stolen", "ended"];
const MOMENT = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$/;

/**
 * The keys in the bytes of a `keys.json`. Whether a key truly follows another is not asked here.
 * @param {Uint8Array} data
 * @param {string} file
 * @returns {Promise<KeyBook>}
 */
export async function readBook(data, file) {
  if (data.length > LARGEST) throw new Refused(`is no keys.json: it has more than ${LARGEST} bytes`);
  const text = utf8(data);
  if (text === null) throw new Refused("is no keys.json: it is not written in UTF-8");
  const whole = entries(readJson(text.replace(/^\ufeff/, "")), "keys.json", ["format", "keys"], ["name"]);
  if (whole.format !== FORMAT) throw new Refused(`is no keys.json that this page reads: it reads format ${FORMAT}`);
  const name = whole.name ?? null;
  if (name !== null && !isShownName(name)) {
    throw new Refused(`is no keys.json: its name is none of 1 to ${LONGEST_NAME} letters on one line`);
  }
  const listed = whole.keys;
  if (!Array.isArray(listed) || listed.length === 0) throw new Refused("is no keys.json: it has no list of keys");
  if (listed.length > MOST_KEYS) throw new Refused(`is no keys.json: a weigher has at most ${MOST_KEYS} keys`);
  const keys = [];
  for (const [at, item] of listed.entries()) keys.push(await keyOf(item, `keys[${at + 1}]`));
  const known = keys.map((key) => key.fingerprint);
  for (const [at, key] of keys.entries()) {
    if (known.indexOf(key.fingerprint) !== at) throw new Refused(`is no keys.json: keys[${at + 1}] stands there twice`);
    const followed = key.follows?.fingerprint;
    if (followed !== undefined && (!known.includes(followed) || followed === key.fingerprint)) {
      throw new Refused(`is no keys.json: keys[${at + 1}].follows is not another key in this file`);
    }
  }
  return { file, name, keys };
}

/**
 * @param {Json} value
 * @param {string} place
 * @returns {Promise<PublishedKey>}
 */
async function keyOf(value, place) {
  const found = entries(value, place, ["public", "fingerprint", "made"], ["retired", "revoked", "follows"]);
  const key = base64(found.public, `${place}.public`, KEY_LENGTH);
  const fault = faultOfKey(key);
  if (fault !== null) throw new Refused(`is no keys.json: ${place}.public ${fault}`);
  const print = await fingerprint(key);
  if (typeof found.fingerprint !== "string" || readFingerprint(found.fingerprint) !== print) {
    throw new Refused(`is no keys.json: ${place}.fingerprint is not that of the key, which is ${print}`);
  }
  return {
    key,
    fingerprint: print,
    made: moment(found.made, `${place}.made`),
    retired: found.retired == null ? null : moment(found.retired, `${place}.retired`),
    revoked: found.revoked == null ? null : revocation(found.revoked, `${place}.revoked`),
    follows: found.follows == null ? null : follows(found.follows, `${place}.follows`),
  };
}

/**
 * @param {Json} value
 * @param {string} place
 * @returns {Revocation}
 */
function revocation(value, place) {
  const found = entries(value, place, ["at", "reason"]);
  if (typeof found.reason !== "string" || !REASONS.includes(found.reason)) {
    throw new Refused(`is no keys.json: ${place}.reason is none of ${REASONS.join(", ")}`);
  }
  return { at: moment(found.at, `${place}.at`), reason: found.reason };
}

/**
 * @param {Json} value
 * @param {string} place
 * @returns {Follows}
 */
function follows(value, place) {
  const found = entries(value, place, ["fingerprint", "signed_by_old", "signed_by_new"]);
  const print = typeof found.fingerprint === "string" ? readFingerprint(found.fingerprint) : null;
  if (print === null) throw new Refused(`is no keys.json: ${place}.fingerprint is no fingerprint`);
  return {
    fingerprint: print,
    byOld: base64(found.signed_by_old, `${place}.signed_by_old`, LONGEST_STATEMENT),
    byNew: base64(found.signed_by_new, `${place}.signed_by_new`, LONGEST_STATEMENT),
  };
}

/**
 * The entries of an object: all that are wanted, and no other.
 * @param {Json} value
 * @param {string} place
 * @param {string[]} wanted
 * @param {string[]} [optional]
 * @returns {{ [name: string]: Json }}
 */
function entries(value, place, wanted, optional = []) {
  if (value === null || typeof value !== "object" || Array.isArray(value)) {
    throw new Refused(`is no keys.json: ${place} is no object with ${wanted.join(", ")}`);
  }
  for (const name of Object.keys(value)) {
    if (![...wanted, ...optional].includes(name)) {
      throw new Refused(`is no keys.json: ${place} has the entry ${JSON.stringify(name.slice(0, 60))}`);
    }
  }
  for (const name of wanted) {
    if (value[name] == null) throw new Refused(`is no keys.json: ${place} lacks ${name}`);
  }
  return value;
}

/**
 * @param {Json} value
 * @param {string} place
 * @returns {number}
 */
function moment(value, place) {
  const at = typeof value === "string" && MOMENT.test(value) ? Date.parse(value) / 1000 : Number.NaN;
  // a day that is in no calendar is moved to the next month by some browsers
  if (!Number.isFinite(at) || at < 0 || new Date(1000 * at).toISOString().replace(".000", "") !== value) {
    throw new Refused(`is no keys.json: ${place} is not a time in UTC such as 2026-11-30T12:00:00Z`);
  }
  return at;
}

/**
 * Bytes in base64url, in its one form without padding.
 * @param {Json} value
 * @param {string} place
 * @param {number} most
 */
function base64(value, place, most) {
  const fault = new Refused(`is no keys.json: ${place} is not in base64url without padding`);
  if (typeof value !== "string" || !/^[A-Za-z0-9_-]+$/.test(value) || value.length > 2 * most) throw fault;
  if (value.length % 4 === 1) throw fault;
  const plain = value.replace(/-/g, "+").replace(/_/g, "/");
  const letters = atob(plain);
  if (btoa(letters).replace(/=+$/, "") !== plain) throw fault;
  return Uint8Array.from(letters, (letter) => letter.charCodeAt(0));
}

/**
 * A fingerprint that somebody typed, in its one form; null where the text is none.
 * @param {string} text
 */
export function readFingerprint(text) {
  const digits = text.replace(/[\s:-]/g, "").toLowerCase();
  return /^[0-9a-f]{32}$/.test(digits) ? (digits.match(/.{8}/g) ?? []).join(" ") : null;
}

/**
 * @param {Json} name
 * @returns {name is string}
 */
function isShownName(name) {
  if (typeof name !== "string" || name.trim() === "" || [...name].length > LONGEST_NAME) return false;
  return !/[\p{C}\p{Zl}\p{Zp}]|(?! )\p{Zs}/u.test(name);
}

/**
 * Whether two keys are the same.
 * @param {PublishedKey} one
 * @param {PublishedKey} other
 */
export function sameState(one, other) {
  const [a, b] = [one.revoked, other.revoked];
  return same(one.key, other.key) && one.retired === other.retired && a?.at === b?.at && a?.reason === b?.reason;
}
