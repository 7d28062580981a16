// JSON, strictly: a key stands once in an object, and a number is one that a double holds. Also its one canonical form
// (RFC 8785), over which the digest of findings goes.
import { Refused } from "./bytes.js";

/** @typedef {Seals.Json} Json */

const DEEPEST = 100;
const TOKEN = /[\t\n\r ]*(?:([{}[\],:]|true|false|null)|(")|(-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?))/y;
const SAFE = 2 ** 53;

/**
 * The value of a text.
 * @param {string} text
 * @returns {Json}
 */
export function readJson(text) {
  const reader = new Reader(text);
  const value = reader.value(0);
  reader.end();
  return value;
}

class Reader {
  /** @param {string} text */
  constructor(text) {
    this.text = text;
    this.at = 0;
  }

  /** @returns {[string, "sign" | "text" | "number"]} */
  next() {
    TOKEN.lastIndex = this.at;
    const match = TOKEN.exec(this.text);
    if (match === null) throw new Refused(`is no JSON from letter ${this.at + 1} on`);
    this.at = TOKEN.lastIndex;
    if (match[1] !== undefined) return [match[1], "sign"];
    return match[2] === undefined ? [match[3], "number"] : [this.text.slice(this.at - 1, this.endOfText()), "text"];
  }

  /** Go behind the quotation mark that ends a text; a pattern for this would need as much room as the text. */
  endOfText() {
    for (;;) {
      const end = this.text.indexOf('"', this.at);
      if (end < 0) throw new Refused(`is no JSON: a text that begins at letter ${this.at} has no end`);
      let slashes = 0;
      while (this.text[end - 1 - slashes] === "\\") slashes += 1;
      this.at = end + 1;
      if (slashes % 2 === 0) return this.at;
    }
  }

  end() {
    if (this.text.slice(this.at).trim() !== "")
      throw new Refused(`goes on after the JSON, from letter ${this.at + 1} on`);
  }

  /**
   * @param {number} depth
   * @param {[string, string]} [token]
   * @returns {Json}
   */
  value(depth, token = this.next()) {
    const [word, kind] = token;
    if (depth > DEEPEST) throw new Refused("is JSON that is nested too deeply");
    if (kind === "text") return textOf(word);
    if (kind === "number") return number(word);
    if (word === "{") return this.object(depth + 1);
    if (word === "[") return this.list(depth + 1);
    if (word === "true" || word === "false") return word === "true";
    if (word === "null") return null;
    throw new Refused(`is no JSON: ${word} stands at letter ${this.at}`);
  }

  /**
   * @param {number} depth
   * @returns {Json[]}
   */
  list(depth) {
    /** @type {Json[]} */
    const found = [];
    let token = this.next();
    if (token[0] === "]") return found;
    for (;;) {
      found.push(this.value(depth, token));
      if (this.sign(",", "]") === "]") return found;
      token = this.next();
    }
  }

  /**
   * @param {number} depth
   * @returns {{ [name: string]: Json }}
   */
  object(depth) {
    /** @type {{ [name: string]: Json }} */
    const found = Object.create(null);
    let [word, kind] = this.next();
    if (word === "}") return found;
    for (;;) {
      if (kind !== "text") throw new Refused(`is no JSON: a name in quotes is missing at letter ${this.at}`);
      const name = textOf(word);
      if (name in found)
        throw new Refused(`is JSON with the key ${JSON.stringify(name.slice(0, 60))} twice in one object`);
      this.sign(":");
      found[name] = this.value(depth);
      if (this.sign(",", "}") === "}") return found;
      [word, kind] = this.next();
    }
  }

  /** @param {string[]} wanted */
  sign(...wanted) {
    const [word, kind] = this.next();
    if (kind === "sign" && wanted.includes(word)) return word;
    throw new Refused(`is no JSON: ${wanted.join(" or ")} is missing at letter ${this.at}`);
  }
}

/**
 * @param {string} word a text in its quotation marks
 * @returns {string}
 */
function textOf(word) {
  try {
    return JSON.parse(word);
  } catch {
    throw new Refused("is no JSON: a text in it has a sign or an escape that JSON does not have");
  }
}

/** @param {string} word */
function number(word) {
  const value = Number(word);
  if (!Number.isFinite(value)) throw new Refused("is JSON with a number that is not finite");
  if (!/[.eE]/.test(word) && Math.abs(value) >= SAFE) {
    throw new Refused("is JSON with a whole number that a double does not hold");
  }
  return value;
}

/**
 * Canonical JSON: keys in the order of UTF-16, numbers as ECMAScript writes them.
 * @param {Json} value
 * @returns {string}
 */
export function canonical(value) {
  if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`;
  if (value !== null && typeof value === "object") {
    const names = Object.keys(value).sort();
    return `{${names.map((name) => `${written(name)}:${canonical(value[name])}`).join(",")}}`;
  }
  return typeof value === "string" ? written(value) : JSON.stringify(value);
}

/** @param {string} text */
function written(text) {
  if (/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/.test(text)) {
    throw new Refused("is JSON with half a character");
  }
  return JSON.stringify(text);
}
