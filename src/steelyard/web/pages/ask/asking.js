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

import { Away, call } from "./api.js";
import { readLength, readMass, readNumber } from "./number.js";

const UNKNOWN = "not determined";

export const LEAST =
  "Contested: the readings of this day contradict one another. Each figure is the least of the answers, whichever of them is right.";

// The value of a field, or an error in words; undefined where nothing was typed and nothing is needed.
export function valued(field, read, words, needed = false) {
  const found = read(words);
  if (found.empty && !needed) return undefined;
  if (found.value === null) {
    field.focus();
    throw new Error(found.words);
  }
  return found.value;
}

export const away = (error) =>
  error instanceof Away ? "The station does not answer; try again when it does." : error.message;

// What goes along with a question: the state as it is, or with all that was changed by hand.
export const scenario = (the) => (the.touched() ? { scenario: the.wanted() } : { state: the.now.state });

// The fields of a form by name; an empty one is left out.
function typed(form, day) {
  const readers = {
    mass: (text, words) => readMass(text, day.unit, words),
    length: (text, words) => readLength(text, day.length, words),
    number: (text, words) => readNumber(text.replace("%", ""), words),
  };
  const found = {};
  for (const field of form.querySelectorAll("[name]")) {
    const { kind, unit, fault } = field.dataset;
    if (field.type === "checkbox") found[field.name] = field.checked;
    else if (kind) {
      const value = valued(field, (words) => readers[kind](field.value, words), fault, field.required);
      if (value !== undefined) found[field.name] = unit ? `${value} ${unit}` : value;
    } else if (field.value) found[field.name] = field.value;
  }
  return found;
}

const at = (data, path) => (path ? path.split(".").reduce((found, key) => found?.[key], data) : data);

function words(data, the, { is, title, figure, doubt, nil, nilWords, words: known }) {
  if (is !== undefined) return known ? (JSON.parse(known)[at(data, is)] ?? at(data, is)) : at(data, is);
  if (title !== undefined) return the.day.titles[at(data, title)] ?? at(data, title);
  const found = at(data, figure ?? doubt ?? nil ?? ""),
    value = typeof found === "object" && found ? found.value : found;
  if (figure !== undefined) return value === null ? UNKNOWN : the.show(value);
  if (doubt !== undefined) return found.u ? `± ${the.show((found.high - found.low) / 2)}` : "";
  return nil !== undefined && value !== null && found.low <= 0 && found.high >= 0 ? nilWords : null;
}

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
export function filled(node, data, the) {
  for (const child of [...node.children]) {
    const { each } = child.dataset;
    if (each === undefined) {
      fill(child, data, the);
      continue;
    }
    const found = at(data, each) ?? [];
    const items = (Array.isArray(found) ? found : [found]).filter((item) => !the.day.standing.includes(item));
    child.replaceWith(
      ...items.map((item) => {
        const copy = child.cloneNode(true);
        delete copy.dataset.each;
        return fill(copy, item, the);
      }),
    );
  }
  return [...node.children];
}

// The script of each fragment that has one of its own. The page waits for them before it listens to anything.
export async function ownScripts() {
  const parts = [...document.querySelectorAll("[data-script]")];
  const found = await Promise.all(parts.map((part) => import(part.dataset.script)));
  return new Map(parts.map((part, place) => [part, found[place].default]));
}

// One fragment. Its own script may say what is sent (body), how long it may take (wait), what is shown (show), and do
// something when another state is begun (begin), when the station has answered (settled) or a place is tapped (tap).
function fragment(part, script, the) {
  const own = script?.(the) ?? {};
  const form = part.querySelector("form"),
    says = part.querySelector("[data-says]"),
    along = form?.dataset.with;
  form?.addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = event.submitter ?? form.querySelector("button");
    says.replaceChildren(the.make("p", own.waits ?? "Asking the station …"));
    button.disabled = true;
    try {
      const given = typed(form, the.day);
      const sent = own.body ? own.body(given) : given;
      const json = { ...(along === "scenario" ? scenario(the) : along ? { [along]: the.now.state } : {}), ...sent };
      const { data } = await call("POST", the.day.links[part.dataset.asks], { json, wait: own.wait ?? 20000 });
      const shown = own.show
        ? own.show(data, given)
        : filled(part.querySelector("template").content.cloneNode(true), data, the);
      says.replaceChildren(...shown);
      the.used(form);
    } catch (error) {
      says.replaceChildren(the.make("p", away(error)));
    }
    button.disabled = false;
  });
  return {
    ...own,
    begin() {
      if (along) says.replaceChildren();
      own.begin?.();
    },
  };
}

export function asking(scripts, the) {
  const parts = [...document.querySelectorAll("[data-asks]")].map((part) => fragment(part, scripts.get(part), the));
  const all =
    (what) =>
    (...given) =>
      parts.forEach((part) => part[what]?.(...given));
  return { begin: all("begin"), settled: all("settled"), tap: all("tap") };
}
