// The sign that follows the hand: the worst verdict with its figure and what is left, the load on each coupling, and whose
// word it is. It is on screen at all times; how high it is, the page knows as --board, so that nothing comes to lie under it.

import { day } from "./ask-now.js";
import { $, make } from "./dom.js";
import { parse } from "./finding-id.js";
import { formatNumber as show } from "./number.js";
import { byTrouble, signLine, signOf, wordOf } from "./verdict.js";

const LINES = 34; // of text that a screen must have for the whole sign
const board = $("board");

/** @type {(kind: string, says: string, why: string) => void} */
export function word(kind, says, why) {
  board.dataset.word = kind;
  $("says").textContent = says;
  $("why").textContent = why;
}

// Verdicts worst first, with their ids.
/** @type {(found: Page.Prediction) => [string, Page.Verdict][]} */
export const ranked = (found) => [...found.verdicts].sort(([, one], [, other]) => byTrouble(one, other));

/** @type {(found: Page.Prediction, order: [string, Page.Verdict][]) => void} */
export function sign(found, order) {
  const [worst] = order.map(([, one]) => one);
  board.className = `board ${worst?.mark ?? "open"}`;
  $("worst").replaceChildren(worst ? signLine(worst) : make("p", "No ratings, so nothing is judged."));
  const balls = [...found.quantities].filter(([id]) => parse(id).owner === "coupling" && parse(id).kind === "load");
  $("ball").hidden = balls.length === 0;
  $("ball").replaceChildren(...balls.flatMap(([id, item]) => ball(id, item, order)));
  board.dataset.said = [worst ? said(worst) : "", ...balls.map(([, item]) => `${item.label} ${figure(item)}`)].join(
    ". ",
  );
}

/** @type {(one: Page.Verdict) => string} */
const said = (one) => `${wordOf(one.mark)}: ${one.label}`;

/** @type {(item: Page.Predicted) => string} */
const figure = (item) =>
  item.value === null
    ? "not determined"
    : item.contested
      ? `${show(item.low)} to ${show(item.high)} ${day.unit}`
      : `${show(item.value)} ± ${show(item.half, item.half < 10 ? 1 : 0)} ${day.unit}`;

// The load of a coupling with the shape of the worst limit on it.
/** @type {(id: string, item: Page.Predicted, order: [string, Page.Verdict][]) => HTMLElement[]} */
function ball(id, item, order) {
  const place = parse(id).place;
  const own = order.find(([name]) => parse(name).owner === "coupling" && parse(name).place === place)?.[1];
  const line = make("span", "", own ? own.mark : "open"),
    name = make("span", item.label, { dir: "auto", className: "what" });
  if (own) line.append(signOf(own.mark), make("span", `${wordOf(own.mark)}: `, "unseen"));
  line.append(name, " ", make("b", figure(item)));
  return [line];
}

// Told to who does not see it, once the hand is still.
export function tell(words = "") {
  const heard = words || `${$("says").textContent}. ${board.dataset.said}.`;
  if ($("spoken").textContent !== heard) $("spoken").textContent = heard;
}

// How much of the screen the sign may take: with a keyboard open, or large letters, it is the shape, the word and what is left.
function fit() {
  const root = document.documentElement,
    high = window.visualViewport?.height ?? innerHeight;
  board.classList.toggle("short", high / parseFloat(getComputedStyle(root).fontSize) < LINES);
  root.style.setProperty("--board", `${Math.ceil(board.getBoundingClientRect().height)}px`);
  root.style.setProperty("--seen", `${Math.round(window.visualViewport?.offsetTop ?? 0)}px`);
}
new ResizeObserver(fit).observe(board);
for (const name of /** @type {const} */ (["resize", "scroll"])) window.visualViewport?.addEventListener(name, fit);
fit();

// What gets the focus by key is brought out from under the sign where the browser leaves it there.
document.addEventListener("focusin", ({ target }) => {
  if (!(target instanceof Element) || board.contains(target) || !target.matches(":focus-visible")) return;
  const mine = board.getBoundingClientRect(),
    its = target.getBoundingClientRect();
  if (its.top < mine.bottom && its.bottom > mine.top) scrollBy(0, its.top - mine.bottom - 8);
});
