// CBOR in its one deterministic form (RFC 8949, 4.2.1): whatever has two encodings is refused.
import { order, Refused, utf8 } from "./bytes.js";

/** Bytes of an encoded item at most. */
export const LARGEST = 16_000;

const DEEPEST = 8;
const UNSIGNED = 0;
const NEGATIVE = 1;
const BYTES = 2;
const TEXT = 3;
const ARRAY = 4;
const MAP = 5;
const TAG = 6;
const SIMPLE = 7;
const SIGN1 = 18; // RFC 9052
const LENGTHS = /** @type {Record<number, number>} */ ({ 24: 1, 25: 2, 26: 4, 27: 8 });
const CONSTANTS = /** @type {Record<number, boolean | null>} */ ({ 20: false, 21: true, 22: null });
const EXACT = 2n ** 53n;

/** A value behind a tag. */
export class Tagged {
  /**
   * @param {number} tag
   * @param {Cbor} value
   */
  constructor(tag, value) {
    this.tag = tag;
    this.value = value;
  }
}

/** @typedef {Seals.Cbor} Cbor */

/**
 * The value of some bytes. A whole number beyond 2**53 is a bigint.
 * @param {Uint8Array} data
 * @returns {Cbor}
 */
export function decoded(data) {
  if (data.length > LARGEST) throw new Refused(`has ${data.length} bytes; at most ${LARGEST} are read`);
  const [value, end] = item(data, 0, 0);
  if (end !== data.length) {
    throw new Refused(`goes on after its end: ${data.length - end} bytes from byte ${end} on`);
  }
  return value;
}

/**
 * The item at `at`, and where it ends.
 * @param {Uint8Array} data
 * @param {number} at
 * @param {number} depth
 * @returns {[Cbor, number]}
 */
function item(data, at, depth) {
  if (depth > DEEPEST) throw new Refused(`is nested more than ${DEEPEST} deep at byte ${at}`);
  const [kind, count, end] = head(data, at);
  if (kind === SIMPLE) return [CONSTANTS[Number(count)], end];
  if (kind === UNSIGNED) return [exact(count), end];
  if (kind === NEGATIVE) return [exact(-1n - count), end];
  const rest = data.length - end;
  if (kind === BYTES || kind === TEXT) {
    if (count > rest) throw new Refused(`is cut short at byte ${at}: ${count} bytes are announced, ${rest} are there`);
    const stop = end + Number(count);
    const bytes = data.slice(end, stop);
    return [kind === BYTES ? bytes : text(bytes, at), stop];
  }
  if (kind === TAG && count !== BigInt(SIGN1)) throw new Refused(`has the tag ${count} at byte ${at}`);
  const items = kind === ARRAY ? count : kind === MAP ? 2n * count : 1n;
  if (items > rest) throw new Refused(`is cut short at byte ${at}: ${items} items are announced`); // of a byte at least
  if (kind === MAP) return pairs(data, end, Number(count), depth);
  const [values, stop] = list(data, end, Number(items), depth);
  return [kind === TAG ? new Tagged(SIGN1, values[0]) : values, stop];
}

/**
 * @param {Uint8Array} data
 * @param {number} at
 * @param {number} count
 * @param {number} depth
 * @returns {[Cbor[], number]}
 */
function list(data, at, count, depth) {
  const values = [];
  for (let number = 0; number < count; number++) {
    const [value, end] = item(data, at, depth + 1);
    values.push(value);
    at = end;
  }
  return [values, at];
}

/**
 * @param {Uint8Array} data
 * @param {number} at
 * @param {number} count
 * @param {number} depth
 * @returns {[Map<Cbor, Cbor>, number]}
 */
function pairs(data, at, count, depth) {
  /** @type {Map<Cbor, Cbor>} */
  const values = new Map();
  let before = null;
  for (let number = 0; number < count; number++) {
    const [key, middle] = item(data, at, depth + 1);
    const bytes = data.subarray(at, middle);
    if (before !== null && order(before, bytes) >= 0) {
      throw new Refused(`has its keys doubled or out of order at byte ${at}`);
    }
    before = bytes;
    const [value, end] = item(data, middle, depth + 1);
    values.set(key, value);
    at = end;
  }
  return [values, at];
}

/**
 * Major type, argument, and where the head at `at` ends.
 * @param {Uint8Array} data
 * @param {number} at
 * @returns {[number, bigint, number]}
 */
function head(data, at) {
  if (at >= data.length) throw new Refused(`is cut short at byte ${at}`);
  const kind = data[at] >> 5;
  const short = data[at] & 31;
  if (kind === SIMPLE) {
    if (!(short in CONSTANTS)) throw new Refused(`has a value at byte ${at} that no seal has`);
    return [kind, BigInt(short), at + 1];
  }
  if (short < 24) return [kind, BigInt(short), at + 1];
  const length = LENGTHS[short];
  if (length === undefined) throw new Refused(`has an open or reserved length at byte ${at}`);
  const end = at + 1 + length;
  if (end > data.length) throw new Refused(`is cut short at byte ${at}`);
  const count = data.subarray(at + 1, end).reduce((sum, byte) => sum * 256n + BigInt(byte), 0n);
  if (count < (length === 1 ? 24n : 1n << BigInt(4 * length))) {
    throw new Refused(`has a number at byte ${at} that is longer than it need be`);
  }
  return [kind, count, end];
}

/**
 * @param {bigint} number
 * @returns {number | bigint}
 */
function exact(number) {
  return number <= EXACT && number >= -EXACT ? Number(number) : number;
}

/**
 * @param {Uint8Array} bytes
 * @param {number} at
 */
function text(bytes, at) {
  const found = utf8(bytes);
  if (found === null) throw new Refused(`cannot be read: the text at byte ${at} is no UTF-8`);
  return found;
}
