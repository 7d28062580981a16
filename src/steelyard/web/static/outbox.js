// The queue of what was kept: written to this device first, sent in order, struck off when the station has it.

import { all, put, remove } from "./store.js";
import { Away, call, passes } from "./api.js";

const listeners = new Set();
const channel = "BroadcastChannel" in self ? new BroadcastChannel("steelyard-outbox") : null;
channel?.addEventListener("message", () => tell(null));

let sending = null;
let away = false;
let timer = 0;
let pause = 1000;

export function onChange(listener) {
  listeners.add(listener);
  tell(null);
}

async function tell(sent) {
  let items = [];
  try { items = await all(); } catch { /* no storage: nothing can wait */ }
  for (const listener of listeners) listener({ items, away, sent });
}

// item: { day, what, key, method, url, json, blob, shown }. Resolves once it is on this device.
export async function keep(item) {
  await put({ ...item, made: Date.now() });
  channel?.postMessage("kept");
  await tell(null);
  flush();
}

export async function discard(order) {
  await remove(order);
  await tell(null);
  flush();
}

export async function retry(item) {
  delete item.refused;
  await put(item);
  await tell(null);
  flush();
}

export function flush() {
  pause = 1000;
  sending ??= send().finally(() => { sending = null; });
  return sending;
}

function again() {
  sending ??= send().finally(() => { sending = null; });
}

async function send() {
  clearTimeout(timer);
  for (let items = await all(); ; items = await all()) {
    // In order. What was refused waits for a person and holds back only what hangs on it.
    const item = items.find((one) => !one.refused && !(one.after && items.some((other) => other.key === one.after && other.order < one.order)));
    if (!item) break;
    try {
      const answer = await call(item.method, item.url, item.blob ? { body: item.blob, type: item.blob.type, wait: 30000 } : { json: item.json });
      await remove(item.order);
      pause = 1000;
      if (away) away = false;
      await tell({ item, answer });
    } catch (error) {
      if (passes(error)) {
        away = error instanceof Away ? "no answer" : error.status === 401 || error.status === 403 ? "not paired" : "busy";
        timer = setTimeout(again, pause);
        pause = Math.min(pause * 1.6, 8000);
        await tell(null);
        return;
      }
      await put({ ...item, refused: error.message });
      await tell({ item, error });
    }
  }
  channel?.postMessage("sent");
}

addEventListener("online", flush);
document.addEventListener("visibilitychange", () => { if (!document.hidden) flush(); });
