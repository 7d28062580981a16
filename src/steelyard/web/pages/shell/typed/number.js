// What a person typed as a number, a length or a mass. The same rules as units/number.py and units/parse.py; a table of
// cases, tests/units/numbers.json, holds both to them. Nothing else in the pages reads a typed number.

import { TONS, isAnyTon, plainText, unitOfWord } from "./spoken.js";

const SPACES = " \u00a0\u2007\u2009\u202f";
const QUIET = `[${SPACES}'\u2019_]`; // these marks only ever group
const PARTS = /^(?<sign>[+\-\u2212]?)(?<body>[^eE]*)(?:[eE](?<exponent>[+\-\u2212]?[0-9]+))?$/u;
const QUIETLY = new RegExp(`^[0-9]{1,3}(?<mark>${QUIET})[0-9]{3}(?:\\k<mark>[0-9]{3})*$`, "u");
const LAKH = new RegExp(`^[0-9]{1,2}(?<mark>${QUIET}|[.,])[0-9]{2}(?:\\k<mark>[0-9]{2})*\\k<mark>[0-9]{3}$`, "u");
/** @type {Record<string, RegExp>} */
const THREES = { ".": /^[0-9]{1,3}(?:\.[0-9]{3})+$/, ",": /^[0-9]{1,3}(?:,[0-9]{3})+$/ };
const DROPPED = new RegExp(`[${SPACES}'\u2019_.,]`, "gu");
const LONGEST = 100;
const NUMBER = `[+\\-\\u2212]?(?:[0-9](?:${QUIET}(?=[0-9]{2,3})[0-9]|[.,](?=[0-9])[0-9]|[0-9])*[.,]?|[.,][0-9]+)(?:[eE][+\\-\\u2212]?[0-9]+)?`;
const TERM = new RegExp(`^(?<number>${NUMBER})\\s*(?<unit>[^0-9\\s+\\-\\u2212±.,][^\\s±]*)?$`, "u");
const FRACTION = "(?:[0-9]+[ -])?[0-9]+/(?:2|4|8|16|32|64)";
const TAPE = new RegExp(`^(?<number>${FRACTION})\\s*(?<unit>\\S+)?$`, "u");
const FEET = new RegExp(
  `^(?<feet>[0-9]+)\\s*(?:(?:ft\\.?|feet|foot)(?:-|\\s*(?:,|and)?\\s*)|['\u2032\u2019]-?)\\s*(?<inches>${FRACTION}|[0-9]{1,2}(?:[.,][0-9]+)?)\\s*(?:in\\.?|inch|inches|"|\u2033|\u201d|''|\u2019\u2019)?$`,
  "iu",
);

// Exact by definition, as in units/table.py; the same test compares them.
/** @type {Record<string, Record<string, number>>} */
export const UNITS = {
  length: { m: 1, cm: 0.01, mm: 0.001, in: 0.0254, ft: 0.3048 },
  mass: { kg: 1, g: 0.001, t: 1000, lb: 0.45359237, lbs: 0.45359237, oz: 0.45359237 / 16 },
};

class NotANumber extends Error {}

// A number that could be either of two, or a ton of three; `readings` are they, as they are typed without doubt.
class Either extends NotANumber {
  /** @param {string[]} readings @param {string} [why] */
  constructor(readings, why = "") {
    super(`This could be ${readings.slice(0, -1).join(", ")} or ${readings.at(-1)}${why}. Type the one that is meant.`);
    this.readings = readings;
  }
}

// The named parts of a text that the pattern fits; null where it does not. A part that is not there is undefined.
/** @type {(pattern: RegExp, text: string) => Record<string, string> | null} */
const partsOf = (pattern, text) => pattern.exec(text)?.groups ?? null;

/** @type {(text: string) => string} */
const signOf = (text) => text.replace("\u2212", "-").replace("+", "");

/** @type {(text: string) => string} */
function digits(text) {
  if (!/^[0-9]+$/.test(text)) throw new NotANumber();
  return text;
}

// The digits of a whole number, in groups of three, or of two before the last three.
/** @type {(text: string, mark: string) => string} */
function whole(text, mark) {
  const plain = text.replace(DROPPED, "");
  const grouped = (mark ? THREES[mark] : QUIETLY).test(text);
  const lakh = partsOf(LAKH, text);
  if (text !== plain && !grouped && !(lakh && (mark || text).includes(lakh.mark))) throw new NotANumber();
  return digits(plain);
}

// `tail` as the fraction, so that it is read as nothing else.
/** @type {(head: string, tail: string) => string} */
function sure(head, tail) {
  const short = `${head}.${tail}`.replace(/0+$/, "").replace(/\.$/, "");
  return short.length === head.length + 4 ? `${short}0` : short;
}

/** @type {(body: string, scaled: boolean) => string} */
function plain(body, scaled) {
  const found = [".", ","]
    .filter((mark) => body.includes(mark))
    .sort((a, b) => body.lastIndexOf(b) - body.lastIndexOf(a));
  if (!found.length) return whole(body, "");
  const last = found[0],
    at = body.lastIndexOf(last),
    head = body.slice(0, at),
    tail = body.slice(at + 1);
  if (found.length === 2) {
    if (head.includes(last)) throw new NotANumber();
    return `${whole(head, found[1])}.${digits(tail)}`;
  }
  if (head.includes(last)) return whole(body, last);
  if (THREES[last].test(body) && !body.startsWith("0") && !scaled) throw new Either([head + tail, sure(head, tail)]);
  if (!tail && (last === "," || !head)) throw new NotANumber();
  return `${head ? whole(head, "") : "0"}.${tail ? digits(tail) : "0"}`;
}

/** @type {(text: string) => number} */
function read(text) {
  const parts = text.length <= LONGEST ? partsOf(PARTS, plainText(text).trim()) : null;
  if (!parts) throw new NotANumber();
  const { sign, body, exponent } = parts;
  let made;
  try {
    made = plain(body, exponent !== undefined);
  } catch (error) {
    if (error instanceof Either) throw new Either(error.readings.map((reading) => signOf(sign) + reading));
    throw error;
  }
  const value = Number(`${signOf(sign)}${made}${exponent === undefined ? "" : `e${signOf(exponent)}`}`);
  if (!Number.isFinite(value)) throw new NotANumber();
  return value;
}

/** @type {(text: string) => number} */
function withFraction(text) {
  const parts = text.replace("-", " ").split(" "),
    fraction = parts[parts.length - 1];
  if (!fraction.includes("/")) return Number(fraction.replace(",", "."));
  const [top, bottom] = fraction.split("/").map(Number);
  return (parts.length > 1 ? Number(parts[0]) : 0) + top / bottom;
}

// Feet and inches, or a number with a fraction and its unit; null where it is neither.
/** @type {(text: string, dimension: string) => { value: number, unit?: string } | null} */
function onATape(text, dimension) {
  const sign = /^[-\u2212]/.test(text) ? -1 : 1,
    bare = /^[+\-\u2212]/.test(text) ? text.slice(1) : text;
  const feet = dimension === "length" ? partsOf(FEET, bare) : null;
  if (feet) return { value: sign * (12 * Number(feet.feet) + withFraction(feet.inches)), unit: "in" };
  const taped = partsOf(TAPE, bare);
  return taped && { value: sign * withFraction(taped.number), unit: taped.unit };
}

/** @type {(text: string, unit: string, dimension: string) => number} */
function amount(text, unit, dimension) {
  const trimmed = plainText(text).trim();
  let found = onATape(trimmed, dimension);
  if (!found) {
    const term = partsOf(TERM, trimmed);
    if (!term) throw new NotANumber();
    found = { value: read(term.number), unit: term.unit };
  }
  const { value, unit: word } = found;
  if (word === undefined) return value;
  if (isAnyTon(word, dimension)) {
    const readings = TONS.map(([symbol, times]) => `${Number((value * times).toPrecision(10))} ${symbol}`);
    throw new Either(readings, ": a ton is short, long or metric");
  }
  const [symbol, times] = unitOfWord(word, dimension);
  const table = UNITS[dimension];
  if (!table || !(symbol in table)) throw new NotANumber();
  return symbol === unit ? value * times : value * times * (table[symbol] / table[unit]);
}

// Each answers { value, words, empty }: the value, or null and why there is none.
/** @type {(text: string, otherwise: string, job: () => number) => Page.Typed} */
function answer(text, otherwise, job) {
  if (text.trim() === "") return { value: null, words: otherwise, empty: true };
  try {
    return { value: job(), words: "", empty: false };
  } catch (error) {
    if (!(error instanceof NotANumber)) throw error;
    return {
      value: null,
      words: error instanceof Either ? error.message : otherwise,
      readings: error instanceof Either ? error.readings : undefined,
      empty: false,
    };
  }
}

// A number without a unit; `otherwise` is said where there is none.
/** @type {(text: string, otherwise?: string) => Page.Typed} */
export const readNumber = (text, otherwise = "Type a number.") => answer(text, otherwise, () => read(text));

// A length or a mass in `unit`, or with a unit of its own; a length may be in feet and inches.
/** @type {(text: string, unit: string, otherwise?: string) => Page.Typed} */
export const readLength = (text, unit, otherwise = "Type a length.") =>
  answer(text, otherwise, () => amount(text, unit, "length"));
/** @type {(text: string, unit: string, otherwise?: string) => Page.Typed} */
export const readMass = (text, unit, otherwise = "Type a mass.") =>
  answer(text, otherwise, () => amount(text, unit, "mass"));

// A number as it is written into a field, so that it is read again as itself.
/** @type {(value: number, places?: number) => string} */
export function written(value, places = 3) {
  const text = String(Number(value.toFixed(places)));
  return /^-?[1-9][0-9]{0,2}\.[0-9]{3}$/.test(text) ? `${text}0` : text;
}

// A number as the pages show it: thousands grouped, a true minus sign, `most` decimals at most and `least` at least.
/** @type {(value: number, most?: number, least?: number) => string} */
export const formatNumber = (value, most = 0, least = 0) =>
  value.toLocaleString("en", { minimumFractionDigits: least, maximumFractionDigits: most }).replace("-", "\u2212");

// Half of an interval that holds 95 %, its longer side where one is longer: what stands after ± everywhere.
/** @type {(figure: { value: number, low: number, high: number }) => number} */
export const halfWidth = ({ value, low, high }) => Math.max(high - value, value - low);
