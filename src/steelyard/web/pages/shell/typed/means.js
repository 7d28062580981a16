// What the page understood of a typed length or mass, beside its field while it is typed: "= 170 in". A field says what it
// takes by the unit in its label. Nothing here warns; what is wrong is said when it is used.

import { first, make } from "./dom.js";
import { UNITS, formatNumber, readLength, readMass } from "./number.js";

/** @type {Record<string, typeof readMass>} */
const READ = { length: readLength, mass: readMass };

// The unit stands between the commas of the label or of its softer part: "Mass lb, optional".
/** @type {(input: HTMLInputElement) => { kind: string, unit: string } | null} */
function takes(input) {
  const label = input.labels?.[0],
    soft = label ? first(label, ".soft", HTMLElement)?.textContent : "";
  if (input.type !== "text") return null;
  const words = `${soft ?? ""},${label?.textContent ?? ""},${input.ariaLabel ?? ""}`;
  for (const unit of words.split(",").map((piece) => piece.trim()))
    for (const kind of Object.keys(READ)) if (unit in UNITS[kind]) return { kind, unit };
  return null;
}

// The words for what was understood; empty where nothing was.
/** @type {(text: string, kind: string, unit: string) => string} */
export function meaning(text, kind, unit) {
  const { value, readings } = READ[kind](text, unit);
  if (value !== null) return `= ${formatNumber(value, 3)} ${unit}`;
  if (!readings) return "";
  const each = readings.map((one) => (/[a-z]/.test(one) ? one : `${one} ${unit}`));
  return `${each.slice(0, -1).join(", ")} or ${each.at(-1)}?`;
}

/** @type {(input: HTMLInputElement) => void} */
function show(input) {
  const taken = takes(input);
  if (!taken) return;
  const words = meaning(input.value, taken.kind, taken.unit),
    box = input.closest(".withunit") ?? input.closest(".field");
  let place = box && first(box, ".means", HTMLElement);
  if (!place && !words) return;
  place ??= made(input, box);
  place.textContent = words;
}

// In the hint of the field, which describes it already, else behind it.
/** @type {(input: HTMLInputElement, box: Element | null) => HTMLElement} */
function made(input, box) {
  const place = make("span", "", "means"),
    hint = box && first(box, ":scope > .hint", HTMLElement);
  if (hint) hint.prepend(place, " ");
  else {
    place.id = `means-${(count += 1)}`;
    input.setAttribute("aria-describedby", `${input.getAttribute("aria-describedby") ?? ""} ${place.id}`.trim());
    if (box?.matches(".withunit")) box.append(place);
    else input.after(place);
  }
  return place;
}
let count = 0;

export function showMeanings() {
  // what the page was made with needs no words; what was typed and is back does
  const all = () => {
    for (const input of document.querySelectorAll("input")) if (input.value !== input.defaultValue) show(input);
  };
  document.addEventListener("input", ({ target }) => {
    if (target instanceof HTMLInputElement) show(target);
  });
  document.addEventListener("change", all); // the units themselves may have been chosen anew
  all();
}
