// After a draft: one panel at the top that says the tightest limit, what is left of it, before and after, and what to
// read next. It shrinks to a line when the next wheel or state begins. And a question about what does not fit.

import { call, wordsOf } from "./api.js";
import { change, judged, moved, suspectsOf, totals } from "./after.js";
import { called, day } from "./at-the-pads.js";
import { $, element, make } from "./dom.js";
import { label, nextWheels } from "./next-wheels.js";
import { formatNumber } from "./number.js";
import { figureWords, roomWords, signOf, wordOf } from "./verdict.js";

/** @typedef {{ key: string, number: number | null, state: string, readings: Page.Readings }} KeptDraft */
/** @typedef {Parameters<typeof nextWheels>[2]} Ways */

const MOST = 8;

export class Bench {
  /** @param {{ ask: typeof import("./question.js").ask, ways: () => Ways, takeBack: (key: string) => void }} hooks */
  constructor(hooks) {
    this.hooks = hooks;
    this.panel = $("outcome");
    this.body = $("outcome-body");
    this.line = element("outcome-line", HTMLButtonElement);
    this.line.addEventListener("click", () => this.open());
    /** @type {Api.Findings | null} */
    this.before = null;
    /** @type {KeptDraft | null} */
    this.late = null;
    /** @type {string | null} */
    this.told = null;
    this.timer = 0;
    this.asked = new Set();
    this.fetch()
      .then((found) => {
        this.before ??= found;
      })
      .catch(() => {});
  }

  /** @type {() => Promise<Api.Findings>} */
  async fetch() {
    /** @type {Page.Answer<Api.Findings>} */
    const { data } = await call("GET", day.links.findings, { wait: 20000 });
    return data;
  }

  // `line`: what is left of it once it is small.
  /** @type {(title: string, line: string, nodes: Node[]) => void} */
  say(title, line, nodes) {
    const smaller = make("button", "Smaller", { className: "quiet", type: "button", onclick: () => this.close() });
    smaller.append(make("span", ": what the draft tells becomes one line", "unseen"));
    const head = make("div", "", "title");
    head.append(make("h2", title), smaller);
    this.panel.hidden = false;
    this.line.textContent = `${title.replace(" on disk", "")}: ${line}`;
    this.body.replaceChildren(head, ...nodes);
    this.open();
  }

  open() {
    this.line.hidden = true;
    this.body.hidden = false;
    scrollTo(0, 0);
  }

  close() {
    if (this.panel.hidden) return;
    this.line.hidden = false;
    this.body.hidden = true;
  }

  // Said once for each draft and each hindrance, so that who closes it is left in peace.
  /** @type {(count: number, away: Page.Hindrance) => void} */
  away(count, { kind, words }) {
    if (this.told === `${count} ${kind}`) return;
    this.told = `${count} ${kind}`;
    const waits = `${count} draft${count === 1 ? " waits" : "s wait"} here and ${count === 1 ? "is" : "are"} sent in order by ${count === 1 ? "itself" : "themselves"}.`;
    this.say("Kept on this device", `${count} waiting`, [para(waits), para(words)]);
  }

  /** @type {(draft: KeptDraft) => Promise<void>} */
  async draft({ key, number, state, readings }) {
    this.say("Draft on disk", "its findings follow", [para("Working out what it means …")]);
    this.told = null;
    /** @type {Api.Findings} */
    let after;
    this.late = null;
    try {
      after = await this.fetch();
    } catch (error) {
      this.say("Draft on disk", "its findings follow", [para(`Findings follow: ${wordsOf(error)}.`)]);
      this.late = { key, number, state, readings };
      return;
    }
    const before = this.before;
    this.before = after;
    this.show(before, after, { key, number, state, readings });
    const strange =
      number === null ? [] : suspectsOf(after, number).filter((item) => !this.asked.has(`${key} ${item.place}`));
    for (const item of strange) this.asked.add(`${key} ${item.place}`);
    if (strange.length) this.question(strange, readings);
  }

  // The findings that took long are there.
  ready() {
    if (this.late) this.draft(this.late);
  }

  /** @type {(before: Api.Findings | null, after: Api.Findings, draft: KeptDraft) => void} */
  show(before, after, { key, number, state, readings }) {
    const verdicts = judged(after, state),
      [worst] = verdicts;
    const limited = after.findings.find((item) => item.id === worst?.item.finding);
    const was = new Map((before?.findings ?? []).map((item) => [item.id, item]));
    const vehicles = [...new Set(Object.keys(readings).map((place) => place.split("/")[0]))];
    const main = [...new Set([...totals(after, state, vehicles), ...(limited ? [limited] : [])])];
    const rest = moved(before, after, state)
      .filter(({ item }) => !main.includes(item))
      .slice(0, MOST);
    const trouble = verdicts.slice(1).filter(({ item }) => item.verdict !== "within");
    const answer = make("div", "", "answer");
    answer.append(sign(verdicts), changes(main, was, state), this.next(after, state, key));
    /** @type {Node[]} */
    const parts = [answer];
    if (!after.consistency.consistent)
      parts.push(make("p", "The readings do not agree with one another; the bench says more.", "note doubt"));
    if (trouble.length) parts.push(more(`${trouble.length} more outside or undecided`, trouble.map(troubled)));
    if (rest.length)
      parts.push(
        more(
          "What else it changed",
          rest.map(({ item, old }) => row(label(item.label, state), change(old, item))),
        ),
      );
    const left = worst
      ? `${wordOf(worst.told.mark).toUpperCase()}, ${roomWords(worst.told)}, ${worst.told.label}`
      : "nothing judged yet";
    this.say(number ? `Draft ${number} on disk` : "Draft on disk", left, parts);
  }

  /** @type {(after: Api.Findings, state: string, key: string) => HTMLElement} */
  next(after, state, key) {
    const box = make("div", "", "nextwheels");
    const { words, act } = nextWheels(after, state, this.hooks.ways());
    box.append(make("h3", "Next"), make("p", words));
    if (!day.mayWeigh) return box;
    const row = box.appendChild(make("div", "", "row"));
    if (act) row.append(make("button", act.words, { type: "button", onclick: act.run }));
    row.append(make("button", "Take it back", { type: "button", onclick: () => this.hooks.takeBack(key) }));
    return box;
  }

  /** @type {(strange: Api.Suspect[], readings: Page.Readings) => Promise<void>} */
  async question(strange, readings) {
    const [item] = strange;
    const lines = [
      `${called(item.place)} on ${item.instrument} reads ${formatNumber(item.reading, 3)} ${day.unit}. The others say something else.`,
    ];
    if (item.explanations.length)
      lines.push("It would fit if:", ...item.explanations.slice(0, 3).map((words) => `· ${words}`));
    if (strange.length > 1)
      lines.push(
        `Also look at ${strange
          .slice(1)
          .map((other) => called(other.place))
          .join(", ")}.`,
      );
    lines.push("Look at the pad while the rig still stands on it.");
    if (
      readings[item.place] &&
      (await this.hooks.ask("Does this reading fit?", lines, ["It stands so", "Correct it"])) === 1
    ) {
      location.assign(`${day.links.bench}?correct=${item.draft}&place=${encodeURIComponent(item.place)}`);
    }
  }

  // A draft from another device: what this one tells from now on is measured against it.
  elsewhere() {
    if (this.timer) return;
    this.timer = setTimeout(async () => {
      this.timer = 0;
      try {
        this.before = await this.fetch();
      } catch {
        /* the next one tells */
      }
    }, 1500);
  }
}

// The tightest limit as a sign: word with shape, what is left or missing, its name and figure.
/** @type {(verdicts: ReturnType<typeof judged>) => HTMLElement} */
function sign(verdicts) {
  const told = verdicts[0]?.told;
  const box = make("div", "", `sign-of ${told?.mark ?? "open"}`);
  box.append(signOf(told?.mark ?? "open"));
  const words = box.appendChild(make("div"));
  if (!told) {
    words.append(make("p", wordOf("open"), "word"), para("Nothing judged yet: no rating, or not enough read."));
    return box;
  }
  const within = verdicts.filter(({ item }) => item.verdict === "within").length;
  words.append(make("p", wordOf(told.mark), "word"), make("p", roomWords(told, told.mark === "undecided"), "left"));
  words.append(make("p", `${told.label}: ${figureWords(told)}`, { dir: "auto" }));
  if (told.advice) words.append(make("p", `${told.advice[0].toUpperCase()}${told.advice.slice(1)}.`, "soft small"));
  const rest = within === verdicts.length ? ", nothing outside or undecided" : "";
  if (within) words.append(make("p", `${within} within${rest}.`, "soft small"));
  return box;
}

/** @type {(main: Api.Finding[], was: Map<string, Api.Finding>, state: string) => HTMLElement} */
function changes(main, was, state) {
  const box = make("div", "", "changes");
  const list = make("ul", "", "moved");
  list.append(...main.map((item) => row(label(item.label, state), change(was.get(item.id), item))));
  box.append(make("h3", "Before → after (± holds 95 %)"), list);
  return box;
}

/** @type {(words: string) => HTMLElement} */
const para = (words) => make("p", words);

/** @type {(title: string, rows: Node[]) => HTMLElement} */
function more(title, rows) {
  const box = make("details");
  const list = make("ul", "", "moved");
  list.append(...rows);
  box.append(make("summary", title), list);
  return box;
}

/** @type {(name: string, value: string) => HTMLElement} */
function row(name, value) {
  const item = make("li");
  item.append(make("span", name, { dir: "auto" }), make("b", value));
  return item;
}

/** @type {(one: ReturnType<typeof judged>[number]) => HTMLElement} */
const troubled = ({ told }) =>
  row(`${wordOf(told.mark).toUpperCase()}: ${told.label}`, `${figureWords(told)}, ${roomWords(told)}`);
