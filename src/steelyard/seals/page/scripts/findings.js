// Published findings against the sealed record: figure by figure, then what only their digest tells.
import { Refused, same, sha256 } from "./bytes.js";
import { findingName, kindOf, placeNamed } from "./finding-id.js";
import { canonical } from "./json.js";
import { OUTCOMES } from "./record.js";
import { NOTHING, countsWords, figureWords, placeWords, plain, pWords, unitWords } from "./words.js";

/** @typedef {Seals.Json} Json */
/** @typedef {import("./record.js").Figure} Figure */
/** @typedef {import("./record.js").Placed} Placed */
/** @typedef {import("./record.js").SealRecord} SealRecord */
/**
 * One thing that is not as it was sealed; two empty texts where the sentence says it all.
 * @typedef {{ part: string, id: string, what: string, here: string, sealed: string }} Difference
 */
/** @typedef {{ [name: string]: Json }} Data */
/** @typedef {{ figures: Placed[], counts: number[], outcomes: Map<string, string>, title: string, p: number | null }} Content */

const LONGEST_TITLE = 60;
const SAFE = 2 ** 53;
/** Kinds of figures that a record leaves out, by its level. */
const DROPPED = [[], ["wheel"], ["wheel", "axle"], ["wheel", "axle", "load"], ["wheel", "axle", "load", "gross"]];
const ELSEWHERE =
  "the findings are not the sealed ones: every sealed figure agrees, and something else in them was changed, of which " +
  "only the digest is sealed";

/**
 * @param {string} part
 * @param {string} what
 * @param {string} [here]
 * @param {string} [sealed]
 * @param {string} [id]
 * @returns {Difference}
 */
export function difference(part, what, here = "", sealed = "", id = "") {
  return { part, id, what, here, sealed };
}

/**
 * Everything in which published findings differ from what is sealed of them, the digest last.
 * @param {SealRecord} record
 * @param {Data} findings
 */
export async function findingsDifferences(record, findings) {
  const found = contentDifferences(record, findings);
  if (await hasDigest(record, findings)) return found;
  const what = found.length > 0 ? "the findings are not the sealed ones" : ELSEWHERE;
  return [...found, difference("findings", what)];
}

/**
 * Whether findings are the sealed ones to the last sign; the name of their file may be any.
 * @param {SealRecord} record
 * @param {Data} findings
 */
export async function hasDigest(record, findings) {
  return same(await findingsDigest(findings), record.findings);
}

/** @param {Data} findings */
async function findingsDigest(findings) {
  /** @type {Data} */
  const nameless = Object.assign(Object.create(null), findings, { file: "" });
  try {
    return await sha256(new TextEncoder().encode(canonical(nameless)));
  } catch (error) {
    if (error instanceof Refused) return new Uint8Array(0);
    throw error;
  }
}

/**
 * @param {SealRecord} record
 * @param {Data} findings
 * @returns {Difference[]}
 */
function contentDifferences(record, findings) {
  const unit = data(findings.units)?.mass;
  const content = unit === undefined ? null : contentOf(findings, record);
  if (unit !== undefined && unit !== record.unit) {
    return [difference("figure", "the unit of masses", plain(String(unit)), unitWords(record))];
  }
  if (content === null) {
    return [difference("findings", "these findings are not in the form that the program writes")];
  }
  const found = figureDifferences(record, content.figures);
  if (content.counts.some((count, at) => count !== record.verdicts[at])) {
    found.push(difference("verdicts", "limits", countsWords(content.counts), countsWords(record.verdicts)));
  }
  for (const [name, outcome] of record.troubles) {
    const here = content.outcomes.get(name);
    if (here !== OUTCOMES[outcome]) {
      const said = here === undefined ? "not there" : plain(here);
      found.push(difference("verdicts", `the limit ${plain(name)}`, said, OUTCOMES[outcome], plain(name)));
    }
  }
  if (record.title && content.title !== record.title) {
    found.push(difference("title", "the title", `"${plain(content.title)}"`, `"${plain(record.title)}"`));
  }
  if (content.p !== record.p)
    found.push(difference("findings", "p of the readings", pWords(content.p), pWords(record.p)));
  return found;
}

/**
 * The figures that are otherwise here, that are here alone and that are sealed alone.
 * @param {SealRecord} record
 * @param {Placed[]} here
 */
function figureDifferences(record, here) {
  /** @type {Map<string, { words: string, sealed: Figure | null, found: Figure | null }>} */
  const all = new Map();
  for (const [list, field] of /** @type {const} */ ([
    [record.figures, "sealed"],
    [here, "found"],
  ])) {
    for (const { state, owner, place, figure } of list) {
      if (field === "found" && DROPPED[record.leftOut].includes(kindOf(owner, place)[0])) continue;
      const id = findingName(state, owner, place);
      const words = `${placeWords(owner, place)}, ${plain(state, 40)}`;
      all.set(id, { ...(all.get(id) ?? { words, sealed: null, found: null }), [field]: figure });
    }
  }
  const differences = [];
  for (const [id, { words, sealed, found }] of all) {
    if (sealed !== null && found !== null && alike(sealed, found)) continue;
    const doubt = sealed !== null && found !== null && sealed.value === found.value;
    const [one, other] = [found, sealed].map((item) => (item === null ? NOTHING : figureWords(item, record, doubt)));
    differences.push(difference("figure", words, one, other, plain(id)));
  }
  return differences;
}

/**
 * @param {Figure} one
 * @param {Figure} other
 */
function alike(one, other) {
  return one.value === other.value && one.u === other.u && one.contested === other.contested;
}

/**
 * What is compared; null where these are no published findings.
 * @param {Data} findings
 * @param {SealRecord} record
 * @returns {Content | null}
 */
function contentOf(findings, record) {
  const { verdicts, title } = findings;
  const consistency = data(findings.consistency);
  const figures = figuresOf(findings, record.decimals);
  if (!Array.isArray(verdicts) || typeof title !== "string" || consistency === null || figures === null) return null;
  const p = consistency.p;
  if (p !== null && (typeof p !== "number" || p < 0 || p > 1)) return null;
  const counts = [0, 0, 0, 0];
  /** @type {Map<string, string>} */
  const outcomes = new Map();
  for (const item of verdicts) {
    const verdict = data(item);
    if (verdict === null || typeof verdict.id !== "string") return null;
    const outcome = verdict.verdict || OUTCOMES[3];
    if (typeof outcome !== "string") return null;
    outcomes.set(verdict.id, outcome);
    if (OUTCOMES.includes(outcome)) counts[OUTCOMES.indexOf(outcome)] += 1;
  }
  const length = [...record.title].length || LONGEST_TITLE;
  const shown = [...title.trim().replace(/\s+/g, " ")].slice(0, length).join("");
  return { figures, counts, outcomes, title: shown, p: p === null ? null : halfEven(1000 * p) };
}

/**
 * The headline figures of published findings: what was measured, and is determined; null where these are none.
 * @param {Data} findings
 * @param {number} decimals
 * @returns {Placed[] | null}
 */
function figuresOf(findings, decimals) {
  if (!Array.isArray(findings.findings)) return null;
  const found = [];
  for (const entry of findings.findings) {
    const item = data(entry);
    if (item === null || typeof item.id !== "string" || item.basis === undefined || item.value === undefined)
      return null;
    if (item.basis !== "measured" || item.value === null) continue;
    const named = placeNamed(item.id);
    if (named === null) continue;
    const [value, u] = [item.value, item.u].map((number) => inDigits(number, decimals));
    if (value === null || u === null || item.contested === undefined) return null;
    found.push({ ...named, figure: { value, u, contested: item.contested === true } });
  }
  return found;
}

/**
 * A number in units of its last digit, halves away from zero; null where it is none.
 * @param {Json} value
 * @param {number} decimals
 */
function inDigits(value, decimals) {
  if (typeof value !== "number") return null;
  const scaled = Math.floor(Math.abs(value) * 10 ** decimals + 0.5);
  if (scaled >= SAFE) return null;
  return value < 0 && scaled > 0 ? -scaled : scaled;
}

/**
 * Rounded to a whole number, halves to the even one.
 * @param {number} value
 */
function halfEven(value) {
  const down = Math.floor(value);
  if (value - down !== 0.5) return Math.round(value);
  return down % 2 === 0 ? down : down + 1;
}

/**
 * @param {Json | undefined} value
 * @returns {Data | null}
 */
function data(value) {
  return value !== null && typeof value === "object" && !Array.isArray(value) ? value : null;
}
