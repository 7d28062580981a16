// The record that is sealed. Whatever is not exactly of its form is refused, so that it has one meaning everywhere.
import { DIGEST_LENGTH, Refused } from "./bytes.js";
import { decoded } from "./cbor.js";
import { faultOfKey, KEY_LENGTH } from "./ed25519.js";

/** @typedef {Seals.Cbor} Cbor */
/**
 * A figure and its standard uncertainty, in units of the last digit.
 * @typedef {{ value: number, u: number, contested: boolean }} Figure
 */
/**
 * One figure by state, owner and place.
 * @typedef {{ state: string, owner: string, place: number, figure: Figure }} Placed
 */
/**
 * @typedef {object} SealRecord
 * @property {Uint8Array} key
 * @property {number} number
 * @property {Uint8Array | null} previous
 * @property {number} sealedAt
 * @property {string} title
 * @property {string | null} date
 * @property {string} unit
 * @property {number} decimals
 * @property {Uint8Array} findings
 * @property {Uint8Array} readings
 * @property {Uint8Array} dayFile
 * @property {string} program
 * @property {[string, string][]} rules
 * @property {Placed[]} figures
 * @property {number} leftOut
 * @property {number[]} verdicts
 * @property {[string, number][]} troubles
 * @property {number | null} p
 * @property {{ keptBy: string, entries: number, digest: Uint8Array } | null} history
 */

const FORMAT = 1;
const LONGEST_TITLE = 60;
const LONGEST_TEXT = 400;
const LAST_SECOND = 2 ** 40;
const MOST = 2 ** 53;

/** Which figures are left out of a record, by level. */
export const LEVELS = ["nothing", "the wheels", "the wheels and axles", "all but the gross masses", "every figure"];
export const OUTCOMES = ["within", "undecided", "outside", "not determined"];
const WORST = OUTCOMES.indexOf("outside");
const KEEPERS = ["file", "station"];

const KEY = {
  public: 0,
  format: 1,
  number: 2,
  previous: 3,
  sealedAt: 4,
  title: 5,
  date: 6,
  unit: 7,
  decimals: 8,
  findings: 9,
  readings: 10,
  dayFile: 11,
  program: 12,
  rules: 13,
  figures: 14,
  leftOut: 15,
  verdicts: 16,
  troubles: 17,
  p: 18,
  history: 19,
};

/**
 * The record that some bytes are.
 * @param {Uint8Array} data
 * @returns {SealRecord}
 */
export function recordOf(data) {
  const whole = decoded(data);
  if (!(whole instanceof Map)) throw new Refused("is no map");
  if (whole.get(KEY.format) !== FORMAT) throw new Refused(`is of another format; this page reads ${FORMAT}`);
  const keys = Object.values(KEY);
  if (whole.size !== keys.length || !keys.every((key) => whole.has(key))) {
    throw new Refused("lacks an entry, or has one that its format does not have");
  }
  /** @param {number} key */
  const at = (key) => whole.get(key) ?? null;
  /** @param {number} key */
  const digest = (key) => bytes(at(key), key, DIGEST_LENGTH);
  /** @type {(key: number, least?: number, most?: number) => number} */
  const whence = (key, least = 0, most = MOST) => count(at(key), `at key ${key}`, least, most);
  /** @param {number} key */
  const title = (key) => text(at(key), `at key ${key}`, LONGEST_TITLE);
  const record = {
    key: publicKey(at(KEY.public)),
    number: whence(KEY.number, 1),
    previous: at(KEY.previous) === null ? null : digest(KEY.previous),
    sealedAt: whence(KEY.sealedAt, 0, LAST_SECOND),
    title: title(KEY.title),
    date: at(KEY.date) === null ? null : title(KEY.date),
    unit: title(KEY.unit),
    decimals: whence(KEY.decimals, 0, 9),
    findings: digest(KEY.findings),
    readings: digest(KEY.readings),
    dayFile: digest(KEY.dayFile),
    program: title(KEY.program),
    rules: rules(at(KEY.rules)),
    figures: figures(at(KEY.figures)),
    leftOut: whence(KEY.leftOut, 0, LEVELS.length - 1),
    verdicts: list(at(KEY.verdicts), "verdicts", 4).map((value) => count(value, "among its verdicts")),
    troubles: troubles(at(KEY.troubles)),
    p: at(KEY.p) === null ? null : whence(KEY.p, 0, 1000),
    history: history(at(KEY.history)),
  };
  if ((record.previous === null) !== (record.number === 1)) {
    throw new Refused("is the first seal or names the one before it, not both and not neither");
  }
  return record;
}

/** @param {Cbor} value */
function publicKey(value) {
  const key = bytes(value, KEY.public, KEY_LENGTH);
  const fault = faultOfKey(key);
  if (fault !== null) throw new Refused(`has a key that ${fault}`);
  return key;
}

/**
 * @param {Cbor} value
 * @param {number} key
 * @param {number} length
 * @returns {Uint8Array}
 */
function bytes(value, key, length) {
  if (value instanceof Uint8Array && value.length === length) return value;
  throw new Refused(`has something else than ${length} bytes at key ${key}`);
}

/**
 * @param {Cbor} value
 * @param {string} where
 * @param {number} [least]
 * @param {number} [most]
 * @returns {number}
 */
function count(value, where, least = 0, most = MOST) {
  if (typeof value === "number" && value >= least && value <= most) return value;
  throw new Refused(`has another value ${where}; a whole number from ${least} to ${most} belongs there`);
}

/**
 * @param {Cbor} value
 * @param {string} where
 * @param {number} [most]
 * @returns {string}
 */
function text(value, where, most = LONGEST_TEXT) {
  if (typeof value === "string" && [...value].length <= most) return value;
  throw new Refused(`has something else than a text of at most ${most} letters ${where}`);
}

/**
 * @param {Cbor} value
 * @param {string} name
 * @param {number} [length]
 * @returns {Cbor[]}
 */
function list(value, name, length) {
  if (Array.isArray(value) && (length === undefined || value.length === length)) return value;
  throw new Refused(`has no list of the right length for ${name}`);
}

/**
 * @param {Cbor} value
 * @returns {Map<Cbor, Cbor>}
 */
function map(value) {
  if (value instanceof Map) return value;
  throw new Refused("has figures that are no map");
}

/**
 * @param {Cbor} value
 * @returns {[string, string][]}
 */
function rules(value) {
  return list(value, "rule sets").map((item) => {
    const [id, edition] = list(item, "a rule set", 2);
    return [text(id, "of a rule set"), text(edition, "of a rule set")];
  });
}

/**
 * @param {Cbor} value
 * @returns {[string, number][]}
 */
function troubles(value) {
  return list(value, "verdicts").map((item) => {
    const [name, outcome] = list(item, "a verdict", 2);
    return [text(name, "of a verdict"), count(outcome, "of a verdict", 1, WORST)];
  });
}

/** @param {Cbor} value */
function history(value) {
  if (value === null) return null;
  const [keptBy, entries, digest] = list(value, "its history", 3);
  if (!(digest instanceof Uint8Array) || digest.length !== DIGEST_LENGTH) {
    throw new Refused("has a head of its history that is no digest");
  }
  const keeper = KEEPERS[count(keptBy, "of its history", 0, KEEPERS.length - 1)];
  return { keptBy: keeper, entries: count(entries, "of its history"), digest };
}

/**
 * @param {Cbor} value
 * @returns {Placed[]}
 */
function figures(value) {
  const found = [];
  for (const [state, owners] of map(value)) {
    for (const [owner, places] of map(owners)) {
      for (const [place, one] of map(places)) {
        found.push({
          state: text(state, "of a state"),
          owner: text(owner, "of a vehicle"),
          place: placed(owner, place),
          figure: figure(one),
        });
      }
      text(owner, "of a vehicle"); // also where it has no figure
    }
    text(state, "of a state");
  }
  return found;
}

/**
 * @param {Cbor} owner
 * @param {Cbor} value
 */
function placed(owner, value) {
  if (typeof value === "number" && value >= 0 && value < 10_000) {
    if (owner === "coupling" ? value > 0 && value < 100 : value < 100 || [1, 2].includes(value % 100)) return value;
  }
  throw new Refused("has something else as the place of a figure");
}

/**
 * @param {Cbor} value
 * @returns {Figure}
 */
function figure(value) {
  const parts = list(value, "a figure");
  if (parts.length !== 2 && !(parts.length === 3 && parts[2] === 1)) {
    throw new Refused("has a figure that is not a value and its uncertainty");
  }
  return {
    value: count(parts[0], "as a figure", -MOST),
    u: count(parts[1], "as an uncertainty"),
    contested: parts.length === 3,
  };
}
