// Ed25519, strictly (RFC 8032, 5.1.3, 5.1.7 and 6): one signature has one encoding, and no key fits any signature.
// The browser verifies where it can; where it cannot, the arithmetic below does. It sees public values only.
import { joined, same, sha512 } from "./bytes.js";

export const KEY_LENGTH = 32;
export const SIGNATURE_LENGTH = 64;

const P = 2n ** 255n - 19n;
const L = 2n ** 252n + 27742317777372353535851937790883648493n;
const D = mod(-121665n * inverse(121666n));
const ROOT = power(2n, (P - 1n) / 4n); // of -1

/**
 * A point as X, Y, Z, T: x = X/Z, y = Y/Z, x y = T/Z.
 * @typedef {[bigint, bigint, bigint, bigint]} Point
 */

const NEUTRAL = /** @type {Point} */ ([0n, 1n, 1n, 0n]);
const BASE = point(littleEndian(mod(4n * inverse(5n))));

/**
 * Why 32 bytes are no public key that means something; null where they are one.
 * @param {Uint8Array} key
 * @returns {string | null}
 */
export function faultOfKey(key) {
  if (key.length !== KEY_LENGTH) return `has ${key.length} bytes; a public key has ${KEY_LENGTH}`;
  const found = point(key);
  if (found === null) return "is no point of the curve in its one encoding";
  return lowOrder(found) ? "is a point of low order, which fits any signature" : null;
}

/**
 * Whether `signature` is that of `message` by the holder of the key.
 * @param {Uint8Array} key
 * @param {Uint8Array} message
 * @param {Uint8Array} signature
 * @param {boolean} [byHand] by the arithmetic below even where the browser could
 * @returns {Promise<boolean>}
 */
export async function verified(key, message, signature, byHand = false) {
  if (faultOfKey(key) !== null || signature.length !== SIGNATURE_LENGTH) return false;
  if (number(signature.slice(32)) >= L) return false;
  const first = point(signature.slice(0, 32));
  if (first === null || lowOrder(first)) return false;
  const answer = byHand ? null : await askBrowser(key, message, signature);
  return answer ?? (await reckoned(key, message, signature));
}

/**
 * The browser's own answer; null where it does not know this kind of signature.
 * @param {Uint8Array} key
 * @param {Uint8Array} message
 * @param {Uint8Array} signature
 * @returns {Promise<boolean | null>}
 */
async function askBrowser(key, message, signature) {
  try {
    const handle = await crypto.subtle.importKey("raw", key, { name: "Ed25519" }, false, ["verify"]);
    return await crypto.subtle.verify({ name: "Ed25519" }, handle, signature, message);
  } catch {
    return null;
  }
}

/**
 * The equation S B = R + h A, with R compared as it is written.
 * @param {Uint8Array} key
 * @param {Uint8Array} message
 * @param {Uint8Array} signature
 */
async function reckoned(key, message, signature) {
  const first = signature.slice(0, 32);
  const found = point(key);
  if (found === null || BASE === null) return false;
  const h = number(await sha512(joined(first, key, message))) % L;
  const [x, y, z, t] = times(h, found);
  const wanted = added(times(number(signature.slice(32)), BASE), [mod(-x), y, z, mod(-t)]);
  return same(written(wanted), first);
}

/**
 * The point that 32 bytes encode; null where there is none, or where it has a shorter encoding.
 * @param {Uint8Array} data
 * @returns {Point | null}
 */
function point(data) {
  const whole = number(data);
  const sign = whole >> 255n;
  const y = whole & ((1n << 255n) - 1n);
  if (y >= P) return null;
  const square = mod((y * y - 1n) * inverse(D * y * y + 1n));
  let x = power(square, (P + 3n) / 8n);
  if (mod(x * x - square) !== 0n) x = mod(x * ROOT);
  if (mod(x * x - square) !== 0n || (x === 0n && sign === 1n)) return null;
  if ((x & 1n) !== sign) x = P - x;
  return [x, y, 1n, mod(x * y)];
}

/** @param {Point} one */
function lowOrder(one) {
  let eightfold = one;
  for (let time = 0; time < 3; time++) eightfold = added(eightfold, eightfold);
  const [x, y, z] = eightfold;
  return x === NEUTRAL[0] && y === z;
}

/**
 * Sum of two points; the formulas hold for all (RFC 8032, 5.1.4).
 * @param {Point} one
 * @param {Point} other
 * @returns {Point}
 */
function added([x1, y1, z1, t1], [x2, y2, z2, t2]) {
  const a = (y1 - x1) * (y2 - x2);
  const b = (y1 + x1) * (y2 + x2);
  const c = 2n * D * mod(t1 * t2);
  const d = 2n * z1 * z2;
  const [e, f, g, h] = [mod(b - a), mod(d - c), mod(d + c), mod(b + a)];
  return [mod(e * f), mod(g * h), mod(f * g), mod(e * h)];
}

/**
 * @param {bigint} factor
 * @param {Point} one
 * @returns {Point}
 */
function times(factor, one) {
  let sum = NEUTRAL;
  for (let doubled = one; factor > 0n; factor >>= 1n) {
    if (factor & 1n) sum = added(sum, doubled);
    doubled = added(doubled, doubled);
  }
  return sum;
}

/** @param {Point} one */
function written([x, y, z]) {
  const shrink = inverse(z);
  return littleEndian(mod(y * shrink) | ((mod(x * shrink) & 1n) << 255n));
}

/** @param {bigint} value */
function littleEndian(value) {
  return Uint8Array.from({ length: KEY_LENGTH }, (_, at) => Number((value >> BigInt(8 * at)) & 255n));
}

/** @param {Uint8Array} data */
function number(data) {
  return data.reduceRight((sum, byte) => sum * 256n + BigInt(byte), 0n);
}

/** @param {bigint} value */
function mod(value) {
  const rest = value % P;
  return rest < 0n ? rest + P : rest;
}

/** @param {bigint} value */
function inverse(value) {
  return power(mod(value), P - 2n);
}

/**
 * @param {bigint} base
 * @param {bigint} exponent
 */
function power(base, exponent) {
  let result = 1n;
  for (; exponent > 0n; exponent >>= 1n) {
    if (exponent & 1n) result = (result * base) % P;
    base = (base * base) % P;
  }
  return result;
}
