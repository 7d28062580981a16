// Days that were begun on this device and are not at the station yet: they lie in the queue before all that was kept for
// them, and what was kept follows the day once the station has made it.

import { rewrite } from "./store.js";
import { keepPhotos, photosLeft } from "./photo.js";

/** @typedef {Page.Waiting | Page.UnsentRig | Page.MadeRig} InQueue */

const FORGOTTEN = 90 * 86400e3; // ms after which no page is open any more that knows a day by its name on this device

/** @type {(items: InQueue[]) => { items: Page.Waiting[], rigs: (Page.UnsentRig | Page.MadeRig)[] }} */
export function parted(items) {
  const rigs = items.flatMap((item) => (item.what === "rig" || item.what === "made" ? [item] : []));
  return { rigs, items: items.flatMap((item) => (item.what === "rig" || item.what === "made" ? [] : [item])) };
}

// A thing that was kept for a day on this device alone, as it goes to the day that the station made.
/** @type {(item: Page.Waiting, made: Page.MadeRig) => Page.Waiting} */
function moved(item, { day, key, as }) {
  const sent = { ...item, day: as, url: item.url.replaceAll(day, as) };
  if (sent.after === key) delete sent.after;
  return sent;
}

// All that waits; what was kept for a day after another page had it made goes to that day.
/** @type {() => Promise<ReturnType<typeof parted>>} */
export async function queue() {
  /** @type {InQueue[]} */
  let found = [];
  await rewrite((items) => {
    const { items: waiting, rigs } = parted(items);
    const late = rigs.flatMap((rig) =>
      rig.what === "made" ? waiting.filter((item) => item.day === rig.day).map((item) => moved(item, rig)) : [],
    );
    found = items.map((item) => late.find((other) => other.order === item.order) ?? item);
    const gone = rigs.filter((rig) => rig.what === "made" && Date.now() - rig.made > FORGOTTEN);
    return { come: late, gone: gone.map((rig) => rig.order) };
  });
  return parted(found);
}

// A day is begun on this device; the same key again is the same day.
/** @type {(rig: Omit<Page.UnsentRig, "order">) => Promise<void>} */
export const begin = (rig) =>
  rewrite((items) => ({ come: items.some((item) => "opens" in item && item.day === rig.day) ? [] : [rig], gone: [] }));

// The answers were put right: what was typed for the old names of the vehicles goes to the new ones.
/** @type {(rig: Page.UnsentRig, names: Map<string, string>) => Promise<void>} */
export async function putRight(rig, names) {
  /** @type {(place: string) => string} */
  const place = (text) => text.replace(/^[^/]+/, (name) => names.get(name) ?? name);
  await rewrite((items) => {
    const mine = parted(items).items.filter((item) => item.day === rig.day);
    return { come: [rig, ...mine.map((item) => renamed(item, place))], gone: [] };
  });
  const left = localStorage.getItem(`typed ${rig.day}`);
  if (!left) return;
  const typed = JSON.parse(left);
  for (const part of ["read", "aside"])
    typed[part] = (typed[part] ?? []).map((/** @type {[string, unknown]} */ [at, item]) => [place(at), item]);
  localStorage.setItem(`typed ${rig.day}`, JSON.stringify(typed));
}

/** @type {(item: Page.Waiting, place: (text: string) => string) => Page.Waiting} */
function renamed(item, place) {
  if (item.what === "photo") return item.place ? { ...item, place: place(item.place), url: item.url } : item;
  if (item.what === "draft") {
    const readings = Object.fromEntries(Object.entries(item.json.readings).map(([at, read]) => [place(at), read]));
    return { ...item, json: { ...item.json, readings } };
  }
  if (item.what !== "state") return item;
  const { couple } = item.json;
  /** @type {(link: Page.Couple) => Page.Couple} */
  const linked = (link) =>
    Object.fromEntries(
      Object.entries(link).map(([name, value]) => [name, typeof value === "string" ? place(value) : value]),
    );
  const json = { ...item.json, vehicles: item.json.vehicles.map(place) };
  if (couple) json.couple = Array.isArray(couple) ? couple.map(linked) : linked(couple);
  return { ...item, json };
}

// The station has the day: in one step it is no more to be sent, and all that waits for it goes there.
/** @type {(rig: Page.UnsentRig, as: string) => Promise<void>} */
export async function isMade(rig, as) {
  const { order, day, key, title, opens } = rig;
  /** @type {Page.MadeRig} */
  const made = { what: "made", order, day, key, title, opens, as, made: Date.now() };
  await rewrite((items) => ({
    come: [made, ...parted(items).items.flatMap((item) => (item.day === day ? [moved(item, made)] : []))],
    gone: [],
  }));
  // a page of it that is open writes on there, and takes all of it along when it leaves
  if (!(await isOpen(day))) await carryTyped(made);
  await atHand(made);
}

/** @type {(day: string) => string} */
const lockOf = (day) => `open ${day}`;

// This page shows the day as long as it is open.
/** @type {(day: string) => void} */
export function holdOpen(day) {
  if ("locks" in navigator) navigator.locks.request(lockOf(day), { mode: "shared" }, () => new Promise(() => {}));
}

/** @type {(day: string) => Promise<boolean>} */
async function isOpen(day) {
  if (!("locks" in navigator)) return false;
  const { held = [] } = await navigator.locks.query();
  return held.some((lock) => lock.name === lockOf(day));
}

// What is typed and not kept goes along.
/** @type {(made: Page.MadeRig) => Promise<void>} */
export async function carryTyped({ day, as }) {
  for (const store of [localStorage, sessionStorage])
    for (const name of ["typed", "state"]) {
      const left = store.getItem(`${name} ${day}`);
      if (left === null) continue;
      store.setItem(`${name} ${as}`, left);
      store.removeItem(`${name} ${day}`);
    }
  const photos = await photosLeft(day);
  if (!photos.length) return;
  await keepPhotos(as, photos);
  await keepPhotos(day, []);
}

// Whether this device can open the day's own page now, whatever becomes of the station.
/** @type {(made: Page.MadeRig) => Promise<boolean>} */
export async function atHand({ opens, as }) {
  const url = opens.replace("DAY", as);
  try {
    const name = (await caches.keys()).find((one) => one.startsWith("station-"));
    if (name === undefined) return false;
    const cache = await caches.open(name);
    if (await cache.match(url)) return true;
    const page = await fetch(url, { credentials: "same-origin" });
    if (!page.ok || page.redirected) return false;
    await cache.put(url, page);
    return true;
  } catch {
    return false;
  }
}
