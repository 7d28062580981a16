// What the page of the pads knows by now: its day, what is typed and what is live, the drawing that is shown. Whoever
// changes any of it calls `paint`.

import { $, element, pageData } from "./dom.js";
import { PadPlaces } from "./placement.js";
import { called as calledBy, nameStates } from "./place-words.js";
import { formatNumber } from "./number.js";

/** @type {Page.Pads} */
export const day = pageData();
nameStates(day.called);
/** @type {(value: number | string) => string} */
export const format = (value) => formatNumber(Number(value), 3);
export const names = Object.keys(day.instruments);

const NOTICE = 6000; // ms that a notice stands where the loads say how they are

// read: typed on the wheels that are shown; aside: typed on wheels that this state does not have
/** @type {Page.PadsNow} */
export const now = {
  state: "",
  rig: null,
  read: new Map(),
  aside: new Map(),
  live: new Map(),
  typing: null,
  insisted: false,
  gone: false,
  storeAway: null,
  silent: false,
  follows: false,
  keeping: false,
  away: null,
  last: undefined,
  correcting: null,
  notice: null,
  stuck: null,
  unsay: 0,
};

export const label = element("label", HTMLInputElement),
  note = element("note", HTMLTextAreaElement),
  samePlacement = element("same-placement", HTMLInputElement),
  extras = element("extras", HTMLDialogElement);

/** @type {Map<string, { box: HTMLElement, rig: import("./rig.js").Rig }>} */
export const rigs = new Map();

// The drawing that is shown: whoever asks for it has a state, and each state has one.
/** @type {() => Rig} */
export const shown = () => {
  if (!now.rig) throw new Error("this day has no state");
  return now.rig;
};
/** @typedef {import("./rig.js").Rig} Rig */

let painter = () => {};
/** @type {(job: () => void) => void} */
export const onPaint = (job) => {
  painter = job;
};
export function paint() {
  painter();
}

export const places = new PadPlaces(day, paint);

/** @type {(place: string) => string} */
export const called = (place) => calledBy(day.vehicles, place);

// A notice stands for some seconds over whatever the loads say, and is spoken.
/** @type {(words: string) => void} */
export function announce(words) {
  clearTimeout(now.unsay);
  now.notice = words;
  $("why").setAttribute("aria-live", "assertive");
  now.unsay = setTimeout(() => {
    now.notice = null;
    $("why").setAttribute("aria-live", "off");
    paint();
  }, NOTICE);
  paint();
}
