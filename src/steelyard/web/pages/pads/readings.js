// What stands at each wheel: typed by hand, else live from the pad that stands there; and whether a display can show it.

import { day, format, names, now, places, shown } from "./at-the-pads.js";
import { impossible } from "./limits.js";
import { readNumber } from "./number.js";

const EMPTY = 5; // divisions
const AGE = 6000; // ms after which a live load that was heard is an old one; an unchanged one is told every four seconds
const FORGOTTEN = 600e3; // ms after which it says nothing of what stands there

/** @type {(place: string) => Page.Reading | null} */
export function reading(place) {
  const typed = now.read.get(place);
  if (typed) return { ...meant(typed.text, typed.pad), pad: typed.pad, hand: true };
  const pad = places.padAt(place);
  const live = pad === undefined ? undefined : now.live.get(pad);
  if (pad === undefined || !live) return null;
  // A pad that shows next to nothing has no wheel on it: whoever means it types it.
  const empty = !live.trouble && Math.abs(live.value ?? 0) < EMPTY * (day.instruments[pad]?.division ?? 0);
  const value = live.trouble || empty ? null : live.value;
  const wrong = value === null || !live.steady ? null : fault(pad, value, false);
  return {
    value,
    pad,
    empty,
    wrong,
    old: oldness(live),
    moving: !live.steady,
    trouble: live.trouble ? (live.short ?? "trouble") : null,
    why: live.trouble ?? live.why,
  };
}

// How many seconds ago a pad was heard last, once that is too long for its load to be what it says now; 0 before that.
/** @type {(live: Page.LiveLoad) => number} */
function oldness({ at }) {
  const age = Date.now() - at;
  return age > AGE || now.silent || now.gone ? Math.max(1, Math.round(age / 1000)) : 0;
}

// What was said long ago is shown no more.
export function dropForgotten() {
  for (const [name, live] of now.live) if (Date.now() - live.at > FORGOTTEN) now.live.delete(name);
}

// What was typed for a pad. Of two numbers that it could be, the one that the display can show; if both, it is asked.
/** @type {(text: string, pad: string) => { value: number, wrong: string | null, unclear?: string }} */
export function meant(text, pad) {
  const { value, words, readings: either } = readNumber(text.replace(/[.,]$/, ""));
  if (value !== null) return { value, wrong: fault(pad, value, true) };
  const both = (either ?? []).flatMap((one) => readNumber(one).value ?? []),
    can = both.filter((one) => !fault(pad, one, true));
  if (can.length === 1) return { value: can[0], wrong: null };
  if (both.length && !can.length) return { value: both[0], wrong: fault(pad, both[0], true) };
  return { value: both[0] ?? 0, wrong: words, unclear: text };
}

/** @type {(pad: string, value: number, hand: boolean) => string | null} */
const fault = (pad, value, hand) => impossible(pad, day.instruments[pad], value, { unit: day.unit, format, hand });

/** @type {() => Page.ReadWheel[]} */
export const readings = () =>
  shown()
    .places()
    .flatMap((place) => {
      const found = reading(place);
      return found?.pad ? [{ place, ...found }] : [];
    });
/** @type {(item: Page.Reading & { place: string }) => item is Page.Held} */
const isRead = (item) => item.value !== null;
/** @type {() => Page.Held[]} */
export const ready = () => readings().filter(isRead);

// Another state may lack some of the wheels: what was typed there waits until they are shown again.
export function setAside() {
  const { wheels } = shown();
  for (const [place, item] of [...now.read])
    if (!wheels.has(place)) {
      forget(place);
      now.aside.set(place, item);
    }
  const used = new Set([...now.read.values()].map((item) => item.pad));
  for (const [place, item] of [...now.aside]) {
    if (!wheels.has(place)) continue;
    now.aside.delete(place);
    if (now.read.has(place) || used.has(item.pad)) continue; // something newer stands there
    now.read.set(place, item);
    used.add(item.pad);
  }
}

/** @type {(place: string) => void} */
export function forget(place) {
  now.read.delete(place);
  // With nothing left of it on the wheels, what comes next is another draft.
  if (now.read.size === 0) now.correcting = null;
}

/** @type {(place: string) => string} */
export function choosePad(place) {
  const taken = new Set([...now.read].filter(([other]) => other !== place).map(([, item]) => item.pad));
  const usual = places.padAt(place) ?? places.usual(place);
  if (usual && !taken.has(usual)) return usual;
  const free = names.filter((name) => !taken.has(name));
  const kind = shown().aboard(place) ? "platform" : "pad";
  return free.find((name) => day.instruments[name].kind === kind) ?? free[0] ?? usual ?? names[0];
}

export const everyPadRead = () =>
  Boolean(names.length) && new Set([...now.read.values()].map((item) => item.pad)).size >= names.length;

// The wheel after this one that has no reading: of the planned ones where a plan is walked, else along the rig.
/** @type {(place: string, planned: string[]) => string | null} */
export function nextWheel(place, planned) {
  const order = planned.length ? planned : shown().grounded();
  if (everyPadRead()) return null;
  const at = order.indexOf(place);
  return [...order.slice(at + 1), ...order.slice(0, Math.max(at, 0))].find((other) => !now.read.has(other)) ?? null;
}
