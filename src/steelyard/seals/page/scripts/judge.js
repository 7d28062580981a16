// The judgement: seals that were checked, what was given with them, and what is known of their keys.
import { fingerprint, Refused, same, sha256 } from "./bytes.js";
import { keyIdOf, parsed } from "./cose.js";
import { verified } from "./ed25519.js";
import { GROSS } from "./finding-id.js";
import { difference, findingsDifferences, hasDigest } from "./findings.js";
import { place } from "./reading.js";
import { recordOf } from "./record.js";
import { seriesNotes } from "./series.js";
import { digits, momentWords, plain } from "./words.js";

/** @typedef {import("./findings.js").Difference} Difference */
/** @typedef {import("./known.js").Standing} Standing */
/** @typedef {import("./reading.js").GivenSeal} GivenSeal */
/** @typedef {import("./reading.js").GivenFindings} GivenFindings */
/** @typedef {import("./reading.js").GivenDay} GivenDay */
/** @typedef {import("./reading.js").GivenStamp} GivenStamp */
/** @typedef {import("./reading.js").Piece} Piece */
/** @typedef {import("./record.js").SealRecord} SealRecord */
/** @typedef {"genuine" | "unknown_key" | "revoked_key" | "different" | "broken" | "no_seal"} Judgement */
/** @typedef {(key: Uint8Array, when: number) => Promise<Standing>} KeyStanding */
/**
 * One seal, everywhere it was found, and what is to be compared with it. `record` is null where it is broken.
 * @typedef {object} Bundle
 * @property {Uint8Array} data
 * @property {SealRecord | null} record
 * @property {string} reason
 * @property {GivenSeal[]} seals
 * @property {GivenFindings[]} findings
 * @property {GivenDay[]} days
 * @property {import("./reading.js").GivenTicket[]} tickets
 * @property {GivenStamp[]} stamps
 * @property {GivenSeal[]} strangers codes of other seals that were given with the one ticket
 * @property {boolean} aloneOnPaper
 */
/**
 * @typedef {object} Answer
 * @property {Judgement} judgement
 * @property {string[]} files
 * @property {string} reason why there is no seal, or why it is broken
 * @property {{ fingerprint: string, standing: Standing } | null} key
 * @property {SealRecord | null} record
 * @property {string[]} compared
 * @property {Difference[]} differences
 * @property {string[]} notes
 * @property {boolean} onPaper whether a person must compare the figures with the paper
 */
/** @typedef {{ judgement: Judgement, seals: Answer[], series: string[] }} Whole */

const DAY = 86_400;
const NOT_COMPARED =
  "what is printed on the pages was not compared with the attachments; hold it against the figures below";
const NO_STAMPS = "this page does not read time stamps; the command 'steelyard authenticate' does";
/** @type {Judgement[]} */
const WORST_FIRST = ["no_seal", "broken", "different", "revoked_key", "unknown_key", "genuine"];
const LONGEST_HEAD = 56;

/**
 * The record of a seal whose signature is right, whoever's key it is.
 * @param {Uint8Array} data
 * @param {boolean} [byHand]
 * @returns {Promise<SealRecord>}
 */
export async function checked(data, byHand = false) {
  const signed = told("the seal", () => parsed(data));
  const record = told("the record in the seal", () => recordOf(signed.payload));
  if (!same(signed.keyId, await keyIdOf(record.key))) {
    throw new Refused("the seal names another key than the record in it");
  }
  if (!(await verified(record.key, signed.toBeSigned, signed.signature, byHand))) {
    throw new Refused("the signature does not fit: something in the seal was changed after it was made");
  }
  return record;
}

/**
 * @template T
 * @param {string} subject
 * @param {() => T} read
 * @returns {T}
 */
function told(subject, read) {
  try {
    return read();
  } catch (error) {
    throw error instanceof Refused ? new Refused(`${subject} ${error.message}`) : error;
  }
}

/**
 * The judgement on everything that was given.
 * @param {Piece[]} pieces
 * @param {KeyStanding} standing
 * @param {number} now by the clock here [s since 1970]
 * @returns {Promise<Whole>}
 */
export async function judged(pieces, standing, now) {
  const { bundles, left } = await gathered(pieces);
  /** @type {Answer[]} */
  const answers = [];
  const numbered = [];
  for (const [at, bundle] of bundles.entries()) {
    answers.push(await answerOn(bundle, standing, now));
    if (bundle.record === null) continue;
    const weigher = answers[at].key?.standing.weigher ?? null;
    numbered.push({ place: at, digest: await sha256(bundle.data), record: bundle.record, weigher });
  }
  const series = seriesNotes(numbered);
  for (const { words, wrong } of series) {
    for (const at of wrong) {
      answers[at].differences.push(difference("series", words));
      answers[at].judgement = "different";
    }
  }
  for (const piece of left) answers.push(withoutSeal(piece, bundles.length > 0));
  const worst = WORST_FIRST.find((one) => answers.some((answer) => answer.judgement === one)) ?? "no_seal";
  return { judgement: worst, seals: answers, series: series.map(({ words }) => words) };
}

/**
 * Seals with what belongs to them, and what no seal belongs to. Attachments belong to the seal that is attached beside
 * them. Loose files belong to the only seal there is, else to the one that has their digest, else to the one of the same
 * name. A code belongs to the ticket that was given with it.
 * @param {Piece[]} pieces
 */
async function gathered(pieces) {
  /** @type {Bundle[]} */
  const bundles = [];
  for (const seal of pieces) {
    if (seal.kind !== "seal") continue;
    let bundle = bundles.find((one) => same(one.data, seal.data));
    if (bundle === undefined) {
      bundle = await bundleOf(seal.data);
      bundles.push(bundle);
    }
    bundle.seals.push(seal);
  }
  const left = [];
  for (const piece of pieces) {
    if (piece.kind === "seal" || piece.kind === "keys") continue;
    const homes = await homesOf(piece, bundles);
    for (const bundle of homes) {
      if (piece.kind === "findings") bundle.findings.push(piece);
      if (piece.kind === "day") bundle.days.push(piece);
      if (piece.kind === "ticket") bundle.tickets.push(piece);
      if (piece.kind === "stamp") bundle.stamps.push(piece);
    }
    if (homes.length === 0 && piece.kind !== "ticket") left.push(piece);
  }
  return { bundles: withCodes(bundles), left };
}

/**
 * @param {Uint8Array} data
 * @returns {Promise<Bundle>}
 */
async function bundleOf(data) {
  const bundle = {
    data,
    record: null,
    reason: "",
    seals: [],
    findings: [],
    days: [],
    tickets: [],
    stamps: [],
    strangers: [],
    aloneOnPaper: false,
  };
  try {
    return { ...bundle, record: await checked(data) };
  } catch (error) {
    if (error instanceof Refused) return { ...bundle, reason: error.message };
    throw error;
  }
}

/**
 * The seals that a piece is to be compared with; more than one where a ticket carries two.
 * @param {Piece} piece
 * @param {Bundle[]} bundles
 * @returns {Promise<Bundle[]>}
 */
async function homesOf(piece, bundles) {
  const sameFile = bundles.filter((one) => one.seals.some((seal) => seal.origin.file === piece.origin.file));
  if (sameFile.length > 0) return sameFile;
  if (piece.kind === "none") return [];
  if (bundles.length === 1) return bundles;
  for (const one of bundles) if (one.record !== null && (await isSealed(piece, one.record))) return [one];
  const stem = stemOf(piece.origin.file);
  return bundles.filter((one) => one.seals.some((seal) => stemOf(seal.origin.file) === stem)).slice(0, 1);
}

/**
 * @param {Piece} piece
 * @param {SealRecord} record
 */
async function isSealed(piece, record) {
  if (piece.kind === "findings") return hasDigest(record, piece.data);
  return piece.kind === "day" && same(await sha256(piece.data), record.dayFile);
}

/** @param {string} file */
function stemOf(file) {
  return file.replace(/(?<=.)\.[^.]*$/, "");
}

/**
 * The seals; a code that none of the seals from files has is told with the one ticket, or by itself.
 * @param {Bundle[]} bundles
 */
function withCodes(bundles) {
  const ofPaper = bundles.filter((one) => one.seals.every((seal) => seal.onPaper));
  const ofFiles = bundles.filter((one) => !ofPaper.includes(one));
  if (ofFiles.length === 0 || ofPaper.length === 0) return bundles;
  if (ofFiles.length === 1 && !ofPaper.some((one) => one.findings.length > 0 || one.days.length > 0)) {
    for (const one of ofPaper) ofFiles[0].strangers.push(...one.seals);
    return ofFiles;
  }
  for (const one of ofPaper) one.aloneOnPaper = true;
  return bundles;
}

/**
 * @param {GivenFindings | GivenDay | GivenStamp | import("./reading.js").NoSeal} piece
 * @param {boolean} amongOthers
 * @returns {Answer}
 */
function withoutSeal(piece, amongOthers) {
  const what = { findings: "these findings", day: "this day file", stamp: "this time stamp", none: "" }[piece.kind];
  const none = amongOthers ? `none of the seals given belongs to ${what}` : `no seal was given with ${what}`;
  const reason = piece.kind === "none" ? piece.reason : none;
  return { ...EMPTY, judgement: "no_seal", files: [plain(place(piece.origin))], reason };
}

/** @type {Answer} */
const EMPTY = {
  judgement: "no_seal",
  files: [],
  reason: "",
  key: null,
  record: null,
  compared: [],
  differences: [],
  notes: [],
  onPaper: false,
};

/**
 * @param {Bundle} bundle
 * @param {KeyStanding} standingOf
 * @param {number} now
 * @returns {Promise<Answer>}
 */
async function answerOn(bundle, standingOf, now) {
  const given = [...bundle.tickets, ...bundle.seals, ...bundle.findings, ...bundle.days, ...bundle.stamps];
  const files = [...new Set(given.map((one) => plain(place(one.origin))))];
  const record = bundle.record;
  if (record === null) return { ...EMPTY, judgement: "broken", files, reason: plain(bundle.reason) };
  const standing = await standingOf(record.key, record.sealedAt);
  /** @type {string[]} */
  const compared = [];
  /** @type {Difference[]} */
  const differences = [];
  for (const { origin, data } of bundle.findings) {
    const found = await findingsDifferences(record, data);
    if (found.length === 0) compared.push(`${plain(place(origin))} are the sealed findings, to the last sign`);
    differences.push(...found);
  }
  for (const { origin, data } of bundle.days) {
    if (same(await sha256(data), record.dayFile))
      compared.push(`${plain(place(origin))} is the sealed day file, to the byte`);
    else
      differences.push(
        difference("day_file", "the day file is not the sealed one to the byte; the program itself can tell in what"),
      );
  }
  differences.push(...(await codeDifferences(bundle, record)), ...times(record, standing, now));
  const alone = bundle.seals.every((seal) => seal.onPaper);
  if (!alone && bundle.seals.some((seal) => seal.onPaper)) {
    compared.push("the code on the paper carries the same seal as the ticket");
  }
  return {
    judgement: judgementOf(standing, differences),
    files,
    reason: "",
    key: { fingerprint: await fingerprint(record.key), standing },
    record,
    compared: [...new Set(compared)],
    differences: unlike(differences),
    notes: [
      ...standing.cautions.map((words) => plain(words, 400)),
      ...(bundle.tickets.length > 0 ? [NOT_COMPARED] : []),
      ...bundle.stamps.map(({ origin }) => `the time stamp ${plain(place(origin))} was not checked: ${NO_STAMPS}`),
    ],
    onPaper: bundle.tickets.length > 0 || (bundle.findings.length === 0 && bundle.days.length === 0),
  };
}

/**
 * @param {Standing} standing
 * @param {Difference[]} differences
 * @returns {Judgement}
 */
function judgementOf(standing, differences) {
  if (differences.length > 0) return "different";
  if (standing.state === "revoked") return "revoked_key";
  return standing.good ? "genuine" : "unknown_key";
}

/**
 * The same, each once.
 * @param {Difference[]} differences
 */
function unlike(differences) {
  return [...new Map(differences.map((one) => [JSON.stringify(one), one])).values()];
}

/**
 * The words before each code, which a telephone shows and nobody signed; and codes of other seals.
 * @param {Bundle} bundle
 * @param {SealRecord} record
 */
async function codeDifferences(bundle, record) {
  const found = [];
  const wanted = plainHead(headOf(record));
  for (const { head } of bundle.seals) {
    if (head !== null && plainHead(head) !== wanted) {
      found.push(difference("code", "the words before the code", `"${plain(head)}"`, `"${wanted}"`));
    }
  }
  for (const { origin, data } of bundle.strangers) {
    const what = `the code in ${plain(place(origin))} is not that of this ticket`;
    found.push(difference("code", `${what}: it carries ${await named(data)}`));
  }
  if (bundle.aloneOnPaper) {
    const where = plain(place(bundle.seals[0].origin));
    found.push(difference("code", `the code in ${where} is that of none of the tickets given with it`));
  }
  return found;
}

/** @param {Uint8Array} data */
async function named(data) {
  try {
    const record = await checked(data);
    return `seal ${record.number}, "${plain(record.title)}"`;
  } catch (error) {
    if (error instanceof Refused) return `no sound seal (${plain(error.message)})`;
    throw error;
  }
}

/**
 * The words before the seal in a code: title, date, the heaviest gross mass, running number.
 * @param {SealRecord} record
 */
function headOf(record) {
  const masses = record.figures.filter((one) => one.place === GROSS).map((one) => one.figure.value);
  const heaviest = masses.length > 0 ? wholeWords(Math.max(...masses), record.decimals) : "";
  const gross = heaviest && `${heaviest} ${record.unit}`;
  return `${[...record.title].slice(0, 24).join("")} ${record.date ?? ""} ${gross} NO ${record.number}`;
}

/**
 * A whole number of the last digit, rounded to whole units, halves to the even one.
 * @param {number} value
 * @param {number} decimals
 */
function wholeWords(value, decimals) {
  const scale = 10 ** decimals;
  const size = Math.abs(value);
  const down = Math.floor(size / scale);
  const rest = 2 * (size - down * scale);
  const rounded = rest > scale || (rest === scale && down % 2 === 1) ? down + 1 : down;
  return `${value < 0 ? "-" : ""}${digits(rounded, 0).replace(/,/g, "")}`;
}

/**
 * Words in the letters of a code.
 * @param {string} text
 */
function plainHead(text) {
  const bare = text
    .normalize("NFKD")
    .toUpperCase()
    .replace(/\p{Mn}/gu, "");
  const kept = bare.replace(/[^0-9A-Z $%*+\-./]/gu, " ");
  return kept.trim().replace(/ +/g, " ").slice(0, LONGEST_HEAD).trim();
}

/**
 * What is wrong with the time that a seal claims.
 * @param {SealRecord} record
 * @param {Standing} standing
 * @param {number} now
 */
function times({ sealedAt }, { since, until }, now) {
  const claim = `the seal claims to be of ${momentWords(sealedAt)}`;
  const found = [];
  if (sealedAt > now + DAY) {
    found.push(difference("time", `${claim}, which is still to come by the clock here, ${momentWords(now)}`));
  }
  if (since !== null && sealedAt < since) {
    found.push(difference("time", `${claim}, and its key was made later, ${momentWords(since)}`));
  }
  if (until !== null && sealedAt > until) {
    found.push(difference("time", `${claim}, and another key took this one's place before, ${momentWords(until)}`));
  }
  return found;
}
