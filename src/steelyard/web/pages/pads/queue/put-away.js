// A kept draft that is taken back, put away or brought back: new records beside it, with a reason. Nothing is deleted.

import { makeKey, stationTime, wordsOf } from "./api.js";
import { announce, day } from "./at-the-pads.js";
import { $, element, only } from "./dom.js";
import { keep } from "./outbox.js";
import { stateWords } from "./place-words.js";
import { undo } from "./undo.js";

/** @type {Map<string, { away: boolean, reason: string }>} what was decided here and may not be on the page yet */
const decided = new Map();

/** @type {(draft: Page.KnownDraft) => string} */
const id = (draft) => draft.key || String(draft.number);

// Why a draft counts no more; null where it counts.
/** @type {(draft: Page.KnownDraft) => string | null} */
export function isAway(draft) {
  const here = decided.get(id(draft));
  if (here) return here.away ? here.reason : null;
  return draft.away?.reason ?? null;
}

// The page knows by now what was decided here.
/** @type {(drafts: Page.KnownDraft[], waiting: Page.Waiting[]) => void} */
export function settle(drafts, waiting) {
  for (const draft of drafts) {
    const here = decided.get(id(draft));
    const sent = !waiting.some((item) => item.what === "correction" && item.of === id(draft));
    if (here && sent && here.away === Boolean(draft.away)) decided.delete(id(draft));
  }
}

// A correction for each reading: without a value it is set aside, with one it counts again.
/** @type {(draft: Page.KnownDraft, values: Record<string, number | null>, reason: string, what: string) => Promise<void>} */
async function record(draft, values, reason, what) {
  const at = stationTime(Date.now());
  /** @type {Page.QueuedCorrection[]} */
  const items = Object.entries(values).map(([place, value]) => {
    const key = makeKey();
    const json = { key, draft: draft.key || draft.number, place, reason, at, ...(value === null ? {} : { value }) };
    const shown = `Draft ${draft.number} ${what}`;
    return {
      day: day.day,
      what: "correction",
      key,
      method: "POST",
      url: day.links.corrections,
      json,
      shown,
      of: id(draft),
    };
  });
  try {
    await keep(...items);
  } catch (error) {
    decided.delete(id(draft));
    announce(`Not done: ${wordsOf(error)}. This device has no room for it.`);
  }
}

/** @type {(draft: Page.KnownDraft, reason: string) => Promise<void>} */
export async function putAway(draft, reason) {
  const values =
    draft.counts ?? Object.fromEntries(Object.entries(draft.readings).map(([place, [, value]]) => [place, value]));
  decided.set(id(draft), { away: true, reason });
  undo.offer(`draft ${draft.number} is put away`, () => bringBack({ ...draft, away: { reason, values } }));
  await record(draft, Object.fromEntries(Object.keys(values).map((place) => [place, null])), reason, "put away");
}

/** @type {(draft: Page.KnownDraft) => Promise<void>} */
export async function bringBack(draft) {
  const values = draft.away?.values ?? draft.counts ?? {};
  decided.set(id(draft), { away: false, reason: "" });
  undo.offer(`draft ${draft.number} is brought back`, () =>
    putAway({ ...draft, counts: values }, draft.away?.reason ?? "put away again"),
  );
  await record(draft, values, "Brought back", "brought back");
}

// Another label for a draft; the one that it was kept with stays on record.
/** @type {(draft: Page.KnownDraft, words: string) => Promise<void>} */
export async function relabel(draft, words) {
  const before = draft.label ?? "";
  if (words === before) return;
  const key = makeKey();
  const json = {
    key,
    draft: draft.key || draft.number,
    label: words,
    reason: "Named anew at the pads",
    at: stationTime(Date.now()),
  };
  const shown = `Draft ${draft.number} named anew`;
  draft.label = words;
  undo.offer(`draft ${draft.number} was “${before}”`, () => relabel(draft, before));
  try {
    await keep({
      day: day.day,
      what: "correction",
      key,
      method: "POST",
      url: day.links.corrections,
      json,
      shown,
      of: id(draft),
    });
  } catch (error) {
    draft.label = before;
    announce(`Not done: ${wordsOf(error)}. This device has no room for it.`);
  }
}

/** What one draft is changed by: a small dialog with its name and the reason to put it away. */
export class DraftDialog {
  /** @param {{ takeBack: (draft: Page.KnownDraft) => void, relabel: (draft: Page.KnownDraft, label: string) => void }} hooks */
  constructor(hooks) {
    this.dialog = element("draft-change", HTMLDialogElement);
    this.reason = element("away-reason", HTMLInputElement);
    this.label = element("new-label", HTMLInputElement);
    /** @type {Page.KnownDraft | null} */
    this.draft = null;
    only(this.dialog, "form", HTMLFormElement).addEventListener("submit", (event) => event.preventDefault());
    /** @type {(name: string, act: (draft: Page.KnownDraft) => void) => void} */
    const press = (name, act) =>
      only(this.dialog, `[data-act=${name}]`, HTMLElement).addEventListener("click", () => {
        const { draft } = this;
        if (name === "away" && !this.reason.value.trim()) {
          $("away-fault").textContent = "Say why, in a word or two.";
          this.reason.focus();
          return;
        }
        this.dialog.close();
        if (draft) act(draft);
      });
    press("close", () => {});
    press("away", (draft) => putAway(draft, this.reason.value.trim()));
    press("take", (draft) => hooks.takeBack(draft));
    press("label", (draft) => hooks.relabel(draft, this.label.value.trim()));
  }

  /** @type {(draft: Page.KnownDraft) => void} */
  open(draft) {
    this.draft = draft;
    this.reason.value = "";
    this.label.value = draft.label ?? "";
    $("away-fault").textContent = "";
    $("change-head").textContent = `Draft ${draft.number}, ${draft.label || stateWords(draft.state)}`;
    this.dialog.showModal();
  }
}
