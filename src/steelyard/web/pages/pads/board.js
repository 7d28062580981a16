// The board over the drawing: how the loads stand, what hinders a draft, and the sum of what is read.

import { $, maybe } from "./dom.js";
import { called, day, format, names, now, shown } from "./at-the-pads.js";
import { readings, ready } from "./readings.js";
import { counted as photosCounted } from "./photo-list.js";
import { photos } from "./typed.js";
import { stateWords } from "./place-words.js";

// "3 of 8 wheels", "the platform", or both.
/** @type {(held: Page.Held[]) => string} */
function counted(held) {
  const aboard = held.filter((item) => shown().aboard(item.place)).length,
    ground = held.length - aboard;
  const platform = aboard > 1 ? `${aboard} platforms` : "the platform";
  return [ground || !aboard ? `${ground} of ${shown().grounded().length} wheels` : "", aboard ? platform : ""]
    .filter(Boolean)
    .join(" and ");
}

/** @type {(held: Page.Held[]) => string[]} */
function pictured(held) {
  const count = photos.going(held.map((item) => item.place)).length;
  return count ? [photosCounted(count)] : [];
}

// Who types what a display shows is not held up by a pad whose cable is off. What no display can show, the station
// would refuse: it is said here, while the rig stands there.
/** @type {(held: Page.Held[]) => string | null} */
export function blocker(held) {
  if (!names.length) return "this day names no pad";
  const all = readings();
  const bad = all.find((item) => item.trouble);
  if (bad && !all.some((item) => item.hand)) return `${bad.pad} shows no reading`;
  if (!held.length) return all.some((item) => item.empty) ? "the pads are empty" : "no wheel read yet";
  const wrong = held.find((item) => item.wrong);
  if (wrong)
    return `${wrong.place.split("/")[1]} ${wrong.unclear ? `could be two numbers, ${wrong.unclear}` : `cannot be ${format(wrong.value)}`}`;
  return null;
}

/** @type {(held: Page.Held[]) => string | undefined} */
export function doubted(held) {
  const item = held.find((one) => one.wrong);
  return (
    item &&
    `${item.wrong}${item.hand && !item.unclear ? ` If ${item.pad} does show that, the day has its division or capacity wrong.` : ""}`
  );
}

// What is wrong on a wheel that is not being typed on just now: half a number is no mistake yet.
/** @type {(held: Page.Held[]) => Page.Held | undefined} */
export const wrongOf = (held) => held.find((item) => item.wrong && (item.place !== now.typing || now.insisted));

/** @type {(held: Page.Held[]) => string} */
const keepWords = (held) => [counted(held), stateWords(now.state), ...pictured(held)].join(", ");

// The word, why, and how it looks.
/** @type {(held: Page.Held[]) => { kind: string, says: string, why: string }} */
function standing(held) {
  const all = readings();
  const live = all.filter((item) => !item.hand && !item.empty);
  const empty = all.length > 0 && all.every((item) => item.empty);
  const trouble = live.find((item) => item.trouble);
  const moving = live.filter((item) => item.moving && !item.trouble);
  const old = live.filter((item) => item.old && item.value !== null);
  const hand = { kind: "", says: "By hand" };
  if (now.gone) return gone(old);
  if (now.storeAway !== null && !all.length)
    return {
      kind: "",
      says: day.mayWeigh ? "By hand" : "Looking on",
      why: `The database of the station is away. ${day.mayWeigh ? "Go on: drafts wait on this device and go by themselves." : "The page goes on by itself."}`,
    };
  if (now.silent) return { kind: "broken", says: "Not live", why: silence(old) };
  if (empty)
    return {
      kind: "",
      says: "Empty",
      why: now.follows ? "The simulated rig drives on in a moment." : "Drive onto the pads, or tap a wheel and type.",
    };
  if (trouble && !held.some((item) => item.hand)) return { kind: "broken", says: "No reading", why: trouble.why ?? "" };
  if (old.length) return { kind: "broken", says: "Old", why: silence(old) };
  if (moving.length) return { kind: "unsteady", says: "Unsteady", why: moving[0].why ?? "wait until it stands still" };
  if (live.length) return { kind: "steady", says: "Steady", why: day.mayWeigh ? "Keep it now." : "It stands still." };
  if (held.length)
    return { ...hand, why: held.length < names.length ? "Next wheel, or keep." : "Every pad is read. Keep it." };
  if (!day.mayWeigh) return { kind: "", says: "Looking on", why: "This device may look, not weigh." };
  return { ...hand, why: unplaced() ?? "Tap a wheel and type what its pad shows." };
}

/** @type {(old: Page.ReadWheel[]) => { kind: string, says: string, why: string }} */
function gone(old) {
  const says = day.mayWeigh ? "By hand" : "Looking on";
  if (day.live)
    return {
      kind: "broken",
      says: "Not live",
      why: `The station does not answer. Type what the pads show; drafts wait on this device.${old.length ? ` ${silence(old)}` : ""}`,
    };
  return {
    kind: "",
    says,
    why: day.mayWeigh
      ? "The station does not answer. Go on: drafts wait on this device."
      : "The station does not answer.",
  };
}

/** @type {(old: Page.ReadWheel[]) => string} */
function silence(old) {
  if (!old.length) return "Nothing heard from the pads for some seconds.";
  const item = old.reduce((one, other) => ((other.old ?? 0) > (one.old ?? 0) ? other : one));
  return `${item.pad} said this ${item.old} s ago. Wait for it, or type what it shows.`;
}

// Instruments are connected, and none of their channels is a pad of this day.
function unplaced() {
  const [name] = day.unplaced;
  return name && !day.live
    ? `${name} is connected. Say under Indicators which pad it is, or type what the pads show.`
    : null;
}

export function board() {
  const held = ready();
  const wrong = wrongOf(held);
  let { kind, says, why } = standing(held);
  const stuck = readings().find((item) => !item.hand && item.trouble);
  if (wrong?.wrong && kind !== "unsteady") [kind, says, why] = ["broken", "Check it", wrong.wrong];
  now.stuck = stuck?.trouble === "stuck" && kind === "broken" ? stuck.pad : null;
  maybe("believe", HTMLElement)?.toggleAttribute("hidden", !now.stuck);
  $("board").className = `sign-board side ${kind}`;
  set("says", says);
  set("why", now.notice ?? why);
  const sum = held.reduce((total, item) => total + Number(item.value), 0);
  $("sum").textContent = held.length ? format(sum) : "–";
  const used = [...new Set(held.map((item) => item.pad))];
  const division = Math.max(0, ...(used.length ? used : names).map((name) => day.instruments[name]?.division ?? 0));
  $("sum-of").textContent = division ? `${day.unit}, d ${format(division)}` : day.unit;
  shown().say(wrong?.place, wrong?.wrong);
  const button = maybe("keep", HTMLElement);
  if (!button) return;
  const stop = blocker(held);
  button.setAttribute("aria-disabled", String(Boolean(stop)));
  $("keep-says").textContent = stop ?? keepWords(held);
}

/** @type {(id: string, words: string) => void} */
function set(id, words) {
  if ($(id).textContent !== words) $(id).textContent = words;
}

// The wheels of a question, by name.
/** @type {(items: Page.ReadWheel[]) => string} */
export const wheelsOf = (items) => items.map((item) => called(item.place)).join(", ");
