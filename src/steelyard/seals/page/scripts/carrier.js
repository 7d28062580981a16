// The text of a code, back to the bytes of the seal: words, a colon, Base45 (RFC 9285), zlib.
import { Refused } from "./bytes.js";
import { inflated } from "./inflate.js";
import { LARGEST } from "./cbor.js";
import { plain } from "./words.js";

const LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";
const BASE = LETTERS.length;

/** Letters of a pasted text at most. */
export const LONGEST_TEXT = 20_000;

/**
 * The bytes of a text.
 * @param {string} text
 * @returns {Uint8Array}
 */
export function fromBase45(text) {
  const letters = [...text];
  const foreign = letters.find((letter) => !LETTERS.includes(letter));
  if (foreign !== undefined) throw new Refused(`has the letter '${plain(foreign, 8)}', which Base45 does not have`);
  if (letters.length % 3 === 1) throw new Refused(`has ${letters.length} letters; one is missing or one too many`);
  const data = [];
  for (let at = 0; at < letters.length; at += 3) {
    const group = letters.slice(at, at + 3);
    const number = group.reduce((sum, letter, power) => sum + LETTERS.indexOf(letter) * BASE ** power, 0);
    const size = group.length - 1;
    if (number >= 256 ** size) throw new Refused(`has letters that no bytes have, at letter ${at + 1}`);
    if (size === 2) data.push(number >> 8);
    data.push(number & 255);
  }
  return Uint8Array.from(data);
}

/** @param {string} packed */
function unpackedLetters(packed) {
  try {
    return fromBase45(packed);
  } catch {
    try {
      return fromBase45(packed.replace(/ +$/, "")); // a paste may end in blanks
    } catch (error) {
      throw error instanceof Refused ? new Refused(`carries no seal: it ${error.message}`) : error;
    }
  }
}

/**
 * The bytes of the seal that a text carries. White space at the ends and line breaks of a paste do not count.
 * @param {string} text
 * @returns {Promise<Uint8Array>}
 */
export async function uncarried(text) {
  if (text.length > 2 * LONGEST_TEXT || [...text].length > LONGEST_TEXT) {
    throw new Refused(`is longer than ${LONGEST_TEXT} letters, which no code is`);
  }
  const bare = text.replace(/[\r\n\t\ufeff]/g, "").replace(/^\u00a0+|\u00a0+$/g, "");
  const split = bare.indexOf(":");
  if (split < 0) throw new Refused("carries no seal: there is no colon behind the words");
  const data = unpackedLetters(bare.slice(split + 1));
  const found = await inflated(data, LARGEST);
  if (found === "too much") throw new Refused(`carries no seal: it unpacks to more than ${LARGEST} bytes`);
  if (found === "not whole") throw new Refused("carries no whole seal: it does not unpack");
  return found;
}
