// Verdicts as a person reads them: one order, worst first, and one sign. What the program prints has the same order
// (findings/worst.py); a test holds both to one another.

import { copyOf, element, make, only } from "./dom.js";
import { formatNumber, halfWidth } from "./number.js";

/** @type {Record<Page.Mark, number>} */
const RANK = { outside: 0, undecided: 1, within: 2, open: 3 };

/** @type {(mark: Page.Mark) => string} */
export const wordOf = (mark) => (mark === "open" ? "not judged" : mark);

// A verdict of the station; `item` is the finding that it limits, which knows the unit and the interval.
/** @type {(verdict: Api.Verdict, item?: Api.Finding) => Page.Verdict} */
export function ofStation(verdict, item) {
  const { value, low, high } = item ?? { value: null, low: null, high: null };
  return {
    label: verdict.label,
    mark: verdict.verdict ?? "open",
    met: verdict.probability,
    room: verdict.margin,
    half: value === null || low === null || high === null ? null : halfWidth({ value, low, high }),
    value: verdict.value,
    limit: verdict.limit,
    least: verdict.sense === "min",
    unit: item?.unit ?? "",
    contested: verdict.contested,
    advice: verdict.advice,
  };
}

// What part of its limit a verdict leaves; that of a limit of nothing is the room itself.
/** @type {(one: Page.Verdict) => number} */
const part = ({ room, limit }) => (room === null ? Infinity : limit ? room / Math.abs(limit) : room);
/** @type {(value: number, digits: number) => number} */
const rounded = (value, digits) => (Number.isFinite(value) ? Math.round(value * 10 ** digits) : value);

// Worst first: outside, undecided, within, not judged; within each what is likeliest missed, then what leaves the least
// part of its limit. The last digits choose no order: the station and this page round differently.
/** @type {(one: Page.Verdict, other: Page.Verdict) => number} */
export function byTrouble(one, other) {
  return (
    RANK[one.mark] - RANK[other.mark] ||
    rounded(one.met ?? 1, 3) - rounded(other.met ?? 1, 3) ||
    (part(one) === part(other) ? 0 : rounded(part(one), 6) - rounded(part(other), 6))
  );
}

// With how many decimals a figure of this doubt is shown.
/** @type {(half: number | null) => number} */
const digits = (half) => (half && half > 0 ? Math.min(2, Math.max(0, 1 - Math.floor(Math.log10(half)))) : 0);

// With how many decimals a verdict's figures are shown, and its unit, which no line parts from its number.
/** @type {(one: Page.Verdict) => [most: number, unit: string]} */
const shape = ({ unit, half }) => [unit === "%" ? Math.max(1, digits(half)) : digits(half), unit && `\u00a0${unit}`];

// The figure, and the most that it may be; what it must be at least, the limit's name says.
/** @type {(one: Page.Verdict) => string} */
export function figureWords(one) {
  const { value, limit, least } = one,
    [most, unit] = shape(one);
  if (value === null) return "not determined";
  return `${formatNumber(value, most)}${least ? "" : ` of ${formatNumber(limit, 2)}`}${unit}`;
}

// What is left, or by how much it is missed; `doubt` adds the half width of the 95 % interval.
/** @type {(one: Page.Verdict, doubt?: boolean) => string} */
export function roomWords(one, doubt = false) {
  const { room, half, least } = one,
    [most, unit] = shape(one);
  if (room === null) return "";
  const pm = doubt && half ? `\u00a0±\u00a0${formatNumber(half, most)}` : "";
  const what = room >= 0 ? "left" : least ? "too little" : "too much";
  return `${formatNumber(Math.abs(room), most)}${pm}${unit} ${what}`;
}

// The shape of a verdict, from the page's templates (marks.html, signs).
/** @type {(mark: Page.Mark) => SVGElement} */
export const signOf = (mark) => copyOf(only(element(`sign-${mark}`, HTMLTemplateElement).content, "svg", SVGElement));

// The sign: shape, word, the limit's name, the figure and what is left.
/** @type {(one: Page.Verdict) => HTMLElement} */
export function signLine(one) {
  const line = make("p", "", `verdict-line ${one.mark}`);
  const name = make("span", one.label, "what");
  name.dir = "auto";
  const parts = [make("b", wordOf(one.mark), "word"), name];
  if (one.contested) parts.push(make("span", "contested", "room"));
  else if (one.value !== null) {
    parts.push(make("b", roomWords(one, one.mark === "undecided"), "room"), make("span", figureWords(one), "figure"));
  }
  line.append(signOf(one.mark), ...parts.flatMap((node, place) => (place ? [" ", node] : [node])));
  return line;
}
