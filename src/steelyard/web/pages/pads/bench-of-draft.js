// After a draft: what it changed, what is within, outside or undecided now, and a question about what does not fit.

import { call, wordsOf } from "./api.js";
import { judged, moved, said, suspectsOf } from "./after.js";
import { $, make } from "./dom.js";
import { formatNumber } from "./number.js";

/** @typedef {{ key: string, number: number | null, state: string, readings: Page.Readings }} KeptDraft */

const MOST = 6;

export class Bench {
  /** @param {Page.Pads} day @param {typeof import("./question.js").ask} ask */
  constructor(day, ask) {
    this.day = day;
    this.ask = ask;
    this.panel = $("outcome");
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
    const { data } = await call("GET", this.day.links.findings, { wait: 20000 });
    return data;
  }

  /** @type {(title: Node, ...nodes: Node[]) => void} */
  say(title, ...nodes) {
    const close = make("button", "Close", { className: "quiet", type: "button", onclick: () => this.close() });
    const head = make("div", "", "title");
    head.append(title, close);
    this.panel.hidden = false;
    this.panel.replaceChildren(head, ...nodes);
    this.panel.scrollTop = 0;
  }

  // On a wide screen it has a place of its own and stays.
  close() {
    if (getComputedStyle(this.panel).position === "fixed") this.panel.hidden = true;
  }

  // Said once for each draft and each hindrance, so that who closes it is left in peace.
  /** @type {(count: number, away: Page.Hindrance) => void} */
  away(count, { kind, words }) {
    if (this.told === `${count} ${kind}`) return;
    this.told = `${count} ${kind}`;
    const waits = `${count} draft${count === 1 ? " waits" : "s wait"} here and ${count === 1 ? "is" : "are"} sent in order by ${count === 1 ? "itself" : "themselves"}.`;
    this.say(head("Kept on this device"), para(waits), para(words));
  }

  /** @type {(draft: KeptDraft) => Promise<void>} */
  async draft({ key, number, state, readings }) {
    this.say(head("Draft on disk"), para("Working out what it means …"));
    this.told = null;
    /** @type {Api.Findings} */
    let after;
    this.late = null;
    try {
      after = await this.fetch();
    } catch (error) {
      this.say(head("Draft on disk"), para(`Findings follow: ${wordsOf(error)}.`));
      this.late = { key, number, state, readings };
      return;
    }
    const before = this.before;
    this.before = after;
    this.show(before, after, state, number);
    const strange =
      number === null ? [] : suspectsOf(after, number).filter((item) => !this.asked.has(`${key} ${item.place}`));
    for (const item of strange) this.asked.add(`${key} ${item.place}`);
    if (strange.length) this.question(strange, readings);
  }

  // The findings that took long are there.
  ready() {
    if (this.late) this.draft(this.late);
  }

  /** @type {(before: Api.Findings | null, after: Api.Findings, state: string, number: number | null) => void} */
  show(before, after, state, number) {
    const changes = moved(before, after, state)
      .slice(0, MOST)
      .map(({ item, old }) => row(item.label.replace(`${state}: `, ""), said(item), old ? "" : "new"));
    const verdicts = judged(before, after, state);
    const trouble = verdicts.filter(({ item }) => item.verdict !== "within");
    const within = verdicts.length - trouble.length;
    /** @type {Node[]} */
    const parts = [];
    if (trouble.length) parts.push(list(trouble.map(({ item }) => verdict(item))));
    if (within) parts.push(para(`${within} within${trouble.length ? "" : ", nothing outside or undecided"}.`));
    if (!verdicts.length) parts.push(para("Nothing judged yet: no rating, or not enough read."));
    if (changes.length) parts.push(sub("What it changed"), list(changes, "moved"));
    else parts.push(para("It changed no finding by more than a tenth of its doubt."));
    if (!after.consistency.consistent)
      parts.push(para("The readings do not agree with one another; the bench says more."));
    this.say(head(number ? `Draft ${number} on disk` : "Draft on disk"), ...parts);
  }

  /** @type {(strange: Api.Suspect[], readings: Page.Readings) => Promise<void>} */
  async question(strange, readings) {
    const [item] = strange;
    const lines = [
      `${item.place} on ${item.instrument} reads ${formatNumber(item.reading, 3)} ${this.day.unit}. The others say something else.`,
    ];
    if (item.explanations.length)
      lines.push("It would fit if:", ...item.explanations.slice(0, 3).map((words) => `· ${words}`));
    if (strange.length > 1)
      lines.push(
        `Also look at ${strange
          .slice(1)
          .map((other) => other.place)
          .join(", ")}.`,
      );
    lines.push("Look at the pad while the rig still stands on it.");
    if (
      readings[item.place] &&
      (await this.ask("Does this reading fit?", lines, ["It stands so", "Correct it"])) === 1
    ) {
      location.assign(`${this.day.links.bench}?correct=${item.draft}&place=${encodeURIComponent(item.place)}`);
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

/** @type {(words: string) => HTMLElement} */
const head = (words) => make("h2", words);
/** @type {(words: string) => HTMLElement} */
const sub = (words) => make("h3", words);
/** @type {(words: string) => HTMLElement} */
const para = (words) => make("p", words);

/** @type {(items: Node[], kind?: string) => HTMLElement} */
function list(items, kind = "") {
  const node = make("ul", "", kind);
  node.append(...items);
  return node;
}

/** @type {(name: string, value: string, mark: string) => HTMLElement} */
function row(name, value, mark) {
  const item = make("li");
  item.append(make("span", mark ? `${name} (${mark})` : name), make("b", value));
  return item;
}

/** @type {(item: ReturnType<typeof judged>[number]["item"]) => HTMLElement} */
function verdict(item) {
  const node = make("li", "", `note ${item.verdict === "outside" ? "alarm" : "doubt"}`);
  node.append(make("b", `${item.verdict.toUpperCase()}: ${item.label}`));
  if (item.advice) node.append(make("span", `${item.advice[0].toUpperCase()}${item.advice.slice(1)}.`));
  return node;
}
