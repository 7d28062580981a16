// Bytes: written as hex, put together, compared, and digested.

/** Bytes that `crypto.subtle` takes. */
/** @typedef {Uint8Array} Bytes */

/** Bytes of a SHA-256. */
export const DIGEST_LENGTH = 32;

/** A file or a text that cannot be what it should; the message ends a sentence that begins with its name. */
export class Refused extends Error {}

/**
 * @param {Bytes} data
 * @returns {string}
 */
export function hex(data) {
  return Array.from(data, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/**
 * The bytes that pairs of digits stand for; null where the text is something else.
 * @param {string} text
 * @returns {Bytes | null}
 */
export function fromHex(text) {
  if (!/^([0-9a-f]{2})*$/.test(text)) return null;
  return Uint8Array.from(text.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));
}

/**
 * @param {Bytes[]} parts
 * @returns {Bytes}
 */
export function joined(...parts) {
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

/**
 * @param {Bytes} one
 * @param {Bytes} other
 */
export function same(one, other) {
  return one.length === other.length && one.every((byte, at) => byte === other[at]);
}

/**
 * Less than zero where `one` stands first in the order of bytes; zero where they are the same.
 * @param {Bytes} one
 * @param {Bytes} other
 */
export function order(one, other) {
  const length = Math.min(one.length, other.length);
  for (let at = 0; at < length; at++) {
    if (one[at] !== other[at]) return one[at] - other[at];
  }
  return one.length - other.length;
}

/**
 * @param {Bytes} data
 * @returns {Promise<Bytes>}
 */
export async function sha256(data) {
  return new Uint8Array(await crypto.subtle.digest("SHA-256", data));
}

/**
 * @param {Bytes} data
 * @returns {Promise<Bytes>}
 */
export async function sha512(data) {
  return new Uint8Array(await crypto.subtle.digest("SHA-512", data));
}

/**
 * How a key is told from others: the first sixteen bytes of its SHA-256, in four groups.
 * @param {Bytes} key
 */
export async function fingerprint(key) {
  const digits = hex((await sha256(key)).slice(0, 16));
  return (digits.match(/.{8}/g) ?? []).join(" ");
}

/**
 * A text of UTF-8, strictly; null where the bytes are none.
 * @param {Bytes} data
 * @returns {string | null}
 */
export function utf8(data) {
  try {
    return new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(data);
  } catch {
    return null;
  }
}
