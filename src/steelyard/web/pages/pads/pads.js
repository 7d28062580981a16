// At the pads: what is read, what is kept, what it changed. The parts are in their own files; this one joins them.

import { $, closest, element, every, maybe } from "./dom.js";
import { Rig } from "./rig.js";
import { Keypad } from "./keypad.js";
import { Bench } from "./bench-of-draft.js";
import { StateMaker } from "./states.js";
import { Refusals } from "./refused.js";
import { StateStrip } from "./state-strip.js";
import {
  announce,
  called,
  day,
  extras,
  format,
  names,
  now,
  onPaint,
  paint,
  places,
  rigs,
  shown,
} from "./at-the-pads.js";
import { board } from "./board.js";
import { call, clockBehind, wordsOf } from "./api.js";
import { span } from "./slate.js";
import { ask } from "./question.js";
import { choosePad, dropForgotten, everyPadRead, meant, nextWheel, reading, setAside } from "./readings.js";
import { keep, ontoWheels, putBack, unsend, useHooks } from "./keeping.js";
import { list, standing } from "./kept.js";
import { DraftDialog, bringBack, isAway, putAway, relabel, settle } from "./put-away.js";
import { Walk } from "./plan-walk.js";
import { begin, left, offerUndo, photos, remember, takeBack, type, unwritten } from "./typed.js";
import { forgetFields } from "./fields.js";
import { flush, onChange, photosOf, retry } from "./outbox.js";
import { listen } from "./others.js";
import { undo } from "./undo.js";

const LOOK = 2000; // ms between two looks at how old a live load is

// ---- the drawing and the state ----

/** @type {(box: HTMLElement) => void} */
function takeRig(box) {
  rigs.set(box.dataset.rig ?? "", { box, rig: new Rig(box, { format, onChoose: day.mayWeigh ? openKeypad : null }) });
}
every(document, "[data-rig]", HTMLElement).forEach(takeRig);

/** @type {(id: string, how?: { quiet?: boolean }) => void} */
function setState(id, { quiet = false } = {}) {
  const state = day.states[id];
  if (!state) return;
  now.state = id;
  for (const [key, { box, rig }] of rigs) {
    box.hidden = key !== state.rig;
    rig.say(undefined, null);
  }
  strip.press(id);
  now.rig = rigs.get(state.rig)?.rig ?? null;
  setAside();
  places.fit(shown().places());
  $("state-is").textContent = state.said;
  if (!quiet)
    try {
      sessionStorage.setItem(`state ${day.day}`, id);
    } catch {
      /* only a comfort */
    }
  paint();
}

const strip = new StateStrip((id) => {
  bench.close();
  setState(id);
});
addEventListener("resize", paint);

onPaint(() => {
  if (!now.rig) return;
  dropForgotten();
  remember();
  const { rig } = now;
  const planned = walk.placed();
  for (const place of rig.places()) rig.show(place, reading(place), day.ratings[place], planned.get(place));
  board();
  lamp();
});
setInterval(() => {
  if (now.live.size) paint();
}, LOOK);

// ---- the keypad ----

/** @type {Keypad} */
const keypad = new Keypad(element("keypad", HTMLDialogElement), {
  typed: (place, text) => {
    now.insisted = false;
    type(place, text, choosePad(place), () => again(place));
  },
  pad(place, pad) {
    const other = [...now.read].find(([at, item]) => item.pad === pad && at !== place)?.[0];
    if (other) {
      offerUndo(`the reading of ${called(other)} gave way`, () => again(place));
      now.read.delete(other);
    }
    places.set(pad, place);
    const item = now.read.get(place);
    if (item) item.pad = pad;
    paint();
  },
  next(place, { ends }) {
    const found = reading(place);
    if (found?.wrong) {
      now.insisted = true;
      paint();
      return keypad.insist();
    }
    const over = found?.hand ? overRating(place, found.value ?? 0) : "";
    const onward = ends ? null : nextWheel(place, walk.places());
    if (onward) {
      openKeypad(onward);
      return keypad.say(over);
    }
    keypad.close();
    if (over) announce(over);
    if (now.read.size) keep();
  },
  nextWords: (place) => (nextWheel(place, walk.places()) ? "Next wheel" : now.read.size ? "Keep draft" : "Done"),
  endsHere: (place) => [...now.read.keys()].some((at) => at !== place) && Boolean(nextWheel(place, walk.places())),
  warn: (place, text) => meant(text, now.read.get(place)?.pad ?? choosePad(place)).wrong ?? "",
  closed(place) {
    now.typing = null;
    now.rig?.choose(null);
    paint();
    if (place) now.rig?.focus(place);
  },
});

/** @type {(place: string, value: number) => string} */
function overRating(place, value) {
  const limit = day.ratings[place];
  if (!limit || value <= limit) return "";
  return `${place.split("/")[1]} is over this ${shown().aboard(place) ? "coupling" : "wheel"}'s rating of ${format(limit)}.`;
}

/** @type {(place: string | undefined) => void} */
function openKeypad(place) {
  if (!day.mayWeigh || place === undefined) return;
  if (!now.read.has(place) && everyPadRead()) {
    announce("Every pad is read. Keep this draft first.");
    return $("keep").focus();
  }
  bench.close();
  now.typing = place;
  now.insisted = false;
  shown().choose(place);
  const item = now.read.get(place);
  photos.at(place);
  keypad.open(place, {
    title: shown().spoken(place),
    value: item ? item.text : "",
    instruments: names,
    instrument: item?.pad ?? choosePad(place),
  });
  paint();
}

// The keypad says what stands there again, if it is open.
/** @type {(place: string) => void} */
function again(place) {
  if (keypad.dialog.open) openKeypad(place);
}

/** @type {(state: string, place: string) => void} */
function read(state, place) {
  if (state !== now.state) setState(state);
  openKeypad(place);
}

maybe("believe", HTMLElement)?.addEventListener("click", async () => {
  try {
    await call("POST", day.links.believe.replace("NAME", encodeURIComponent(now.stuck ?? "")), { json: {} });
  } catch (error) {
    announce(wordsOf(error));
  }
});
maybe("keep", HTMLElement)?.addEventListener("click", keep);
maybe("more", HTMLElement)?.addEventListener("click", () => {
  $("throw-away").hidden = !(now.read.size || now.aside.size);
  places.open(extras, shown());
});

// ---- the plan ----

const walk = new Walk(day, {
  go(draft) {
    if (now.read.size || now.follows || !day.states[draft.state]) return false;
    if (draft.state !== now.state) setState(draft.state);
    const { wheels } = shown();
    places.follow(
      Object.fromEntries(
        Object.entries(draft.placements)
          .filter(([place]) => wheels.has(place))
          .map(([place, pad]) => [pad, place]),
      ),
      shown(),
    );
    paint();
    return true;
  },
  open: openKeypad,
  state: () => now.state,
  order: () => (now.rig ? now.rig.places() : []),
  announce,
  refresh: () => others.refresh(),
});

// ---- what became of it ----

const bench = new Bench({
  ask,
  ways: () => ({ planned: walk.nextInWords(), read }),
  takeBack: (key) => backOnWheels(key),
});
const refusals = new Refusals(day, { format, putBack, refresh: () => others.refresh(), theirs });
/** @type {Map<string, Page.OnDisk>} */
const onDisk = new Map();
/** @type {Page.Waiting[]} */
let waiting = [];
/** @type {Set<string>} drafts that were taken back while they were on their way */
const calledBack = new Set();

/** @type {(news: Page.Sent) => void} */
function sent({ item, answer }) {
  if (item.day !== day.day || !answer) return;
  if (answer.data?.seq) others.live.knows(answer.data.seq);
  if (item.what !== "draft") return;
  const number = answer.data?.number ?? null;
  onDisk.set(item.key, { number, json: item.json });
  if (calledBack.has(item.key) && number) putAway({ ...item.json, number }, "Taken back at the pads");
  else bench.draft({ key: item.key, number, state: item.json.state, readings: item.json.readings });
  listDrafts();
}

useHooks({
  supports: (body) => walk.supports(body),
  sent,
  setState,
  shrink: () => bench.close(),
  kept: (item) => undo.offer("the draft is kept", () => backOnWheels(item.key), { button: false }),
});

// A draft back on the wheels, to be put right and kept anew; where the station has it, it is put away there.
/** @type {(key: string) => Promise<void>} */
async function backOnWheels(key) {
  const item = waiting.find((one) => one.what === "draft" && one.key === key);
  if (item?.what === "draft") {
    calledBack.add(key);
    if (!(await unsend(item, await photosOf(item)))) calledBack.delete(key);
    bench.close();
    return;
  }
  const draft = known().find((one) => one.key === key);
  if (draft) await takeDraftBack(draft);
}

/** @type {(draft: Page.KnownDraft) => Promise<void>} */
async function takeDraftBack(draft) {
  if (!(await ontoWheels(draft, `Draft ${draft.number}`))) return;
  bench.close();
  await putAway(draft, "Taken back at the pads");
  announce(`Draft ${draft.number} is back on the wheels and put away. Put it right, then keep it.`);
}

// Every draft of the station that this page has the readings of.
/** @type {() => Page.KnownDraft[]} */
const known = () => [
  ...day.drafts.filter((draft) => !onDisk.has(draft.key)),
  ...[...onDisk].flatMap(([key, { number, json }]) =>
    number && json.readings ? [{ ...json, key, number, readings: json.readings }] : [],
  ),
];

onChange(({ items, away, sent: done }) => {
  if (done?.answer) sent(done);
  waiting = items.filter((item) => item.day === day.day);
  now.away = away;
  lamp();
  const drafts = waiting.filter((item) => item.what === "draft" && !item.refused).length;
  if (away && drafts) bench.away(drafts, away);
  listDrafts();
  refusals.look(waiting);
});

// One lamp for all: whether the station is there, and where the drafts are.
function lamp() {
  const hindered = now.gone ? "No station" : (now.away?.short ?? (now.storeAway !== null ? "Database away" : null));
  const full = unwritten();
  $("net").classList.toggle("away", full || Boolean(hindered) || waiting.some((item) => item.refused));
  const says = full ? "No room on this device" : standing(waiting, hindered);
  if ($("net-says").textContent !== says) $("net-says").textContent = says;
  $("no-room").hidden = !full;
  const behind = clockBehind(),
    clock = $("clock-wrong");
  clock.hidden = !behind;
  if (behind)
    clock.textContent = `The clock of this device is ${span(Math.abs(behind))} ${behind > 0 ? "behind" : "ahead of"} the station's. Drafts go with the station's time.`;
}

const dialog = day.mayWeigh
  ? new DraftDialog({ takeBack: takeDraftBack, relabel: (draft, words) => relabel(draft, words) })
  : null;

function listDrafts() {
  settle(day.drafts, waiting);
  const old = [
    ...day.drafts.filter((draft) => !onDisk.has(draft.key)),
    ...known().filter((one) => onDisk.has(one.key)),
  ];
  walk.look(
    day.drafts.filter((draft) => !onDisk.has(draft.key)),
    [...onDisk].map(([key, { number, json }]) => ({ key, number, ...json })),
    waiting,
  );
  list({
    waiting,
    onDisk: [...onDisk.values()].filter(({ number, json }) => !(number && json.readings)).reverse(),
    old,
    isAway,
    edit: (draft) => dialog?.open(draft),
    bringBack,
    takeBack: backOnWheels,
    correct: (item) => refusals.correct(item),
    drop: (item) => refusals.drop(item),
    again: retry,
  });
}

// ---- the day as others change it ----

// A name that another device took first means what it means there.
/** @type {(name: string, state: Page.State, mine: string | null) => void} */
function theirs(name, state, mine) {
  day.states[name] = state;
  if (now.state === name) setState(mine && day.states[mine] ? mine : name);
}

/** @type {(id: string) => void} */
const addTab = (id) => strip.add(id);
const others = listen({
  onDisk,
  bench,
  walk,
  takeRig,
  setState,
  addTab,
  listDrafts,
  lamp,
  isOwn: (key) => Boolean(maker?.own.has(key)) || waiting.some((item) => item.key === key),
});

const maker = day.mayWeigh
  ? new StateMaker(day, { current: () => now.state, made: (id) => setState(id), tab: addTab })
  : null;

const before = left();
let begun = day.state;
if (before && day.states[before.state]) begun = before.state;
else
  try {
    begun = sessionStorage.getItem(`state ${day.day}`) ?? begun;
  } catch {
    /* the day's own */
  }
setState(day.states[begun] ? begun : day.state, { quiet: true });
if (before) takeBack(before);
if (day.mayWeigh) photos.back();
begin();

// Straight from the answers about a new rig: live where an indicator has its pads, else the first wheel waits for its figure.
if (location.hash === "#first") {
  history.replaceState(null, "", location.pathname);
  forgetFields("typed new rig");
  if (!day.drafts.length && now.rig && !day.live) openKeypad(now.rig.places()[0]);
}
// The focus is never under the bar, however large the text.
addEventListener("focusin", ({ target }) => {
  const bar = document.querySelector(".keepbar")?.getBoundingClientRect();
  const box = target instanceof Element && !closest(target, ".keepbar, dialog") ? target.getBoundingClientRect() : null;
  if (bar && box && box.bottom > bar.top) scrollBy(0, Math.min(box.bottom - bar.top + 8, box.top));
});
walk.begin();
flush();
document.body.dataset.ready = "yes";
