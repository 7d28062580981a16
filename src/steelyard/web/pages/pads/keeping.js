// Keeping a draft: on this device first, then to the station; and what was kept back on the wheels to be put right.

import { $ } from "./dom.js";
import { announce, day, label, note, now, paint, places, rigs, samePlacement, shown } from "./at-the-pads.js";
import { blocker, doubted, wheelsOf } from "./board.js";
import { call, makeKey, stationTime, wordsOf } from "./api.js";
import { ask } from "./question.js";
import { discard, replace } from "./outbox.js";
import { dropForgotten, readings, ready } from "./readings.js";
import { cleared, photos } from "./typed.js";
import { stateWords } from "./place-words.js";
import { written } from "./number.js";

/** What the page lends: how a planned draft stands, what to do once the station has one, another state. */
/** @type {{ supports(body: Page.DraftBody): Partial<Page.DraftBody>, sent(news: Page.Sent): void, setState(id: string): void, shrink(): void, kept(item: Page.QueuedDraft): void }} */
let hooks;
/** @type {(given: typeof hooks) => void} */
export const useHooks = (given) => {
  hooks = given;
};

// A second tap in a row means the same draft: with live loads it would keep it twice.
export async function keep() {
  if (now.keeping) return;
  now.keeping = true;
  let kept = false;
  try {
    kept = await keepDraft();
  } finally {
    setTimeout(
      () => {
        now.keeping = false;
      },
      kept ? 700 : 0,
    );
  }
}

// What a person decides about loads that are not steady, or not of now; null: not to keep them.
/** @type {() => Promise<string[] | null>} */
async function marks() {
  const old = readings().filter((item) => item.old && item.value !== null);
  if (old.length) {
    const longest = Math.max(...old.map((item) => item.old ?? 0));
    const lines = [
      `${wheelsOf(old)}: the pad said this ${longest} s ago and nothing since. Read it again, or type what it shows.`,
      "If it is kept all the same, the note of the draft says that it is an old reading.",
    ];
    if ((await ask("An old reading", lines, ["Wait", "Keep it, marked as old"])) !== 1) return null;
    return old.map((item) => `old reading: ${item.place} on ${item.pad}, ${item.old} s`);
  }
  const moving = readings().find((item) => item.moving && item.value !== null);
  if (!moving) return [];
  const lines = [`${moving.pad} has not settled. Wait for the steady sign, or keep it as it is.`];
  return (await ask("Still unsteady", lines, ["Wait", "Keep it anyway"])) === 1 ? [] : null;
}

// Resolves to whether something was kept.
/** @type {() => Promise<boolean>} */
async function keepDraft() {
  if (!now.rig) return false;
  dropForgotten();
  let held = ready();
  const stop = blocker(held);
  if (stop) {
    announce(`Not kept: ${doubted(held) ?? `${stop}.`}`);
    return false;
  }
  const before = held;
  const marked = await marks();
  if (!marked) return false;
  // the question may have stood for long: what is kept is what the pads say now
  dropForgotten();
  held = ready();
  const older = readings().filter((item) => item.old && item.value !== null).length;
  if (held.length < before.length || blocker(held) || older > marked.length) {
    paint();
    announce("Not kept: a pad shows no reading any more. Look again.");
    return false;
  }
  return keepItem(draftOf(makeKey(), held, older ? marked : []), held);
}

/** @type {(body: Page.DraftBody, held: Page.Held[]) => Promise<boolean>} */
async function keepItem(body, held) {
  const { key } = body;
  /** @type {Page.QueuedDraft} */
  const item = {
    day: day.day,
    what: "draft",
    key,
    method: "POST",
    url: day.links.drafts,
    json: body,
    after: day.states[now.state].made,
  };
  const going = photos.going(held.map((one) => one.place));
  const pictures = photos.items(key, going);
  try {
    await replace(now.correcting, [item, ...pictures]);
  } catch {
    // No room on the device: straight to the station, and nothing is said to be kept unless it says so.
    try {
      hooks.sent({ item, answer: await call("POST", day.links.drafts, { json: body }) });
    } catch (error) {
      announce(
        `Not kept: this device has no room, and ${wordsOf(error)}. The readings stay on the wheels: leave this page open, free some space on this device, and keep again.`,
      );
      return false;
    }
    for (const one of pictures) await sendNow(one);
  }
  now.last = body.placement;
  places.remember(body.readings);
  cleared();
  photos.went(going);
  hooks.kept(item);
  return true;
}

// Without room for it here, a photo goes at once or not at all.
/** @type {(item: Page.QueuedPhoto) => Promise<void>} */
async function sendNow({ url, blob, place }) {
  try {
    await call("POST", url, { body: blob, type: blob.type, wait: 30000 });
  } catch (error) {
    announce(`The draft is kept, its photo of ${place ?? "the whole draft"} is not: ${wordsOf(error)}.`);
  }
}

/** @type {(key: string, held: Page.Held[], marked: string[]) => Page.DraftBody} */
function draftOf(key, held, marked) {
  const before = now.correcting?.json;
  /** @type {Page.DraftBody} */
  const body = {
    key,
    state: now.state,
    at: before?.at ?? stationTime(Date.now()),
    readings: Object.fromEntries(held.map((item) => [item.place, [item.pad, Number(item.value)]])),
  };
  if (label.value.trim()) body.label = label.value.trim();
  const notes = [note.value.trim(), ...marked].filter(Boolean).join("; ");
  if (notes) body.note = notes;
  // Drafts of one placement share how the ground and the pads lie; every draft begins one that the next may join.
  const joined = before && ownPlacement(before) !== before.placement ? before.placement : now.last;
  body.placement = (samePlacement.checked && joined) || ownPlacement(body);
  Object.assign(body, hooks.supports(body));
  return body;
}

/** @type {(draft: { key: string }) => string} */
const ownPlacement = ({ key }) => `at-${key.slice(0, 8)}`;

// The state in which a draft of these wheels can stand: its own, the one that is shown, or another.
/** @type {(wheels: string[], wanted: string) => string | undefined} */
function stateFor(wheels, wanted) {
  /** @type {(id: string) => boolean} */
  const fits = (id) => {
    const rig = rigs.get(day.states[id]?.rig)?.rig;
    return rig !== undefined && wheels.every((place) => rig.wheels.has(place));
  };
  return [wanted, now.state, ...Object.keys(day.states)].find(fits);
}

// A draft on the wheels again, in place of what stands there; false where there is no room for it.
/** @type {(draft: { state: string, readings: Page.Readings, label?: string, note?: string }, what: string) => Promise<string | null>} */
export async function ontoWheels(draft, what) {
  const wheels = Object.keys(draft.readings);
  const state = stateFor(wheels, draft.state);
  if (!state) {
    announce("No state of this day has these wheels. Make one first.");
    return null;
  }
  if (
    now.read.size &&
    (await ask(
      "Readings stand on the wheels",
      [`They were typed and not kept. ${what} would take their place.`],
      ["Leave them", "Put it in their place"],
    )) !== 1
  )
    return null;
  cleared();
  if (state !== now.state) hooks.setState(state);
  for (const [place, [pad, value]] of Object.entries(draft.readings)) {
    now.read.set(place, { text: written(value, 6), pad });
    if (day.instruments[pad]) places.set(pad, place);
  }
  label.value = draft.label ?? "";
  note.value = draft.note ?? "";
  return state;
}

// What was refused, back on the wheels. It leaves the queue only once something is kept in its place.
/** @type {(item: Page.Waiting<Page.QueuedDraft>, pictures: Page.TakenPhoto[]) => Promise<void>} */
export async function putBack(item, pictures) {
  if (now.correcting?.order === item.order) {
    // from before a reload, with what was changed since
    announce("It is on the wheels already. Put it right, then keep it.");
    shown().focus(readings().find((one) => one.wrong)?.place ?? shown().places()[0]);
    return;
  }
  const state = await ontoWheels(item.json, "The refused draft");
  if (!state) return;
  samePlacement.checked = Boolean(item.json.placement) && item.json.placement !== ownPlacement(item.json);
  photos.carry(pictures);
  now.correcting = item;
  hooks.shrink();
  announce(
    state === item.json.state
      ? "Back on the wheels. Put it right, then keep it."
      : `Back on the wheels, in ${stateWords(state)}. Choose its state, put it right, keep it.`,
  );
  shown().focus(readings().find((one) => one.wrong)?.place ?? Object.keys(item.json.readings)[0]);
  $("plan").scrollIntoView({ block: "nearest" });
}

// A draft that did not leave this device yet: off the queue, onto the wheels.
/** @type {(item: Page.Waiting<Page.QueuedDraft>, pictures: Page.TakenPhoto[]) => Promise<boolean>} */
export async function unsend(item, pictures) {
  if (!(await ontoWheels(item.json, "The draft"))) return false;
  paint(); // on the wheels, and on this device, before it leaves the queue
  await discard(item);
  photos.restore(pictures);
  announce("Back on the wheels. It is not kept.");
  return true;
}
