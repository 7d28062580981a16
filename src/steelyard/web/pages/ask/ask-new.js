// A new thing: typed, or dragged onto the plan from its chip; and what lies in the tray, dragged aboard.

import { called, day, named, now } from "./ask-now.js";
import { $, closest, copyOf, element } from "./dom.js";
import { readLength, readMass, formatNumber as show, written } from "./number.js";

const mass = element("new-mass", HTMLInputElement),
  title = element("new-name", HTMLInputElement),
  on = element("new-on", HTMLSelectElement),
  ACROSS = element("new-y", HTMLInputElement),
  ALONG = element("new-x", HTMLInputElement);

// A tap on the plan says where.
/** @type {(vehicle: string, x: number, y: number) => void} */
export function standAt(vehicle, x, y) {
  on.value = vehicle;
  ALONG.value = written(x);
  ACROSS.value = written(y);
}

/** @typedef {{ plan: import("./ask-plan.js").Plan, take: (name: string) => void, used: (form: HTMLElement) => void, changed: (done: boolean) => void, say: (title: string, words: string) => void }} Hooks */

// What was typed last as a name, as an id of the file if it can be one; else one is made up.
/** @type {(words: string) => string} */
function idFor(words) {
  if (/^[A-Za-z0-9_-]{1,40}$/.test(words) && !named(words)) return words;
  let name = "load";
  for (let number = 2; named(name); number += 1) name = `load${number}`;
  return name;
}

// A place has a `value`, or `words` on why it has none.
/** @type {(hooks: Hooks, vehicle: string, x: Page.Typed, y: Page.Typed) => void} */
function fresh({ changed, used }, vehicle, x, y) {
  const { value, readings, words } = readMass(mass.value, day.unit),
    asked = title.value.trim();
  const fault = readings
    ? words
    : value === null || !(value > 0)
      ? "Type a mass above zero first."
      : asked && called(asked)
        ? "The day has something of that name already."
        : ([x, y].find((one) => one.value === null)?.words ?? "");
  $("new-fault").textContent = fault;
  if (fault || value === null || x.value === null || y.value === null) return;
  const name = idFor(asked),
    own = asked && asked !== name ? { title: asked } : {};
  now.cargo.set(name, { on: vehicle, aboard: true, mass: value, x: x.value, y: y.value, level: null, ...own });
  now.chosen = name;
  title.value = "";
  used($("new"));
  changed(true);
}

// A place where something was dropped, as if it was typed.
/** @type {(value: number) => Page.Typed} */
const dropped = (value) => ({ value, words: "", empty: false });

/** @type {(hooks: Hooks) => void} */
export function newThings(hooks) {
  $("new").addEventListener("submit", (event) => {
    event.preventDefault();
    /** @type {(field: HTMLInputElement) => Page.Typed} */
    const place = (field) => readLength(field.value, day.length, "Type where it stands.");
    fresh(hooks, on.value, place(ALONG), place(ACROSS));
  });
  const part = element("put-on", HTMLDetailsElement);
  part.firstElementChild?.addEventListener("click", () => {
    // once the tap has opened it: the first that is asked
    setTimeout(() => {
      if (part.open) mass.focus();
    });
  });
  mass.addEventListener("input", () => {
    const { value } = readMass(mass.value, day.unit);
    $("new-chip-says").textContent = value !== null && value > 0 ? `${show(value, 1)} ${day.unit}` : "no mass yet";
  });
  document.addEventListener("pointerdown", (event) => {
    const chip = closest(event.target, ".grip");
    if (chip && event.button <= 0) carry(event, chip, hooks);
  });
}

// A chip under the finger until it is let go.
/** @type {(event: PointerEvent, chip: HTMLElement, hooks: Hooks) => void} */
function carry(event, chip, hooks) {
  event.preventDefault();
  const ghost = copyOf(chip);
  ghost.classList.add("ghost");
  ghost.setAttribute("aria-hidden", "true");
  document.body.append(ghost);
  chip.setPointerCapture(event.pointerId);
  /** @type {(one: PointerEvent) => void} */
  const follow = (one) => {
    ghost.style.transform = `translate(${one.clientX}px, ${one.clientY}px) translate(-50%, -50%)`;
  };
  follow(event);
  /** @type {(one: PointerEvent) => void} */
  const end = (one) => {
    chip.removeEventListener("pointermove", follow);
    chip.removeEventListener("pointerup", end);
    chip.removeEventListener("pointercancel", end);
    ghost.remove();
    const place = one.type === "pointerup" ? hooks.plan.under_(one) : null;
    if (!place) return;
    const { item } = chip.dataset,
      at = item === undefined ? undefined : now.cargo.get(item);
    if (item === undefined) fresh(hooks, place.vehicle, dropped(place.x), dropped(place.y));
    if (item === undefined || !at) return;
    if (at.on !== place.vehicle) {
      hooks.say(`It goes on ${day.titles[at.on]}`, "The file says so; make a new thing for another vehicle.");
      return;
    }
    Object.assign(at, { x: place.x, y: place.y });
    hooks.take(item);
  };
  chip.addEventListener("pointermove", follow);
  chip.addEventListener("pointerup", end);
  chip.addEventListener("pointercancel", end);
}
