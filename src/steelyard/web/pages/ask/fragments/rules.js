// May it be driven like this: the chosen rules of the road, worst first, each with its place in the law.

import { halfWidth } from "./number.js";

/** @type {(the: Page.Asker) => Page.AskScript} */
export default function rules({ show, make }) {
  /** @type {(one: Api.Ruling) => string} */
  function groupOf(one) {
    if (one.verdict === "outside") return "Outside";
    if (one.verdict === "undecided") return "Undecided";
    if (one.verdict === "within") return "Within";
    if (one.needs.length) return "Not judged: the file does not say it";
    return one.basis === "paper" ? "The rules also say" : "Not judged: not determined";
  }
  const ORDER = ["Outside", "Undecided", "The rules also say", "Within"];

  /** @type {(value: number, half: number) => string} */
  function at(value, half) {
    if (!half) return show(value, 2);
    const places = Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(half))));
    return show(value, places, places);
  }

  // Half of the 95 % interval; nothing for what the papers say.
  /** @type {(one: Api.Ruling) => number} */
  const doubt = ({ value, low, high }) =>
    value === null || low === null || high === null ? 0 : halfWidth({ value, low, high });

  /** @type {(p: number) => string} */
  const chance = (p) => (p > 0.999 ? "> 99.9 %" : p < 0.001 ? "< 0.1 %" : `${show(100 * p, 1)} %`);

  /** @type {(one: Api.Ruling) => string} */
  const limitOf = (one) => `${one.sense === "max" ? "at most" : "at least"} ${show(one.limit ?? 0, 2)} ${one.unit}`;

  /** @type {(one: Api.Ruling) => string} */
  const sureOf = (one) => (one.probability === null ? "" : `; kept with a probability of ${chance(one.probability)}`);

  // The figure with its doubt, the limit, what is left, and how surely; empty where there is none.
  /** @type {(one: Api.Ruling) => string} */
  function figure(one) {
    if (one.value === null) return "";
    const half = doubt(one);
    if (one.contested && one.low !== null && one.high !== null)
      return `${at(one.low, half)} to ${at(one.high, half)} ${one.unit} (contested), ${limitOf(one)}${sureOf(one)}.`;
    const found = `${at(one.value, half)}${half ? ` ± ${at(half, half)}` : ""} ${one.unit}`;
    if (one.limit === null || one.margin === null) return `${found}.`;
    const left = one.margin < 0 ? (one.sense === "max" ? "over" : "short") : "of room";
    return `${found}, ${limitOf(one)}; ${at(Math.abs(one.margin), half)} ${one.unit} ${left}${sureOf(one)}.`;
  }

  /** @type {(words: string) => string} */
  const sentence = (words) => `${words.slice(0, 1).toUpperCase()}${words.slice(1)}${words.endsWith(".") ? "" : "."}`;

  /** @type {(one: Api.Ruling) => Node} */
  function told(one) {
    const row = make("li"),
      papers = one.basis === "paper" ? " (by the papers)" : "",
      memory = one.grade === "C" ? " (from memory)" : "",
      said = [one.answer, one.note].filter(Boolean).join(": ");
    row.append(make("strong", `${one.label}${papers}${memory}`));
    const lines = [figure(one), said && sentence(said), one.advice && sentence(one.advice)];
    if (one.needs.length) lines.push(`Missing: ${one.needs.join(", ")}.`);
    for (const words of lines) if (words) row.append(make("p", words));
    row.append(make("p", `${one.cite}; ${one.set}.`, "soft"));
    return row;
  }

  /** @type {(name: string, found: Api.Ruling[]) => HTMLElement[]} */
  function group(name, found) {
    const list = make("ul", "", name.toLowerCase().split(" ")[0]);
    list.append(...found.map(told));
    if (name !== "Within") return [make("h3", `${name}: ${found.length}`), list];
    const more = make("details");
    more.append(make("summary", `${name}: ${found.length}`), list);
    return [more];
  }

  /** @type {(data: Api.Rules) => Node[]} */
  function rulings(data) {
    if (!data.sets.length)
      return [make("p", "The day chooses no rule set, so nothing is judged; choose some at the bench.")];
    /** @type {Map<string, Api.Ruling[]>} */
    const groups = new Map(ORDER.map((name) => [name, []]));
    for (const one of data.rules.filter((item) => item.applies))
      groups.set(groupOf(one), [...(groups.get(groupOf(one)) ?? []), one]);
    /** @type {Node[]} */
    const nodes = [...groups].filter(([, found]) => found.length).flatMap(([name, found]) => group(name, found));
    const silent = data.rules.length - data.rules.filter((item) => item.applies).length;
    if (silent) nodes.push(make("p", `${silent} more do not apply to this state.`, "soft"));
    return [...nodes, ...data.cautions.map((words) => make("p", words, "note doubt"))];
  }

  return { show: rulings };
}
