// The files that are attached to a ticket, out of a PDF that may be hostile (ISO 32000-1, 7.3, 7.5.7 and 7.11.4).
//
// The file is read from its begin to its end, object by object, and not by its table of places: an attachment of which
// there are several versions is refused, whichever of them that table names.
import { Refused } from "./bytes.js";
import { inflated } from "./inflate.js";

/** @typedef {{ name: string, data: Uint8Array }} Attachment */
/** @typedef {Seals.Pdf} Value */
/** @typedef {{ dict: Map<string, Value>, begin: number, length: number }} Stream */

const LARGEST = 8_000_000;
const MOST_UNPACKED = 32_000_000;
const MOST_ATTACHMENTS = 64;
const MOST_OBJECTS = 100_000;
const DEEPEST = 20;
const TOKEN =
  /(?:[\0\t\n\f\r ]|%[^\r\n]*[\r\n])*(?:(<<|>>|\[|\])|\/([^\0\t\n\f\r ()<>[\]{}/%]*)|\(|<([0-9A-Fa-f\s]*)>|(\d+)[\0\t\n\f\r ]+\d+[\0\t\n\f\r ]+R\b|([+-]?(?:\d+\.?\d*|\.\d+))|([a-zA-Z]+))/y;

/** A name such as /FlateDecode; other than a text. */
class Name {
  /** @param {string} text */
  constructor(text) {
    this.text = text.replace(/#([0-9A-Fa-f]{2})/g, (_, digits) => String.fromCharCode(Number.parseInt(digits, 16)));
  }
}

/**
 * The attachments of a PDF, each once, in the order of their names.
 * @param {Uint8Array} data
 * @returns {Promise<Attachment[]>}
 */
export async function attachments(data) {
  const text = new TextDecoder("windows-1252").decode(data); // one letter a byte
  if (/\/Encrypt[\s/<]/.test(text.slice(-4096))) throw new Refused("is encrypted; save a copy without a password");
  const { files, streams, packed } = objects(text);
  const room = { left: MOST_UNPACKED };
  for (const stream of packed) files.push(...filesIn(await unpacked(data, stream, "object stream", room), stream.dict));
  /** @type {Map<string, number>} */
  const wanted = new Map();
  for (const { name, ref } of files) {
    if ((wanted.get(name) ?? ref) !== ref || (streams.get(ref) ?? []).length > 1) {
      throw new Refused(
        `holds several versions of the attachment ${JSON.stringify(name.slice(0, 60))}; it was changed after it was made`,
      );
    }
    wanted.set(name, ref);
  }
  if (wanted.size > MOST_ATTACHMENTS) throw new Refused(`has more than ${MOST_ATTACHMENTS} attachments`);
  const found = [];
  const inOrder = [...wanted].sort(([one], [other]) => (one < other ? -1 : 1));
  for (const [name, ref] of inOrder) {
    const [stream] = streams.get(ref) ?? [];
    if (stream === undefined)
      throw new Refused(`has an attachment without content (${JSON.stringify(name.slice(0, 60))})`);
    found.push({ name, data: await unpacked(data, stream, JSON.stringify(name.slice(0, 60)), room) });
  }
  return found;
}

/**
 * Everything in the file that speaks of attachments: who names which object, the objects that are streams of embedded
 * files, and the streams in which further objects are packed.
 * @param {string} text
 */
function objects(text) {
  const begin = /(?<![0-9])(\d{1,9})[\0\t\n\f\r ]+\d{1,5}[\0\t\n\f\r ]+obj\b/g;
  /** @type {{ name: string, ref: number }[]} */
  const files = [];
  /** @type {Map<number, Stream[]>} */
  const streams = new Map();
  /** @type {Stream[]} */
  const packed = [];
  let count = 0;
  for (let match = begin.exec(text); match !== null; match = begin.exec(text)) {
    if (++count > MOST_OBJECTS) throw new Refused(`has more than ${MOST_OBJECTS} objects; no ticket has`);
    const parser = new Parser(text, begin.lastIndex);
    const value = parser.whole();
    if (!(value instanceof Map)) continue;
    files.push(...fileOf(value));
    const stream = parser.stream(value);
    if (stream === null) continue;
    const number = Number(match[1]);
    const type = nameOf(value.get("Type"));
    // whatever an attachment refers to counts, under whatever type it goes
    streams.set(number, [...(streams.get(number) ?? []), stream]);
    if (type === "ObjStm") packed.push(stream);
    begin.lastIndex = stream.begin + stream.length;
  }
  return { files, streams, packed };
}

/**
 * The attachment that a dictionary names, if it names one.
 * @param {Map<string, Value>} dict
 * @returns {{ name: string, ref: number }[]}
 */
function fileOf(dict) {
  const held = dict.get("EF");
  if (!(held instanceof Map)) return [];
  const named = dict.get("UF") ?? dict.get("F");
  const ref = held.get("UF") ?? held.get("F");
  if (ref === null || ref === undefined || typeof ref !== "object" || !("refersTo" in ref)) return [];
  return [{ name: typeof named === "string" ? plainText(named) : "", ref: ref.refersTo }];
}

/**
 * The attachments named by the objects that are packed into a stream.
 * @param {Uint8Array} data
 * @param {Map<string, Value>} dict
 */
function filesIn(data, dict) {
  const text = new TextDecoder("windows-1252").decode(data);
  const [first, count] = [dict.get("First"), dict.get("N")];
  if (typeof first !== "number" || typeof count !== "number" || count > MOST_OBJECTS) return [];
  const places = (text.slice(0, first).match(/\d+/g) ?? []).map(Number);
  const found = [];
  for (let at = 1; at < Math.min(places.length, 2 * count); at += 2) {
    const value = new Parser(text, first + places[at]).whole();
    if (value instanceof Map) found.push(...fileOf(value));
  }
  return found;
}

/**
 * The bytes of a stream. Only what tickets use is unpacked: nothing, or one pass of Flate.
 * @param {Uint8Array} data
 * @param {Stream} stream
 * @param {string} name
 * @param {{ left: number }} room
 * @returns {Promise<Uint8Array>}
 */
async function unpacked(data, { dict, begin, length }, name, room) {
  const raw = data.slice(begin, begin + length);
  const filter = dict.get("Filter") ?? null;
  const filters = (Array.isArray(filter) ? filter : filter === null ? [] : [filter]).map(nameOf);
  const most = Math.min(LARGEST, room.left);
  /** @type {Uint8Array | "too much" | "not whole"} */
  let plain;
  if (filters.length === 0) plain = raw.length > most ? "too much" : raw;
  else if (filters.length === 1 && filters[0] === "FlateDecode" && !dict.get("DecodeParms")) {
    plain = await inflated(raw, most);
  } else throw new Refused(`has an attachment packed in a way that no ticket is (${name})`);
  if (plain === "too much") throw new Refused(`has an attachment that unpacks to more than ${most} bytes (${name})`);
  if (plain === "not whole") throw new Refused(`has an attachment that does not unpack (${name})`);
  room.left -= plain.length;
  return plain;
}

/** @param {Value | undefined} value */
function nameOf(value) {
  return value instanceof Name ? value.text : "";
}

/**
 * A text of a PDF: UTF-16 where it begins with its mark, else letters of one byte.
 * @param {string} text
 */
function plainText(text) {
  if (!text.startsWith("\u00fe\u00ff")) return text;
  return new TextDecoder("utf-16be").decode(Uint8Array.from(text.slice(2), (letter) => letter.charCodeAt(0)));
}

/** Reads one value of a PDF. */
class Parser {
  /**
   * @param {string} text
   * @param {number} at
   */
  constructor(text, at) {
    this.text = text;
    this.at = at;
  }

  /** @returns {Value} null too for what cannot be read */
  whole() {
    try {
      return this.value(0);
    } catch (error) {
      if (error instanceof SyntaxError) return null;
      throw error;
    }
  }

  /**
   * @param {number} depth
   * @returns {Value}
   */
  value(depth) {
    TOKEN.lastIndex = this.at;
    const match = TOKEN.exec(this.text);
    if (match === null || depth > DEEPEST) throw new SyntaxError();
    this.at = TOKEN.lastIndex;
    const [, bracket, name, digits, ref, number, word] = match;
    if (bracket === "<<") return this.dict(depth + 1);
    if (bracket === "[") return this.list(depth + 1);
    if (bracket !== undefined) return new Name(bracket); // the end of what is read
    if (name !== undefined) return new Name(name);
    if (ref !== undefined) return { refersTo: Number(ref) };
    if (number !== undefined) return Number(number);
    if (word !== undefined) return null;
    if (digits === undefined) return this.literal();
    const even = digits.replace(/\s/g, "");
    return (even + (even.length % 2 ? "0" : "")).replace(/../g, (pair) =>
      String.fromCharCode(Number.parseInt(pair, 16)),
    );
  }

  /**
   * @param {number} depth
   * @returns {Map<string, Value>}
   */
  dict(depth) {
    /** @type {Map<string, Value>} */
    const found = new Map();
    for (;;) {
      const key = this.value(depth);
      if (!(key instanceof Name)) throw new SyntaxError();
      if (key.text === ">>") return found;
      found.set(key.text, this.value(depth));
    }
  }

  /**
   * @param {number} depth
   * @returns {Value[]}
   */
  list(depth) {
    /** @type {Value[]} */
    const found = [];
    for (;;) {
      const value = this.value(depth);
      if (value instanceof Name && value.text === "]") return found;
      found.push(value);
    }
  }

  /** A text in brackets, with its escapes. */
  literal() {
    let found = "";
    for (let open = 1; ; ) {
      const letter = this.text[this.at++];
      if (letter === undefined || found.length > 2000) throw new SyntaxError();
      if (letter === "(") open += 1;
      if (letter === ")" && --open === 0) return found;
      if (letter !== "\\") {
        found += letter;
        continue;
      }
      const octal = /[0-7]{1,3}/y;
      octal.lastIndex = this.at;
      const code = octal.exec(this.text);
      if (code !== null) {
        this.at = octal.lastIndex;
        found += String.fromCharCode(Number.parseInt(code[0], 8) & 255);
      } else found += this.text[this.at++] ?? "";
    }
  }

  /**
   * The stream behind a dictionary that was just read; null where there is none.
   * @param {Map<string, Value>} dict
   * @returns {Stream | null}
   */
  stream(dict) {
    const begins = /[\0\t\n\f\r ]*stream(\r\n|\n|\r)/y;
    begins.lastIndex = this.at;
    if (begins.exec(this.text) === null) return null;
    const begin = begins.lastIndex;
    const told = dict.get("Length");
    if (typeof told === "number" && /^[\r\n ]{0,2}endstream/.test(this.text.slice(begin + told, begin + told + 12))) {
      return { dict, begin, length: told };
    }
    const end = this.text.indexOf("endstream", begin);
    if (end < 0) throw new Refused("is damaged: a stream in it has no end");
    const length = this.text.slice(begin, end).replace(/\r?\n$|\r$/, "").length;
    return { dict, begin, length };
  }
}
