// A signed message: COSE_Sign1 (RFC 9052, 4.2 and 4.4) with Ed25519, in the one form that a seal has.
import { joined, Refused, sha256 } from "./bytes.js";
import { decoded, Tagged } from "./cbor.js";
import { SIGNATURE_LENGTH } from "./ed25519.js";

const ALGORITHM = 1;
const KEY_ID = 4;
const ED25519 = -19; // RFC 9864
const SHORT = 8; // bytes of a key's digest that name it

/**
 * A message that is well formed; whether its signature is right has not been asked yet.
 * @typedef {{ keyId: Uint8Array, payload: Uint8Array, signature: Uint8Array, toBeSigned: Uint8Array }} Signed
 */

/**
 * The name of a key in a message: the first eight bytes of its SHA-256.
 * @param {Uint8Array} key
 */
export async function keyIdOf(key) {
  return (await sha256(key)).slice(0, SHORT);
}

/**
 * @param {Uint8Array} data
 * @returns {Signed}
 */
export function parsed(data) {
  const whole = decoded(data);
  if (!(whole instanceof Tagged)) throw new Refused("is no signed message: it does not begin with the tag of one");
  const parts = whole.value;
  if (!Array.isArray(parts) || parts.length !== 4) {
    throw new Refused("is no signed message: it does not have four parts");
  }
  const [header, open, payload, signature] = parts;
  if (!(header instanceof Uint8Array) || !(payload instanceof Uint8Array) || !(signature instanceof Uint8Array)) {
    throw new Refused("is no signed message: header, payload and signature are bytes");
  }
  if (!(open instanceof Map) || open.size > 0) throw new Refused("has headers that the signature does not cover");
  if (signature.length !== SIGNATURE_LENGTH) {
    throw new Refused(`has a signature of ${signature.length} bytes; one of Ed25519 has ${SIGNATURE_LENGTH}`);
  }
  return { keyId: keyIdIn(header), payload, signature, toBeSigned: toBeSigned(header, payload) };
}

/**
 * @param {Uint8Array} header
 * @returns {Uint8Array}
 */
function keyIdIn(header) {
  let found;
  try {
    found = decoded(header);
  } catch (error) {
    throw error instanceof Refused ? new Refused(`has a header that ${error.message}`) : error;
  }
  if (!(found instanceof Map) || found.size !== 2 || !found.has(ALGORITHM) || !found.has(KEY_ID)) {
    throw new Refused("has a header with other entries than algorithm and key");
  }
  if (found.get(ALGORITHM) !== ED25519) {
    throw new Refused(`is signed by another algorithm; a seal by ${ED25519}, Ed25519`);
  }
  const keyId = found.get(KEY_ID);
  if (!(keyId instanceof Uint8Array) || keyId.length !== SHORT) {
    throw new Refused(`names its key by something else than ${SHORT} bytes`);
  }
  return keyId;
}

/**
 * The bytes under the signature: `Sig_structure` without further data.
 * @param {Uint8Array} header
 * @param {Uint8Array} payload
 */
function toBeSigned(header, payload) {
  const context = new TextEncoder().encode("Signature1");
  const begin = Uint8Array.of(0x84, 0x60 + context.length);
  return joined(begin, context, head(header.length), header, head(0), head(payload.length), payload);
}

/**
 * The head of so many bytes, in its shortest form.
 * @param {number} length
 */
function head(length) {
  if (length < 24) return Uint8Array.of(0x40 + length);
  return length < 256 ? Uint8Array.of(0x58, length) : Uint8Array.of(0x59, length >> 8, length & 255);
}
