// The answer on the page. Every text comes in as text, never as markup.
import { hex } from "./bytes.js";
import { LEVELS, OUTCOMES } from "./record.js";
import { countsWords, digits, momentWords, plain, placeWords, unitWords } from "./words.js";

/** @typedef {import("./judge.js").Answer} Answer */
/** @typedef {import("./judge.js").Judgement} Judgement */
/** @typedef {import("./judge.js").Whole} Whole */
/** @typedef {import("./record.js").SealRecord} SealRecord */

/** @type {Record<Judgement, string>} */
const HEADLINES = {
  genuine: "Genuine",
  unknown_key: "Whole, but you do not know the key",
  revoked_key: "Sealed with a key that is revoked",
  different: "Not as it was sealed",
  broken: "Broken",
  no_seal: "No seal",
};

/**
 * An element with a class, and texts or elements in it.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {string} look
 * @param {...(string | Node)} inside
 * @returns {HTMLElementTagNameMap[T]}
 */
export function made(tag, look, ...inside) {
  const one = document.createElement(tag);
  if (look) one.className = look;
  one.append(...inside);
  return one;
}

/**
 * The judgement in one sentence, for the line that is read aloud.
 * @param {Whole} whole
 */
export function summary({ judgement, seals }) {
  const head = HEADLINES[judgement];
  const [only] = seals;
  if (seals.length > 1) return `${head}: the worst of ${seals.length} answers.`;
  const what =
    only.record === null
      ? only.reason.replace(/^carries no (whole )?seal: /, "")
      : `seal ${only.record.number}, \u201c${plain(only.record.title)}\u201d`;
  return `${head}: ${what}.`;
}

/**
 * @param {Whole} whole
 * @returns {HTMLElement[]}
 */
export function shown({ seals, series }) {
  const cards = seals.map(card);
  if (series.length === 0) return cards;
  const heading = made("h3", "", "These seals together");
  return [
    ...cards,
    made("article", "card", heading, made("ul", "", ...series.map((words) => made("li", "", sentence(words))))),
  ];
}

/** @param {Answer} answer */
function card(answer) {
  const { judgement, record } = answer;
  const head = made(
    "div",
    `verdict ${judgement}`,
    made("span", "sign", signOf(judgement)),
    made("h3", "", HEADLINES[judgement]),
  );
  const card = made("article", "card", head, made("p", "files", answer.files.join(", ")));
  if (record === null) {
    // the headline says so already
    const reason = judgement === "no_seal" ? answer.reason.replace(/^carries no seal: /, "") : answer.reason;
    card.append(made("p", "", sentence(reason)));
    return card;
  }
  const lines = made(
    "dl",
    "lines",
    ...pair("Key", keyLine(answer)),
    ...pair("Sealed", sealedLine(record)),
    ...pair("Differs", ...differLine(answer)),
  );
  card.append(lines);
  for (const note of answer.notes) card.append(made("p", "note", sentence(note)));
  card.append(...figures(record, answer.onPaper), more(record));
  return card;
}

/** @param {Judgement} judgement */
function signOf(judgement) {
  if (judgement === "genuine") return "\u2713";
  return judgement === "unknown_key" ? "?" : "\u2715";
}

/**
 * @param {string} name
 * @param {...(string | Node)} inside
 */
function pair(name, ...inside) {
  return [made("dt", "", name), made("dd", "", ...inside)];
}

/** @param {Answer} answer */
function keyLine({ key, judgement }) {
  if (key === null) return "";
  const { standing } = key;
  const print = made("code", "", key.fingerprint);
  const whose = standing.name === null ? "the key " : `${plain(standing.name)}\u2019s key `;
  if (judgement === "unknown_key" || standing.state === "unknown") {
    const ask = " Ask the weigher for this fingerprint by another way than the ticket, and type it above.";
    return made("span", "", "The key ", print, ", which you do not know. ", standing.why, ask);
  }
  const known = standing.state === "revoked" ? ", which nobody may trust any more. " : ", which you know. ";
  return made("span", "", "Sealed with ", whose, print, known, plain(standing.why, 400));
}

/** @param {SealRecord} record */
function sealedLine(record) {
  const weighed = record.date ? `, weighed ${plain(record.date)}` : "";
  const count = record.figures.length;
  const left = record.leftOut === 0 ? "" : ` (left out for want of room: ${LEVELS[record.leftOut]})`;
  const when = `sealed ${momentWords(record.sealedAt)} by the weigher\u2019s clock`;
  const limits = `limits: ${countsWords(record.verdicts)}`;
  return `Seal ${record.number}, \u201c${plain(record.title)}\u201d${weighed}, ${when}; ${count} figure${count === 1 ? "" : "s"}${left}; ${limits}.`;
}

const HOLD = "Hold the figures below against the paper, every digit; the paper may round the last one.";
const NO_FIGURE =
  "The seal carries no figure, so nothing on the paper can be checked with it. Give the ticket\u2019s file, or the findings and the weigh-day file.";

/** @param {Answer} answer */
function differLine({ differences, compared, record }) {
  if (differences.length > 0) {
    const items = differences.map(({ what, here, sealed }) => {
      return made("li", "", here || sealed ? `${sentence(what, "")}: ${here} here, ${sealed} sealed` : sentence(what));
    });
    const agrees = compared.length > 0 ? [made("p", "", `As sealed: ${compared.join("; ")}.`)] : [];
    return [made("ul", "", ...items), ...agrees];
  }
  if (compared.length > 0) return [`Nothing: ${compared.join("; ")}.`];
  if (record === null || record.figures.length === 0) return [`Nothing was given to compare with. ${NO_FIGURE}`];
  return [`Nothing was given to compare with. ${HOLD}`];
}

/**
 * The sealed figures, large, state by state.
 * @param {SealRecord} record
 * @param {boolean} onPaper
 */
function figures(record, onPaper) {
  if (record.figures.length === 0) return [made("p", "", "The seal carries no figure to compare with the paper.")];
  const heading = made("h4", "", onPaper ? "Compare these with the paper, every digit" : "The sealed figures");
  const states = [...new Set(record.figures.map(({ state }) => state))];
  const tables = states.map((state) => {
    const rows = record.figures
      .filter((one) => one.state === state)
      .map(({ owner, place, figure }) => {
        const value = made("span", "value", `${digits(figure.value, record.decimals)} ${unitWords(record)}`);
        const contested = figure.contested ? " contested" : "";
        const doubt = made("span", "doubt", `u ${digits(figure.u, record.decimals)}${contested}`);
        return made("tr", "", rowHead(placeWords(owner, place)), made("td", "", value, " ", doubt));
      });
    return made("table", "", made("caption", "", plain(state, 40)), made("tbody", "", ...rows));
  });
  return [
    heading,
    made(
      "p",
      "soft",
      "u is the standard uncertainty. What stands after \u00b1 on a ticket is half of the 95 % interval, about twice as much.",
    ),
    made("div", "tables", ...tables),
  ];
}

/** @param {string} words */
function rowHead(words) {
  const head = made("th", "", words);
  head.scope = "row";
  return head;
}

/** @param {SealRecord} record */
function more(record) {
  const troubles = record.troubles.map(([name, outcome]) => `${plain(name)}: ${OUTCOMES[outcome]}`);
  const rules = record.rules.map(([name, edition]) => `${plain(name)} ${plain(edition)}`);
  const list = made(
    "dl",
    "lines",
    ...(troubles.length > 0 ? pair("Limits that are not kept for certain", troubles.join("; ")) : []),
    ...(rules.length > 0 ? pair("Rules", rules.join("; ")) : []),
    ...(record.p === null ? [] : pair("Consistency of the readings", `p = ${(record.p / 1000).toFixed(3)}`)),
    ...pair("Findings", made("code", "", hex(record.findings))),
    ...pair("Readings", made("code", "", hex(record.readings))),
    ...pair("Day file", made("code", "", hex(record.dayFile))),
    ...pair(
      "Seal before",
      record.previous === null ? "none, this is the first" : made("code", "", hex(record.previous)),
    ),
    ...pair("Program", `version ${plain(record.program)}`),
  );
  return made("details", "", made("summary", "", "Everything else that is sealed"), list);
}

/**
 * Words with a capital and a full stop.
 * @param {string} words
 * @param {string} [end]
 */
function sentence(words, end = ".") {
  const [first = "", ...rest] = words;
  return `${first.toUpperCase()}${rest.join("")}${/[.!?]$/.test(words) ? "" : end}`;
}
