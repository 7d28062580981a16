// What is typed and not kept yet: on this device with every key, back after a reload, thrown away only when that is meant.

import { $ } from "./dom.js";
import { announce, day, extras, label, note, now, paint, places, samePlacement } from "./at-the-pads.js";
import { ask } from "./question.js";
import { forget, setAside } from "./readings.js";
import { OLD, Slate, ago } from "./slate.js";
import { PhotoList } from "./photo-list.js";
import { all } from "./store.js";
import { photosOf } from "./outbox.js";
import { undo } from "./undo.js";

/** @type {Slate<Page.TypedDraft>} */
const slate = new Slate(`typed ${day.day}`);
export const photos = new PhotoList(day, { announce, changed: paint });

// Every figure that is typed is on this device before anything else happens.
export function remember() {
  if (!day.mayWeigh) return;
  const typed = now.read.size || now.aside.size || label.value || note.value;
  slate.write(
    typed
      ? {
          state: now.state,
          read: [...now.read],
          aside: [...now.aside],
          label: label.value,
          note: note.value,
          same: samePlacement.checked,
          correcting: now.correcting?.order ?? null,
        }
      : null,
  );
}
for (const field of [label, note, samePlacement]) field.addEventListener("input", remember);

// Whether this device has no room for what is typed: it lives in this page alone then.
export const unwritten = () => slate.full;

/** @type {() => Page.Left<Page.TypedDraft> | null} */
export const left = () => (day.mayWeigh ? slate.read() : null);
export function begin() {
  slate.begin();
  remember();
}

// What was typed before and not kept, back on its wheels.
/** @type {(left: Page.Left<Page.TypedDraft>) => void} */
export function takeBack({ read, aside = [], correcting = null, when, ...more }) {
  now.aside = new Map(
    [...read, ...aside].filter(([place, item]) => typeof place === "string" && typeof item?.text === "string"),
  );
  setAside();
  for (const [place, { pad }] of now.read) if (day.instruments[pad]) places.set(pad, place);
  label.value = more.label ?? "";
  note.value = more.note ?? "";
  samePlacement.checked = more.same ?? false;
  if (correcting !== null) goOnCorrecting(correcting).catch(() => {});
  const wheels = now.read.size + now.aside.size;
  if (!wheels) {
    paint();
    return;
  }
  announce(`What was typed and not kept is back: ${wheels} wheel${wheels === 1 ? "" : "s"}.`);
  if (Date.now() - when > OLD) {
    ask(
      "Readings that were not kept",
      [
        `${wheels} wheel${wheels === 1 ? " was" : "s were"} typed ${ago(when)} and not kept. They are back in their places.`,
      ],
      ["Leave them there", "Throw them away"],
    ).then((answer) => {
      if (answer === 1) throwAway();
    });
  }
}

// The refused draft that these figures are made of still waits for them.
/** @type {(order: number) => Promise<void>} */
async function goOnCorrecting(order) {
  const item = (await all()).find((one) => one.order === order && one.refused);
  if (item?.what !== "draft" || !now.read.size) return;
  now.correcting = item;
  photos.carry(await photosOf(item));
  remember();
}

export function cleared() {
  now.read.clear();
  now.correcting = null;
  for (const field of [note, label]) field.value = "";
  samePlacement.checked = false;
  paint();
}

function throwAway() {
  offerUndo("what was typed is thrown away");
  now.aside.clear();
  cleared();
  photos.clear();
}

// Before something that was typed goes: the wheels as they stand now can be had again.
/** @type {(words: string, then?: () => void) => void} */
export function offerUndo(words, then = () => {}) {
  const read = [...now.read].map(([place, item]) => /** @type {const} */ ([place, { ...item }]));
  const before = { aside: [...now.aside], at: [...places.at], correcting: now.correcting, state: now.state };
  const texts = /** @type {const} */ ([label.value, note.value, samePlacement.checked]);
  undo.offer(words, () => {
    now.read = new Map(read);
    now.aside = new Map(before.aside);
    places.at = new Map(before.at);
    now.correcting = before.correcting;
    [label.value, note.value, samePlacement.checked] = texts;
    if (now.state !== before.state) setAside();
    paint();
    then();
  });
}

// What a key on the keypad changes; a number that goes by it can be had again.
/** @type {(place: string, text: string | null, pad: string, then: () => void) => void} */
export function type(place, text, pad, then) {
  const before = now.read.get(place)?.text ?? "";
  const rubbed = text !== null && before.startsWith(text);
  const goes = text === null ? before.length > 1 : !rubbed && !text.startsWith(before);
  if (goes) offerUndo(`${place.split("/")[1]} was ${before}`, then);
  if (text === null) forget(place);
  else now.read.set(place, { text, pad: now.read.get(place)?.pad ?? pad });
  paint();
}

$("throw-away").addEventListener("click", async () => {
  extras.close();
  const wheels = now.read.size + now.aside.size;
  if (
    (await ask(
      "Throw away what is typed?",
      [`${wheels} wheel${wheels === 1 ? " is" : "s are"} typed and not kept. This device forgets them.`],
      ["Leave them there", "Throw them away"],
    )) === 1
  )
    throwAway();
});
