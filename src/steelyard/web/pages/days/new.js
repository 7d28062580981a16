// A new rig, one screen at a time in one page: the browser's back and forward go along, what is typed stays on the device,
// and the answers of the last screen can be undone. Without this script the page is one long form, and the station reads
// every field again either way.

import { makeKey } from "./api.js";
import { $, element, every, first, make } from "./dom.js";
import { Fields } from "./fields.js";
import { Drawing } from "./new-drawing.js";
import { faultsOf } from "./new-proportions.js";
import { readLength, readMass } from "./number.js";

const form = element("new", HTMLFormElement);
const steps = every(form, ".step", HTMLElement);
const [back, undo, next, go] = ["back", "undo", "next", "go"].map((id) => element(id, HTMLButtonElement));
const said = $("undone");
const NEEDED = ["wheelbase", "coupling_x", "trailer_x"];
/** @type {Record<string, typeof readMass>} */
const READ = { length: readLength, mass: readMass };

// Every answer as it stands now: one flat object of strings, a tick that is not set left out. With `key` they make a day.
/** @type {() => Record<string, string>} */
export const answers = () =>
  Object.fromEntries(
    [...new FormData(form)].flatMap(([name, value]) => (typeof value === "string" ? [[name, value]] : [])),
  );

/** @type {(input: HTMLInputElement) => string | undefined} */
const kindOf = (input) => input.labels?.[0] && first(input.labels[0], "[data-unit]", HTMLElement)?.dataset.unit;
const measured = every(form, "input", HTMLInputElement).filter(kindOf);
/** @type {(input: Element) => boolean} */
const asked = (input) => !input.closest("[data-when][hidden]");

// -- what is asked at all --------------------------------------------------------------------------------------------

// Parts that only some answers need: data-when="stands!=alone,hitch".
function fit() {
  const given = answers();
  for (const part of every(form, "[data-when]", HTMLElement)) {
    const [, name, not, words] = /^(\w+)(!?)=(.*)$/.exec(part.dataset.when ?? "") ?? [];
    part.hidden = words.split(",").includes(given[name] ?? "") === (not === "!");
  }
}

// -- what is wrong ---------------------------------------------------------------------------------------------------

/** @type {() => string[]} */
const units = () => (answers().units ?? "lb in").split(" ");

/** @type {(input: HTMLInputElement) => Page.Typed} */
function readOf(input) {
  const kind = kindOf(input) ?? "";
  return READ[kind](input.value, units()[kind === "mass" ? 0 : 1], `Type a number, or a ${kind} with its unit.`);
}

// The numbers that were understood, by field, in the units of the rig.
/** @type {() => Record<string, number>} */
function numbers() {
  /** @type {Record<string, number>} */
  const found = {};
  for (const input of measured.filter(asked)) {
    const { value } = readOf(input);
    if (value !== null) found[input.name] = value;
  }
  return found;
}

/** @type {() => Map<HTMLInputElement, string>} */
function faults() {
  const [mass, length] = units(),
    given = answers(),
    kind = given.stands === "hitch" ? given.coupling : given.stands,
    impossible = faultsOf(numbers(), kind, { mass, length });
  const found = new Map();
  for (const input of measured.filter(asked)) {
    const { value, words, empty } = readOf(input);
    if (empty && NEEDED.includes(input.name)) found.set(input, "This is needed.");
    else if (value === null && !empty) found.set(input, words);
    else if (impossible[input.name]) found.set(input, impossible[input.name]);
  }
  return found;
}

/** @type {(input: HTMLInputElement, words: string) => void} */
function say(input, words) {
  let place = document.getElementById(`w-${input.name}`);
  if (!place && !words) return;
  if (!place) {
    const hint = $(`h-${input.name}`);
    if (hint.className === "fault") hint.replaceChildren(); // what the station said of it before
    place = make("strong", "", { id: `w-${input.name}`, className: "fault" });
    hint.prepend(place, " ");
  }
  place.textContent = words;
  if (words) input.setAttribute("aria-invalid", "true");
  else input.removeAttribute("aria-invalid");
}

// Whether these screens can be left; else the first field that is wrong has the focus, and its words stand with it.
/** @type {(screens: HTMLElement[]) => boolean} */
function sound(screens) {
  const wrong = faults();
  const here = measured.filter((input) => screens.some((screen) => screen.contains(input)));
  for (const input of here) say(input, wrong.get(input) ?? "");
  const worst = here.find((input) => wrong.has(input));
  if (!worst) return true;
  show(
    steps.findIndex((screen) => screen.contains(worst)),
    true,
  );
  for (let box = worst.closest("details"); box; box = box.parentElement?.closest("details") ?? null) box.open = true;
  worst.focus();
  return false;
}

// -- one screen at a time --------------------------------------------------------------------------------------------

let now = 0;
/** @type {Record<string, string>[]} */
const before = []; // the answers with which each screen was opened
/** @type {{ at: number, answers: Record<string, string> } | null} */
let undone = null;

/** @type {(at: number, push: boolean) => void} */
function show(at, push) {
  if (at === now && !push) before[at] ??= answers();
  if (at > now) for (let i = now + 1; i <= at; i++) before[i] = answers();
  const was = now,
    moved = at !== was;
  now = at;
  steps.forEach((step, i) => {
    step.hidden = i !== at;
  });
  back.hidden = at === 0;
  next.hidden = at === steps.length - 1;
  // the rest has answers of its own: from the distances on the rig can stand
  go.hidden = at < steps.findIndex((step) => step.id === "ratings");
  go.classList.toggle("main", next.hidden);
  const name = first(steps[at], "h2", HTMLElement)?.textContent ?? "";
  $("progress").textContent = `Step ${at + 1} of ${steps.length}: ${name.toLowerCase()}`;
  if (moved && push) history.pushState({ from: was }, "", `#${steps[at].id}`);
  if (moved) {
    scrollTo(0, 0);
    const field = steps[at].id === "distances" || steps[at].id === "ratings" ? measured.find(isSeen) : null;
    (field ?? first(steps[at], "h2", HTMLElement))?.focus();
  }
  offer();
}

/** @type {(input: HTMLElement) => boolean} */
const isSeen = (input) => input.getClientRects().length > 0;
/** @type {() => number} */
const fromAddress = () =>
  Math.max(
    0,
    steps.findIndex((step) => `#${step.id}` === location.hash),
  );

/** @type {(one: Record<string, string>, other: Record<string, string>) => boolean} */
const alike = (one, other) => Object.keys({ ...one, ...other }).every((name) => one[name] === other[name]);

// What undo would take back: the answers here, or else those of the screen before.
function offer() {
  const given = answers(),
    here = !alike(given, before[now] ?? given),
    last = now > 0 && !alike(before[now], before[now - 1]);
  undo.hidden = !here && !last && !undone;
  undo.textContent = undone ? "Put back" : "Undo";
  undo.dataset.of = String(here || !last ? now : now - 1);
  undo.toggleAttribute("data-undo", !undo.hidden); // Ctrl+Z finds it
}

/** @type {(given: Record<string, string>) => void} */
function put(given) {
  for (const field of every(form, "[name]", Element)) {
    if (field instanceof HTMLInputElement && (field.type === "checkbox" || field.type === "radio"))
      field.checked = given[field.name] === field.value;
    else if (field instanceof HTMLInputElement || field instanceof HTMLSelectElement)
      field.value = given[field.name] ?? "";
    else continue;
    if (!(field instanceof HTMLInputElement) || field.type !== "radio" || field.checked) fields.heard(field);
  }
  fit();
  look();
}

undo.addEventListener("click", () => {
  if (undone) {
    const { at, answers: given } = undone;
    undone = null;
    put(given);
    said.textContent = "The answers are back.";
    if (at !== now) show(at, true);
    else offer();
    return;
  }
  const at = Number(undo.dataset.of),
    was = { at: now, answers: answers() };
  put(before[at]);
  undone = was;
  said.textContent = `Undone: ${first(steps[at], "h2", HTMLElement)?.textContent ?? ""}.`;
  if (at !== now) show(at, true);
  else offer();
});

const onward = () => {
  if (now < steps.length - 1 && sound([steps[now]])) show(now + 1, true);
};
next.addEventListener("click", onward);
back.addEventListener("click", () => {
  if (history.state?.from === now - 1) history.back();
  else show(now - 1, true);
});
window.addEventListener("popstate", () => show(fromAddress(), false));

// A picture or a ground that is tapped leads on; whoever goes through them by keys chooses with Next.
for (const id of ["stands", "ground"])
  $(id).addEventListener("click", (event) => {
    const { target } = event;
    if (!(target instanceof HTMLInputElement) || target.type !== "radio" || event.detail === 0) return;
    if (target.value !== "other") onward();
  });

// The enter key goes on to the next screen, not to the pads past what was not asked yet.
form.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || event.isComposing || !(event.target instanceof HTMLInputElement)) return;
  if (now === steps.length - 1) return;
  event.preventDefault();
  onward();
});
for (const input of every(form, "input", HTMLInputElement)) input.enterKeyHint = "next";

form.addEventListener("submit", (event) => {
  if (sound(steps)) sent();
  else event.preventDefault();
});

// -- once ------------------------------------------------------------------------------------------------------------

// The same answers sent again are the same day; a key that was not sent yet is made anew.
const SENT = "sent new rig";
function sent() {
  const given = JSON.stringify(answers(), (name, value) => (name === "key" ? undefined : value));
  let key = makeKey();
  try {
    const left = JSON.parse(localStorage.getItem(SENT) ?? "{}");
    if (left.given === given && typeof left.key === "string") key = left.key;
    else localStorage.setItem(SENT, JSON.stringify({ given, key }));
  } catch {
    /* a browser that keeps nothing: a double tap alone is one day */
  }
  keyed(form, key);
}

/** @type {(one: HTMLFormElement, key: string) => void} */
function keyed(one, key) {
  first(one, "[name=key]", HTMLInputElement)?.remove();
  one.append(Object.assign(make("input"), { type: "hidden", name: "key", value: key }));
}
const yard = element("yard", HTMLFormElement);
window.addEventListener("pageshow", () => keyed(yard, makeKey()));

// -- the page --------------------------------------------------------------------------------------------------------

const drawing = new Drawing($("drawing"));
function look() {
  const given = answers(),
    [, length] = units();
  const active = document.activeElement;
  drawing.show(given, numbers(), length, active instanceof HTMLInputElement ? active.name : "");
}

form.addEventListener("input", ({ target }) => {
  undone = null;
  fit();
  look();
  offer();
  if (target instanceof HTMLInputElement && target.getAttribute("aria-invalid") && !faults().has(target))
    say(target, "");
});
form.addEventListener("change", () => {
  fit();
  look();
  offer();
});
form.addEventListener("focusin", look);

// A telephone shows digits alone for a number; for feet and inches it needs its letters.
const letters = $("letters");
letters.hidden = false;
letters.addEventListener("change", ({ target }) => {
  for (const input of measured)
    input.inputMode = target instanceof HTMLInputElement && target.checked ? "text" : "decimal";
});

// The page of the pads, where the rig leads to, forgets them.
const fields = new Fields("typed new rig", [form], form);
if (!fields.typed.size) {
  try {
    localStorage.removeItem(SENT);
  } catch {
    /* as above */
  }
}
fit();
const refused = every(form, ".fault", HTMLElement)[0];
now = refused ? steps.findIndex((step) => step.contains(refused)) : fromAddress();
for (let i = 0; i <= now; i++) before[i] = answers();
if (refused) history.replaceState(null, "", `#${steps[now].id}`);
show(now, false);
look();
document.body.classList.add("stepping");
document.body.dataset.ready = "yes";
