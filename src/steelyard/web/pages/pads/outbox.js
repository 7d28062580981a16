// The queue of what was kept: written to this device first, sent in order, struck off when the station has it.

import { all, put, remove, swap } from "./store.js";
import { call, hindrance, passes } from "./api.js";

const listeners = new Set();
const channel = "BroadcastChannel" in self ? new BroadcastChannel("steelyard-outbox") : null;
channel?.addEventListener("message", () => tell(null));

const PATIENCE = 3; // times that the station may fail over one thing before it holds up the others no longer

let sending = null;
let away = null; // what hinders: { kind, short, words }
let timer = 0;
let pause = 1000;

export function onChange(listener) {
  listeners.add(listener);
  tell(null);
}

async function tell(sent) {
  let items = [];
  try {
    items = await all();
  } catch {
    /* no storage: nothing can wait */
  }
  for (const listener of listeners) listener({ items, away, sent });
}

async function changed() {
  channel?.postMessage("changed");
  await tell(null);
  flush();
}

// item: { day, what, key, method, url, json, blob, shown }. Resolves once all are on this device.
export const keep = (...items) => replace(null, items);

// What was refused gives way to what was made of it, in one step: a flat battery loses neither.
export async function replace(old, items) {
  await swap(
    old ? await withPhoto(old) : [],
    items.map((item) => ({ ...item, made: Date.now() })),
  );
  await changed();
}

// A draft takes its photo along.
export async function discard(item) {
  await swap(await withPhoto(item), []);
  await changed();
}

export async function retry(item) {
  delete item.refused;
  delete item.tries;
  await put(item);
  await changed();
}

// Another name for a state, for itself and for the drafts that wait for it.
export async function rename(item, name, key) {
  const items = await all();
  const mine = items.filter((one) => one.after === item.key && one.json);
  const state = { ...item, key, shown: name, json: { ...item.json, key, name } };
  delete state.refused;
  await swap(
    [],
    [
      state,
      ...mine.map((one) => ({
        ...one,
        after: key,
        json: { ...one.json, state: name },
        ...(one.like === item.shown ? { like: name } : {}),
      })),
    ],
  );
  await changed();
}

async function withPhoto(item) {
  const photos = (await all()).filter((one) => one.what === "photo" && one.after === item.key);
  return [item.order, ...(item.what === "draft" ? photos.map((one) => one.order) : [])];
}

export async function photoOf(item) {
  return (await all()).find((one) => one.what === "photo" && one.after === item.key)?.blob ?? null;
}

export function flush() {
  pause = 1000;
  sending ??= send().finally(() => {
    sending = null;
  });
  return sending;
}

function again() {
  sending ??= send().finally(() => {
    sending = null;
  });
}

async function send() {
  clearTimeout(timer);
  for (let items = await all(); ; items = await all()) {
    // In order. What was refused waits for a person and holds back only what hangs on it.
    const item = items.find(
      (one) =>
        !one.refused && !(one.after && items.some((other) => other.key === one.after && other.order < one.order)),
    );
    if (!item) break;
    try {
      const answer = await call(
        item.method,
        item.url,
        item.blob ? { body: item.blob, type: item.blob.type, wait: 30000 } : { json: item.json },
      );
      await remove(item.order);
      pause = 1000;
      away = null;
      await tell({ item, answer });
    } catch (error) {
      if (passes(error) && (await patient(item, error))) {
        away = hindrance(error);
        timer = setTimeout(again, pause);
        pause = Math.min(pause * 1.6, 8000);
        await tell(null);
        return;
      }
      const refused = { ...item, refused: error.message };
      await put(refused);
      away = null;
      await tell({ item: refused, error });
    }
  }
  if (away) {
    away = null;
    await tell(null);
  }
  channel?.postMessage("sent");
}

// A fault of the program over one thing does not pass by asking for ever; everything else that passes may take days.
async function patient(item, error) {
  if (error.status !== 500) return true;
  const tries = (item.tries ?? 0) + 1;
  await put({ ...item, tries });
  return tries < PATIENCE;
}

addEventListener("online", flush);
document.addEventListener("visibilitychange", () => {
  if (!document.hidden) flush();
});
