// The questions of this page. Each is a fragment: a form, the place of its answer, and either a template that the
// answer is filled into or a script of its own. A fragment names its question in data-asks.
//
// A form's data-with says what goes along with its fields: "state", or "scenario" for all that was changed by hand.
// A field's data-kind is mass, length or number, its data-unit goes after the number, its data-fault is said when it
// cannot be read; a field without a name stays here.
//
// In a template data-each repeats an element for each item of a list, or shows it once for an object and not at all for
// null; data-is puts a text, data-title the title of a vehicle, data-figure a finding or a number, data-doubt the doubt
// of a finding. A path leads from the item to the value, and the empty one is the item.

import { Away, call, wordsOf } from "./api.js";
import { copyOf, every, fieldsIn, first, only } from "./dom.js";
import { halfWidth, readLength, readMass, readNumber } from "./number.js";

/** @typedef {(the: Page.Asker) => Page.AskScript} Script */

const UNKNOWN = "not determined";

export const LEAST =
  "Contested: the readings of this day contradict one another. Each figure is the least of the answers, whichever of them is right.";

// The value of a field, or an error in words; undefined where nothing was typed and nothing is needed.
/** @type {(field: Page.Field, read: (words?: string) => Page.Typed, words?: string, needed?: boolean) => number | undefined} */
export function valued(field, read, words, needed = false) {
  const found = read(words);
  if (found.empty && !needed) return undefined;
  if (found.value === null) {
    field.focus();
    throw new Error(found.words);
  }
  return found.value;
}

/** @type {(error: unknown) => string} */
export const away = (error) =>
  error instanceof Away ? "The station does not answer; try again when it does." : wordsOf(error);

// What goes along with a question: the state as it is, or with all that was changed by hand.
/** @type {(the: Page.Asker) => { scenario: Api.ScenarioQuestion } | { state: string }} */
export const scenario = (the) => (the.touched() ? { scenario: the.wanted() } : { state: the.now.state });

// The fields of a form by name; an empty one is left out.
/** @type {(form: HTMLElement, day: Page.Ask) => Page.Given} */
function typed(form, day) {
  /** @type {Record<string, (text: string, words?: string) => Page.Typed>} */
  const readers = {
    mass: (text, words) => readMass(text, day.unit, words),
    length: (text, words) => readLength(text, day.length, words),
    number: (text, words) => readNumber(text.replace("%", ""), words),
  };
  /** @type {Page.Given} */
  const found = {};
  for (const field of fieldsIn(form)) {
    if (!field.name) continue;
    const { kind, unit, fault } = field.dataset;
    if (field instanceof HTMLInputElement && field.type === "checkbox") found[field.name] = field.checked;
    else if (kind) {
      const value = valued(field, (words) => readers[kind](field.value, words), fault, field.required);
      if (value !== undefined) found[field.name] = unit ? `${value} ${unit}` : value;
    } else if (field.value) found[field.name] = field.value;
  }
  return found;
}

// A path of a template leads wherever the answer does.
/** @type {(data: any, path?: string) => any} */
const at = (data, path) => (path ? path.split(".").reduce((found, key) => found?.[key], data) : data);

/** @type {(data: unknown, the: Page.Asker, dataset: DOMStringMap) => string | null} */
function words(data, the, { is, title, figure, doubt, nil, nilWords, words: known }) {
  if (is !== undefined) return known ? (JSON.parse(known)[at(data, is)] ?? at(data, is)) : at(data, is);
  if (title !== undefined) return the.day.titles[at(data, title)] ?? at(data, title);
  const found = at(data, figure ?? doubt ?? nil ?? ""),
    value = typeof found === "object" && found ? found.value : found;
  if (figure !== undefined) return value === null ? UNKNOWN : the.show(value);
  if (doubt !== undefined) return found.u ? `± ${the.show(halfWidth(found))}` : "";
  return nil !== undefined && value !== null && found.low <= 0 && found.high >= 0 ? (nilWords ?? "") : null;
}

/** @type {(node: HTMLElement, data: unknown, the: Page.Asker) => HTMLElement} */
function fill(node, data, the) {
  const said = words(data, the, node.dataset);
  if (said !== null) node.textContent = said;
  if (said === UNKNOWN) node.className = "words";
  if (node.dataset.spoken)
    node.setAttribute(
      "aria-label",
      `${node.getAttribute("aria-label")}: ${the.day.titles[at(data, node.dataset.spoken)]}`,
    );
  filled(node, data, the);
  return node;
}

// The children of an element, filled with an answer.
/** @type {(node: ParentNode, data: unknown, the: Page.Asker) => Node[]} */
export function filled(node, data, the) {
  for (const child of [...node.children]) {
    if (!(child instanceof HTMLElement)) continue;
    const { each } = child.dataset;
    if (each === undefined) {
      fill(child, data, the);
      continue;
    }
    const found = at(data, each) ?? [];
    const items = (Array.isArray(found) ? found : [found]).filter((item) => !the.day.standing.includes(item));
    child.replaceWith(
      ...items.map((item) => {
        const copy = copyOf(child);
        delete copy.dataset.each;
        return fill(copy, item, the);
      }),
    );
  }
  return [...node.children];
}

// The script of each fragment that has one of its own. The page waits for them before it listens to anything.
/** @type {() => Promise<Map<HTMLElement, Script>>} */
export async function ownScripts() {
  const parts = every(document, "[data-script]", HTMLElement);
  const found = await Promise.all(parts.map((part) => import(part.dataset.script ?? "")));
  return new Map(parts.map((part, place) => [part, found[place].default]));
}

// One fragment. Its own script may say what is sent (body), how long it may take (wait), what is shown (show), and do
// something when another state is begun (begin), when the station has answered (settled) or a place is tapped (tap).
/** @type {(part: HTMLElement, script: Script | undefined, the: Page.Asker) => Page.AskScript} */
function fragment(part, script, the) {
  const own = script?.(the) ?? {};
  const form = first(part, "form", HTMLFormElement),
    says = first(part, "[data-says]", HTMLElement),
    along = form?.dataset.with;
  form?.addEventListener("submit", async (event) => {
    event.preventDefault();
    const sender = event.submitter,
      button = sender instanceof HTMLButtonElement ? sender : only(form, "button", HTMLButtonElement);
    says?.replaceChildren(the.make("p", own.waits ?? "Asking the station …"));
    button.disabled = true;
    try {
      const given = typed(form, the.day);
      const sent = own.body ? own.body(given) : given;
      const json = { ...(along === "scenario" ? scenario(the) : along ? { [along]: the.now.state } : {}), ...sent };
      /** @type {Page.Answer<unknown>} */
      const { data } = await call("POST", the.day.links[part.dataset.asks ?? ""], { json, wait: own.wait ?? 20000 });
      const shown = own.show
        ? own.show(data, given)
        : filled(copyOf(only(part, "template", HTMLTemplateElement).content), data, the);
      says?.replaceChildren(...shown);
      the.used(form);
    } catch (error) {
      says?.replaceChildren(the.make("p", away(error)));
    }
    button.disabled = false;
  });
  return {
    ...own,
    begin() {
      if (along) says?.replaceChildren();
      own.begin?.();
    },
  };
}

/** @type {(scripts: Map<HTMLElement, Script>, the: Page.Asker) => Required<Pick<Page.AskScript, "begin" | "settled" | "tap">>} */
export function asking(scripts, the) {
  const parts = every(document, "[data-asks]", HTMLElement).map((part) => fragment(part, scripts.get(part), the));
  return {
    begin: () => parts.forEach((part) => part.begin?.()),
    settled: () => parts.forEach((part) => part.settled?.()),
    tap: (vehicle, x, y) => parts.forEach((part) => part.tap?.(vehicle, x, y)),
  };
}
