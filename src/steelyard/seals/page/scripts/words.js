// Names, figures, counts and times in words, and texts of strangers as plain text.
import { hex } from "./bytes.js";
import { COUPLING, GROSS, kindOf } from "./finding-id.js";
import { OUTCOMES } from "./record.js";

/** @typedef {import("./record.js").Figure} Figure */
/** @typedef {import("./record.js").SealRecord} SealRecord */

const LONGEST = 160;
const SHORT = 40;
const UNSEEN = "\ufffd";
const LAST_DAY = 253_402_300_799; // 9999-12-31 [s]

const COMBINATION = "combination";
export const NOTHING = "nothing";

/**
 * The text on one line, without signs that cannot be seen; a longer one is cut.
 * @param {string} text
 * @param {number} [longest]
 */
export function plain(text, longest = LONGEST) {
  let marks = 0;
  const kept = [
    ...[...text]
      .slice(0, 4 * longest)
      .join("")
      .trim()
      .replace(/\s+/g, " "),
  ].map((letter) => {
    marks = /\p{M}/u.test(letter) ? marks + 1 : 0;
    return /\p{C}/u.test(letter) || marks > 2 ? UNSEEN : letter;
  });
  return kept.length <= longest ? kept.join("") : `${kept.slice(0, longest - 1).join("")}\u2026`;
}

/**
 * `axle 1 of tow`, `gross mass of stock`, `load on the coupling`.
 * @param {string} owner
 * @param {number} place
 */
export function placeWords(owner, place) {
  if (owner === COUPLING) return place === 1 ? "load on the coupling" : `load on coupling ${place}`;
  const whose = plain(owner, SHORT);
  if (place === GROSS) return `gross mass of ${owner === COMBINATION ? "the combination" : whose}`;
  return `${kindOf(owner, place).join(" ")} of ${whose}`;
}

/**
 * A whole number of the last digit as a number: `3,950.2`.
 * @param {number} value
 * @param {number} decimals
 */
export function digits(value, decimals) {
  const all = String(Math.abs(value)).padStart(decimals + 1, "0");
  const head = all.slice(0, all.length - decimals).replace(/\B(?=(\d{3})+$)/g, ",");
  return `${value < 0 ? "\u2212" : ""}${head}${decimals ? `.${all.slice(-decimals)}` : ""}`;
}

/**
 * `3,950.2 lb`; with doubt `3,950.2 lb, u 11.3`, and whether it is contested.
 * @param {Figure} figure
 * @param {SealRecord} record
 * @param {boolean} [doubt]
 */
export function figureWords(figure, record, doubt = false) {
  const u = doubt ? `, u ${digits(figure.u, record.decimals)}` : "";
  const mark = doubt && figure.contested ? " (contested)" : "";
  return `${digits(figure.value, record.decimals)} ${unitWords(record)}${u}${mark}`;
}

/** @param {SealRecord} record */
export function unitWords(record) {
  return plain(record.unit, 8);
}

/**
 * `14 within and 1 outside`; those that there are none of are left out.
 * @param {number[]} counts
 */
export function countsWords(counts) {
  const said = counts.map((count, at) => (count ? `${count} ${OUTCOMES[at]}` : "")).filter((words) => words !== "");
  const last = said.pop();
  if (last === undefined) return "none judged";
  return said.length > 0 ? `${said.join(", ")} and ${last}` : last;
}

/** @param {number | null} thousandths */
export function pWords(thousandths) {
  return thousandths === null ? "none" : (thousandths / 1000).toFixed(3);
}

/**
 * A moment [s since 1970]: `2026-11-30 12:00 UTC`. One beyond the calendar is told in seconds.
 * @param {number} at
 */
export function momentWords(at) {
  if (at > LAST_DAY) return `${at} s after 1970`;
  return `${new Date(1000 * at).toISOString().slice(0, 16).replace("T", " ")} UTC`;
}

/** @param {Uint8Array} digest */
export function short(digest) {
  return hex(digest.slice(0, 4));
}
