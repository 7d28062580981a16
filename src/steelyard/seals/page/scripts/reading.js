// Reading: a file or a pasted text becomes pieces; what it is, its content says, not its name.
import { Refused, utf8 } from "./bytes.js";
import { LARGEST } from "./cbor.js";
import { LONGEST_TEXT, uncarried } from "./carrier.js";
import { readJson } from "./json.js";
import { readBook } from "./keybook.js";
import { attachments } from "./pdf.js";

/** @typedef {import("./keybook.js").KeyBook} KeyBook */
/** @typedef {{ file: string, part: string }} Origin */
/** @typedef {{ kind: "seal", origin: Origin, onPaper: boolean, data: Uint8Array, head: string | null }} GivenSeal */
/** @typedef {{ kind: "findings", origin: Origin, data: import("./findings.js").Data }} GivenFindings */
/** @typedef {{ kind: "day", origin: Origin, data: Uint8Array }} GivenDay */
/** @typedef {{ kind: "ticket", origin: Origin }} GivenTicket */
/** @typedef {{ kind: "stamp", origin: Origin }} GivenStamp */
/** @typedef {{ kind: "none", origin: Origin, reason: string }} NoSeal */
/** @typedef {{ kind: "keys", origin: Origin, book: KeyBook }} GivenKeys */
/** @typedef {GivenSeal | GivenFindings | GivenDay | GivenTicket | GivenStamp | NoSeal | GivenKeys} Piece */
/**
 * The texts of the codes in a picture.
 * @typedef {(data: Uint8Array) => Promise<string[]>} CodeReader
 */

/** Bytes of a file at most: a ticket with photographs. */
export const LARGEST_FILE = 32_000_000;

const LARGEST_TEXT_FILE = 8_000_000;
const MOST_LINES = 1000;
const SEAL = 0xd2; // the tag of a signed message
const BEGINS = 1024;
const DAY_KEY = /^[ \t]*(?:\[|["'\w.-]+[ \t]*=)/m;
const CODE_LETTERS = /^[0-9A-Z $%*+\-./:\r\n\t]*$/;
const KINDS =
  "a sealed ticket (PDF), a seal, findings as JSON, a weigh-day file, a keys.json, a picture or the text of a code";

/** @param {Origin} origin */
export function place({ file, part }) {
  return part ? `${file}: ${part}` : file;
}

/**
 * The pieces in a file.
 * @param {Uint8Array} data
 * @param {string} file
 * @param {CodeReader} codesIn
 * @returns {Promise<Piece[]>}
 */
export async function readFile(data, file, codesIn) {
  if (data.length === 0) throw new Refused(`is empty; give ${KINDS}`);
  if (data.length > LARGEST_FILE) throw new Refused(`is larger than ${LARGEST_FILE / 1_000_000} MB; no ticket is`);
  const begin = new TextDecoder("windows-1252").decode(data.slice(0, BEGINS));
  if (begin.includes("%PDF-")) return ofPdf(data, file);
  if (/^\u00ff\u00d8\u00ff|^RIFF....WEBP|^\u2030PNG|^....ftyp(heic|heix|mif1|avif)/s.test(begin)) {
    return ofPicture(await codesIn(data), file);
  }
  const found = await ofPlain(data, { file, part: "" }, false);
  if (found.length === 0) throw new Refused(`is none of what can be checked: ${KINDS}`);
  return found;
}

/**
 * The seal in a pasted text.
 * @param {string} text
 * @param {string} file
 * @returns {Promise<Piece[]>}
 */
export async function readText(text, file) {
  const length = text.length > 4 * LONGEST_TEXT ? text.length : [...text].length;
  if (length > LONGEST_TEXT) {
    throw new Refused(`has ${grouped(length)} letters; a code has ${grouped(LONGEST_TEXT)} at most`);
  }
  return [await ofCode(text, { file, part: "" })];
}

/**
 * @param {Uint8Array} data
 * @param {string} file
 * @returns {Promise<Piece[]>}
 */
async function ofPdf(data, file) {
  /** @type {Piece[]} */
  const pieces = [{ kind: "ticket", origin: { file, part: "" } }];
  for (const one of await attachments(data)) pieces.push(...(await ofPlain(one.data, { file, part: one.name }, true)));
  if (!pieces.some((piece) => piece.kind === "seal")) {
    pieces.push({
      kind: "none",
      origin: { file, part: "" },
      reason: "carries no seal: no seal is attached to this PDF",
    });
  }
  return pieces;
}

/**
 * @param {string[]} texts
 * @param {string} file
 * @returns {Promise<Piece[]>}
 */
async function ofPicture(texts, file) {
  if (texts.length === 0) {
    const reason = "no code is found in the picture; take it straight from above, near, sharp and in even light";
    return [{ kind: "none", origin: { file, part: "" }, reason }];
  }
  const named = texts.map((text, at) => ofCode(text, { file, part: texts.length === 1 ? "" : `code ${at + 1}` }));
  const pieces = await Promise.all(named);
  const seals = pieces.filter((piece) => piece.kind === "seal");
  return seals.length > 0 ? seals : pieces; // another code on the same sheet may be of anything
}

/**
 * @param {string} text
 * @param {Origin} origin
 * @returns {Promise<GivenSeal | NoSeal>}
 */
async function ofCode(text, origin) {
  try {
    const data = await uncarried(text);
    const head = text.replace(/[\r\n\t\ufeff]/g, "").replace(/^\u00a0+|\u00a0+$/g, "");
    return { kind: "seal", origin, onPaper: true, data, head: head.slice(0, head.indexOf(":")) };
  } catch (error) {
    if (error instanceof Refused) return { kind: "none", origin, reason: error.message };
    throw error;
  }
}

/**
 * The pieces in bytes that are a seal or text; none where they are neither, or belong to no ticket.
 * @param {Uint8Array} data
 * @param {Origin} origin
 * @param {boolean} attached
 * @returns {Promise<Piece[]>}
 */
async function ofPlain(data, origin, attached) {
  if (/\.tsr$/i.test(origin.part || origin.file)) return [{ kind: "stamp", origin }];
  const text = data[0] === SEAL ? null : utf8(data)?.replace(/^\ufeff/, "");
  if (text === null || text === undefined || text.includes("\0")) return ofSeal(data, origin);
  if (text.trim() === "" && !attached) throw new Refused(`is empty; give ${KINDS}`);
  if (text.trimStart().startsWith("{")) return ofJson(text, data, origin, attached);
  const isCode = data.length <= LONGEST_TEXT && CODE_LETTERS.test(text);
  if (!isCode && DAY_KEY.test(text.slice(0, LONGEST_TEXT))) {
    refuseLarge(data);
    return [{ kind: "day", origin, data }];
  }
  return attached ? [] : readText(text, place(origin));
}

/**
 * @param {Uint8Array} data
 * @param {Origin} origin
 * @returns {Piece[]}
 */
function ofSeal(data, origin) {
  if (data[0] !== SEAL && !/\.(seal|cose)$/i.test(origin.part || origin.file)) return [];
  if (data.length > LARGEST) {
    const reason = `carries no seal: it has ${grouped(data.length)} bytes; a seal has ${grouped(LARGEST)} at most`;
    return [{ kind: "none", origin, reason }];
  }
  return [{ kind: "seal", origin, onPaper: false, data, head: null }];
}

/**
 * One object, or one a line.
 * @param {string} text
 * @param {Uint8Array} data
 * @param {Origin} origin
 * @param {boolean} attached
 * @returns {Promise<Piece[]>}
 */
async function ofJson(text, data, origin, attached) {
  refuseLarge(data);
  /** @type {Piece[]} */
  const pieces = [];
  for (const [line, whole] of objectsIn(text)) {
    const part = [origin.part, line].filter((one) => one !== "").join(", ");
    if (Array.isArray(whole.findings)) {
      pieces.push({ kind: "findings", origin: { file: origin.file, part }, data: whole });
    } else if (Array.isArray(whole.keys) && !attached) {
      pieces.push({ kind: "keys", origin, book: await readBook(data, origin.file) });
    } else if (!attached) {
      throw new Refused("is JSON without findings and without keys");
    }
  }
  return pieces;
}

/**
 * @param {string} text
 * @returns {[string, import("./findings.js").Data][]}
 */
function objectsIn(text) {
  try {
    return [["", object(text)]];
  } catch (error) {
    const lines = text.split(/\r?\n/).filter((line) => line.trim() !== "");
    if (!(error instanceof Refused) || lines.length < 2 || lines.length > MOST_LINES) throw error;
    // JSON of one value on several lines has no line that is a value
    if (!lines[0].trim().endsWith("}")) throw error;
    return lines.map((line, at) => [`line ${at + 1}`, object(line)]);
  }
}

/**
 * @param {string} text
 * @returns {import("./findings.js").Data}
 */
function object(text) {
  const found = readJson(text);
  if (found === null || typeof found !== "object" || Array.isArray(found))
    throw new Refused("is JSON without findings");
  return found;
}

/** @param {Uint8Array} data */
function refuseLarge(data) {
  if (data.length <= LARGEST_TEXT_FILE) return;
  throw new Refused(`is larger than ${LARGEST_TEXT_FILE / 1_000_000} MB; neither a weigh-day file nor findings are`);
}

/** @param {number} count */
function grouped(count) {
  return String(count).replace(/\B(?=(\d{3})+$)/g, ",");
}
