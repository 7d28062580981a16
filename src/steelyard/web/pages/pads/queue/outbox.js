// The queue of what was kept: written to this device first, sent in order, struck off when the station has it.

import { all, put, remove, swap } from "./store.js";
import { Refused, call, hindrance, passes, wordsOf } from "./api.js";
import { isMade, queue } from "./unsent-queue.js";

/** @type {Set<(news: Page.QueueNews) => void>} */
const listeners = new Set();
const channel = "BroadcastChannel" in self ? new BroadcastChannel("steelyard-outbox") : null;
channel?.addEventListener("message", () => tell(null));

const PATIENCE = 3; // times that the station may fail over one thing before it holds up the others no longer

/** @type {Promise<void> | null} */
let sending = null;
/** @type {Page.Hindrance | null} */
let away = null; // what hinders: { kind, short, words }
let timer = 0;
let pause = 1000;

/** @type {(listener: (news: Page.QueueNews) => void) => void} */
export function onChange(listener) {
  listeners.add(listener);
  tell(null);
}

/** @type {(sent: Page.Sent | null) => Promise<void>} */
async function tell(sent) {
  /** @type {Awaited<ReturnType<typeof queue>>} */
  let found = { items: [], rigs: [] };
  try {
    found = await queue();
  } catch {
    /* no storage: nothing can wait */
  }
  for (const listener of listeners) listener({ ...found, away, sent });
}

async function changed() {
  channel?.postMessage("changed");
  await tell(null);
  flush();
}

// item: { day, what, key, method, url, json, blob, shown }. Resolves once all are on this device.
/** @type {(...items: Page.Item[]) => Promise<void>} */
export const keep = (...items) => replace(null, items);

// What was refused gives way to what was made of it, in one step: a flat battery loses neither.
/** @type {(old: Page.Waiting | null, items: Page.Item[]) => Promise<void>} */
export async function replace(old, items) {
  await swap(
    old ? await withPhoto(old) : [],
    items.map((item) => ({ ...item, made: Date.now() })),
  );
  await changed();
}

// A draft takes its photos along.
/** @type {(item: Page.Waiting) => Promise<void>} */
export async function discard(item) {
  await swap(await withPhoto(item), []);
  await changed();
}

/** @type {(item: Page.Waiting) => Promise<void>} */
export async function retry(item) {
  delete item.refused;
  delete item.tries;
  await put(item);
  await changed();
}

// Another name for a state, for itself and for the drafts that wait for it.
/** @type {(item: Page.Waiting<Page.QueuedState>, name: string, key: string) => Promise<void>} */
export async function rename(item, name, key) {
  const items = await all();
  const state = { ...item, key, shown: name, json: { ...item.json, key, name } };
  delete state.refused;
  // What waits for it: a draft names its state, a state that was made from it only goes after it.
  /** @type {(one: Page.Waiting) => Page.Waiting[]} */
  const renamed = (one) => {
    if (one.after !== item.key) return [];
    if (one.what === "draft") return [{ ...one, after: key, json: { ...one.json, state: name } }];
    return one.what === "state" ? [{ ...one, after: key, like: name }] : [];
  };
  await swap([], [state, ...items.flatMap(renamed)]);
  await changed();
}

/** @type {(item: Page.Waiting) => Promise<number[]>} */
async function withPhoto(item) {
  const photos = (await all()).filter((one) => one.what === "photo" && one.after === item.key);
  return [item.order, ...(item.what === "draft" ? photos.map((one) => one.order) : [])];
}

/** @type {(item: Page.Waiting) => Promise<Page.TakenPhoto[]>} */
export async function photosOf(item) {
  return (await all()).flatMap((one) =>
    one.what === "photo" && one.after === item.key
      ? [{ place: one.place ?? null, blob: one.blob, when: one.when ?? one.made ?? Date.now() }]
      : [],
  );
}

/** @type {() => Promise<void>} */
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
  for (;;) {
    const { items, rigs } = await queue();
    const days = rigs.flatMap((rig) => (rig.what === "rig" ? [rig] : []));
    // In order. What was refused waits for a person and holds back only what hangs on it.
    const item = [...days, ...items].find(
      (one) =>
        !one.refused &&
        !(one.after && [...days, ...items].some((other) => other.key === one.after && other.order < one.order)),
    );
    if (!item) break;
    try {
      /** @type {NonNullable<Page.Sent["answer"]>} */
      const answer = await call(
        item.method,
        item.url,
        item.blob ? { body: item.blob, type: item.blob.type, wait: 30000 } : { json: item.json },
      );
      if (item.what === "rig") await isMade(item, answer.data?.id ?? "");
      else await remove(item.order);
      pause = 1000;
      away = null;
      await tell(item.what === "rig" ? null : { item, answer });
      if (item.what === "rig") channel?.postMessage("made");
    } catch (error) {
      if (passes(error) && (await patient(item, error))) {
        away = hindrance(error);
        timer = setTimeout(again, pause);
        pause = Math.min(pause * 1.6, 8000);
        await tell(null);
        return;
      }
      away = null;
      if (item.what === "rig") {
        await put({ ...item, refused: wordsOf(error), faults: faultsOf(error) });
        await tell(null);
        continue;
      }
      const refused = { ...item, refused: wordsOf(error) };
      await put(refused);
      await tell({ item: refused, error });
    }
  }
  if (away) {
    away = null;
    await tell(null);
  }
  channel?.postMessage("sent");
}

// What the station does not accept, by field.
/** @type {(error: unknown) => Record<string, string>} */
const faultsOf = (error) =>
  error instanceof Refused ? Object.fromEntries(error.faults.map(({ path, message }) => [path, message])) : {};

// A fault of the program over one thing does not pass by asking for ever; everything else that passes may take days.
/** @type {(item: Page.Waiting | Page.UnsentRig, error: unknown) => Promise<boolean>} */
async function patient(item, error) {
  if (!(error instanceof Refused) || error.status !== 500) return true;
  const tries = (item.tries ?? 0) + 1;
  await put({ ...item, tries });
  return tries < PATIENCE;
}

addEventListener("online", flush);
document.addEventListener("visibilitychange", () => {
  if (!document.hidden) flush();
});
