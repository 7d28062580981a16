// At the pads: what is read, what is kept, what it changed. The parts are in their own files; this one joins them.

import { $, element, every, maybe, pageData } from "./dom.js";
import { Rig } from "./rig.js";
import { Keypad } from "./keypad.js";
import { Live } from "./live.js";
import { Bench } from "./bench-of-draft.js";
import { StateMaker } from "./states.js";
import { PadPlaces } from "./placement.js";
import { Refusals } from "./refused.js";
import { StateStrip } from "./state-strip.js";
import { call, makeKey, wordsOf } from "./api.js";
import { ask } from "./question.js";
import { fetchDay } from "./fresh.js";
import { impossible } from "./limits.js";
import { formatNumber, readNumber, written } from "./number.js";
import { list, standing } from "./kept.js";
import { Walk } from "./plan-walk.js";
import { OLD, Slate, ago } from "./slate.js";
import { forgetFields } from "./fields.js";
import { PhotoList, counted as photosCounted } from "./photo-list.js";
import { all } from "./store.js";
import { flush, onChange, photosOf, replace, retry } from "./outbox.js";

/** @type {Page.Pads} */
const day = pageData();
/** @type {(value: number | string) => string} */
const format = (value) => formatNumber(Number(value), 3);
const names = Object.keys(day.instruments);
const EMPTY = 5; // divisions
const NOTICE = 6000; // ms that a notice stands where the loads say how they are

const AGE = 6000; // ms after which a live load that was heard is none any more; an unchanged one is told every four seconds

// read: typed on the wheels that are shown; aside: typed on wheels that this state does not have
/** @type {Page.PadsNow} */
const now = {
  state: "",
  rig: null,
  read: new Map(),
  aside: new Map(),
  heard: 0,
  live: new Map(),
  gone: false,
  /** @type {string | null} */
  storeAway: null, // why the station has no database just now
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
const label = element("label", HTMLInputElement),
  note = element("note", HTMLTextAreaElement),
  samePlacement = element("same-placement", HTMLInputElement),
  extras = element("extras", HTMLDialogElement);
/** @type {Slate<Page.TypedDraft>} */
const slate = new Slate(`typed ${day.day}`);
const places = new PadPlaces(day, () => {
  paint();
});
const photos = new PhotoList(day, { announce, changed: paint });

// ---- the drawing and the state ----

/** @type {Map<string, { box: HTMLElement, rig: Rig }>} */
const rigs = new Map();
/** @type {(box: HTMLElement) => void} */
function takeRig(box) {
  rigs.set(box.dataset.rig ?? "", { box, rig: new Rig(box, { format, onChoose: day.mayWeigh ? openKeypad : null }) });
}
every(document, "[data-rig]", HTMLElement).forEach(takeRig);

// The drawing that is shown: whoever asks for it has a state, and each state has one.
/** @type {() => Rig} */
const shown = () => {
  if (!now.rig) throw new Error("this day has no state");
  return now.rig;
};

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

const strip = new StateStrip(setState);
addEventListener("resize", paint);

// ---- readings ----

// What stands at a place now: typed by hand, else live from the pad that stands there.
/** @type {(place: string) => Page.Reading | null} */
function reading(place) {
  const typed = now.read.get(place);
  if (typed) return { ...meant(typed.text, typed.pad), pad: typed.pad, hand: true };
  const pad = places.padAt(place);
  const live = pad === undefined ? undefined : now.live.get(pad);
  if (pad === undefined || !live) return null;
  // A pad that shows next to nothing has no wheel on it: whoever means it types it.
  const empty = !live.trouble && Math.abs(live.value ?? 0) < EMPTY * (day.instruments[pad]?.division ?? 0);
  const value = live.trouble || empty ? null : live.value;
  const wrong = value === null || !live.steady ? null : fault(pad, value, false);
  return {
    value,
    pad,
    empty,
    wrong,
    moving: !live.steady,
    trouble: live.trouble ? (live.short ?? "trouble") : null,
    why: live.trouble ?? live.why,
  };
}

// What was typed for a pad. Of two numbers that it could be, the one that the display can show; if both, it is asked.
/** @type {(text: string, pad: string) => { value: number, wrong: string | null, unclear?: string }} */
function meant(text, pad) {
  const { value, words, readings: either } = readNumber(text.replace(/[.,]$/, ""));
  if (value !== null) return { value, wrong: fault(pad, value, true) };
  const both = (either ?? []).flatMap((one) => readNumber(one).value ?? []),
    can = both.filter((one) => !fault(pad, one, true));
  if (can.length === 1) return { value: can[0], wrong: null };
  if (both.length && !can.length) return { value: both[0], wrong: fault(pad, both[0], true) };
  return { value: both[0] ?? 0, wrong: words, unclear: text };
}

/** @type {(pad: string, value: number, hand: boolean) => string | null} */
const fault = (pad, value, hand) => impossible(pad, day.instruments[pad], value, { unit: day.unit, format, hand });
/** @type {() => Page.ReadWheel[]} */
const readings = () =>
  shown()
    .places()
    .flatMap((place) => {
      const found = reading(place);
      return found?.pad ? [{ place, ...found }] : [];
    });
/** @type {(item: Page.Reading & { place: string }) => item is Page.Held} */
const isRead = (item) => item.value !== null;
/** @type {() => Page.Held[]} */
const ready = () => readings().filter(isRead);

// Another state may lack some of the wheels: what was typed there waits until they are shown again.
function setAside() {
  const { wheels } = shown();
  for (const [place, item] of [...now.read])
    if (!wheels.has(place)) {
      forget(place);
      now.aside.set(place, item);
    }
  const used = new Set([...now.read.values()].map((item) => item.pad));
  for (const [place, item] of [...now.aside]) {
    if (!wheels.has(place)) continue;
    now.aside.delete(place);
    if (now.read.has(place) || used.has(item.pad)) continue; // something newer stands there
    now.read.set(place, item);
    used.add(item.pad);
  }
}

// What a pad said some seconds ago is not what it says: a page that slept, or a stream that broke, shows none of it.
function dropStale() {
  if (!now.live.size || Date.now() - now.heard < AGE) return;
  now.live.clear();
  now.silent = true;
}

// Every figure that is typed is on this device before anything else happens.
function remember() {
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

/** @type {(place: string) => void} */
function forget(place) {
  now.read.delete(place);
  // With nothing left of it on the wheels, what comes next is another draft.
  if (now.read.size === 0) now.correcting = null;
}

function paint() {
  if (!now.rig) return;
  dropStale();
  remember();
  const { rig } = now;
  for (const place of rig.places()) rig.show(place, reading(place), day.ratings[place]);
  board();
  const held = ready();
  const wrong = held.find((item) => item.wrong);
  rig.say(wrong?.place, wrong?.wrong);
  const button = maybe("keep", HTMLElement);
  if (!button) return;
  const stop = blocker(held);
  button.setAttribute("aria-disabled", String(Boolean(stop)));
  $("keep-says").textContent = stop ?? [counted(held), now.state, ...pictured(held)].join(", ");
}

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
function blocker(held) {
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
function doubted(held) {
  const item = held.find((one) => one.wrong);
  return (
    item &&
    `${item.wrong}${item.hand && !item.unclear ? ` If ${item.pad} does show that, the day has its division or capacity wrong.` : ""}`
  );
}

function board() {
  const held = ready();
  const all = readings();
  const live = all.filter((item) => !item.hand && !item.empty);
  const empty = all.length > 0 && all.every((item) => item.empty);
  const trouble = live.find((item) => item.trouble);
  const moving = live.filter((item) => item.moving && !item.trouble);
  let [kind, says, why] = day.mayWeigh
    ? ["", "By hand", "Tap a wheel and type what its pad shows."]
    : ["", "Looking on", "This device may look, not weigh."];
  if (now.gone && day.live)
    [kind, says, why] = [
      "broken",
      "Not live",
      "The station does not answer. Type what the pads show; drafts wait on this device.",
    ];
  else if (now.gone)
    [kind, why] = [
      "",
      day.mayWeigh ? "The station does not answer. Go on: drafts wait on this device." : "The station does not answer.",
    ];
  else if (now.storeAway !== null && !all.length)
    [kind, why] = [
      "",
      `The database of the station is away. ${day.mayWeigh ? "Go on: drafts wait on this device and go by themselves." : "The page goes on by itself."}`,
    ];
  else if (now.silent) [kind, says, why] = ["broken", "Not live", "Nothing heard from the pads for some seconds."];
  else if (empty)
    [kind, says, why] = [
      "",
      "Empty",
      now.follows ? "The simulated rig drives on in a moment." : "Drive onto the pads, or tap a wheel and type.",
    ];
  else if (trouble && !held.some((item) => item.hand)) [kind, says, why] = ["broken", "No reading", trouble.why ?? ""];
  else if (moving.length) [kind, says, why] = ["unsteady", "Unsteady", moving[0].why ?? "wait until it stands still"];
  else if (live.length) [kind, says, why] = ["steady", "Steady", day.mayWeigh ? "Keep it now." : "It stands still."];
  else if (held.length)
    [kind, says, why] = [
      "",
      "By hand",
      held.length < names.length ? "Next wheel, or keep." : "Every pad is read. Keep it.",
    ];
  const wrong = held.find((item) => item.wrong);
  if (wrong?.wrong && !moving.length) [kind, says, why] = ["broken", "Check it", wrong.wrong];
  now.stuck = trouble?.trouble === "stuck" && kind === "broken" ? trouble.pad : null;
  maybe("believe", HTMLElement)?.toggleAttribute("hidden", !now.stuck);
  $("board").className = `sign-board side ${kind}`;
  if ($("says").textContent !== says) $("says").textContent = says;
  if ($("why").textContent !== (now.notice ?? why)) $("why").textContent = now.notice ?? why;
  const sum = held.reduce((total, item) => total + Number(item.value), 0);
  $("sum").textContent = held.length ? format(sum) : "–";
  const used = [...new Set(held.map((item) => item.pad))];
  const division = Math.max(0, ...(used.length ? used : names).map((name) => day.instruments[name]?.division ?? 0));
  $("sum-of").textContent = division ? `${day.unit}, d ${format(division)}` : day.unit;
}

// A notice stands for some seconds over whatever the loads say, and is spoken.
/** @type {(words: string) => void} */
function announce(words) {
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

// ---- the keypad ----

/** @type {Keypad} */
const keypad = new Keypad(element("keypad", HTMLDialogElement), {
  typed(place, text) {
    if (text === null) forget(place);
    else now.read.set(place, { text, pad: now.read.get(place)?.pad ?? choosePad(place) });
    paint();
  },
  pad(place, pad) {
    for (const [other, item] of now.read) if (item.pad === pad && other !== place) now.read.delete(other);
    places.set(pad, place);
    const item = now.read.get(place);
    if (item) item.pad = pad;
    paint();
  },
  next(place) {
    if (reading(place)?.wrong) return keypad.insist();
    const onward = nextWheel(place);
    if (onward) return openKeypad(onward);
    keypad.close();
    if (now.read.size) keep();
  },
  nextWords: (place) => (nextWheel(place) ? "Next wheel" : now.read.size ? "Keep draft" : "Done"),
  warn(place, text) {
    const { value, wrong } = meant(text, now.read.get(place)?.pad ?? choosePad(place));
    if (wrong) return { words: wrong, stops: true };
    const limit = day.ratings[place];
    return {
      words:
        limit && value > limit
          ? `Over this ${shown().aboard(place) ? "coupling" : "wheel"}'s rating of ${format(limit)}.`
          : "",
      stops: false,
    };
  },
  closed(place) {
    now.rig?.choose(null);
    if (place) now.rig?.focus(place);
  },
});

/** @type {(place: string) => string} */
function choosePad(place) {
  const taken = new Set([...now.read].filter(([other]) => other !== place).map(([, item]) => item.pad));
  const usual = places.padAt(place) ?? places.usual(place);
  if (usual && !taken.has(usual)) return usual;
  const free = names.filter((name) => !taken.has(name));
  const kind = shown().aboard(place) ? "platform" : "pad";
  return free.find((name) => day.instruments[name].kind === kind) ?? free[0] ?? usual ?? names[0];
}

/** @type {(place: string) => string | null} */
function nextWheel(place) {
  const order = shown().grounded();
  const taken = new Set([...now.read.values()].map((item) => item.pad));
  if (names.length && taken.size >= names.length) return null;
  const at = order.indexOf(place);
  return [...order.slice(at + 1), ...order.slice(0, at)].find((other) => !now.read.has(other)) ?? null;
}

/** @type {(place: string | undefined) => void} */
function openKeypad(place) {
  if (!day.mayWeigh || place === undefined) return;
  const full =
    !now.read.has(place) &&
    names.length &&
    new Set([...now.read.values()].map((item) => item.pad)).size >= names.length;
  if (full) {
    announce("Every pad is read. Keep this draft first.");
    return $("keep").focus();
  }
  bench.close();
  shown().choose(place);
  const item = now.read.get(place);
  photos.at(place);
  keypad.open(place, {
    title: shown().spoken(place),
    value: item ? item.text : "",
    instruments: names,
    instrument: item?.pad ?? choosePad(place),
  });
}

// ---- keeping ----

// A second tap in a row means the same draft: with live loads it would keep it twice.
async function keep() {
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

// Resolves to whether something was kept.
/** @type {() => Promise<boolean>} */
async function keepDraft() {
  if (!now.rig) return false;
  dropStale();
  let held = ready();
  const stop = blocker(held);
  if (stop) {
    announce(`Not kept: ${doubted(held) ?? `${stop}.`}`);
    return false;
  }
  const before = held;
  const moving = readings().find((item) => item.moving);
  if (
    moving &&
    (await ask(
      "Still unsteady",
      [`${moving.pad} has not settled. Wait for the steady sign, or keep it as it is.`],
      ["Wait", "Keep it anyway"],
    )) !== 1
  )
    return false;
  // the question may have stood for long: what is kept is what the pads say now
  dropStale();
  held = ready();
  if (held.length < before.length || blocker(held)) {
    paint();
    announce("Not kept: a pad shows no reading any more. Look again.");
    return false;
  }
  const key = makeKey();
  const body = draftOf(key, held);
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
      sent({ item, answer: await call("POST", day.links.drafts, { json: body }) });
    } catch (error) {
      announce(`Not kept: ${wordsOf(error)}. Leave the page open and try again.`);
      return false;
    }
    for (const one of pictures) await sendNow(one);
  }
  now.last = body.placement;
  places.remember(body.readings);
  cleared();
  photos.went(going);
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

/** @type {(key: string, held: Page.Held[]) => Page.DraftBody} */
function draftOf(key, held) {
  const before = now.correcting?.json;
  /** @type {Page.DraftBody} */
  const body = {
    key,
    state: now.state,
    at: before?.at ?? new Date().toISOString().replace(/\.\d+Z$/, "Z"),
    readings: Object.fromEntries(held.map((item) => [item.place, [item.pad, Number(item.value)]])),
  };
  if (label.value.trim()) body.label = label.value.trim();
  if (note.value.trim()) body.note = note.value.trim();
  // Drafts of one placement share how the ground and the pads lie; every draft begins one that the next may join.
  const joined = before && ownPlacement(before) !== before.placement ? before.placement : now.last;
  body.placement = (samePlacement.checked && joined) || ownPlacement(body);
  Object.assign(body, walk.supports(body));
  return body;
}

/** @type {(draft: { key: string }) => string} */
const ownPlacement = ({ key }) => `at-${key.slice(0, 8)}`;

function cleared() {
  now.read.clear();
  now.correcting = null;
  for (const field of [note, label]) field.value = "";
  samePlacement.checked = false;
  paint();
}

// What was refused, back on the wheels. It leaves the queue only once something is kept in its place.
/** @type {(item: Page.Waiting<Page.QueuedDraft>, pictures: Page.TakenPhoto[]) => Promise<void>} */
async function putBack(item, pictures) {
  if (now.correcting?.order === item.order) {
    // from before a reload, with what was changed since
    announce("It is on the wheels already. Put it right, then keep it.");
    shown().focus(readings().find((one) => one.wrong)?.place ?? shown().places()[0]);
    return;
  }
  const wheels = Object.keys(item.json.readings);
  /** @type {(id: string) => boolean} */
  const fits = (id) => {
    const rig = rigs.get(day.states[id]?.rig)?.rig;
    return rig !== undefined && wheels.every((place) => rig.wheels.has(place));
  };
  const state = [item.json.state, now.state, ...Object.keys(day.states)].find(fits);
  if (!state) {
    announce("No state of this day has these wheels. Make one first.");
    return;
  }
  if (
    now.read.size &&
    (await ask(
      "Readings stand on the wheels",
      ["They were typed and not kept. The refused draft would take their place."],
      ["Leave them", "Put it in their place"],
    )) !== 1
  )
    return;
  cleared();
  if (state !== now.state) setState(state);
  for (const [place, [pad, value]] of Object.entries(item.json.readings)) {
    now.read.set(place, { text: written(value, 6), pad });
    if (day.instruments[pad]) places.set(pad, place);
  }
  label.value = item.json.label ?? "";
  note.value = item.json.note ?? "";
  samePlacement.checked = Boolean(item.json.placement) && item.json.placement !== ownPlacement(item.json);
  photos.carry(pictures);
  now.correcting = item;
  bench.close();
  announce(
    state === item.json.state
      ? "Back on the wheels. Put it right, then keep it."
      : `Back on the wheels, in ${state}. Choose its state, put it right, keep it.`,
  );
  shown().focus(readings().find((one) => one.wrong)?.place ?? wheels[0]);
  $("plan").scrollIntoView({ block: "nearest" });
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
    setState(draft.state);
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
  announce,
  refresh,
});

// ---- what became of it ----

const bench = new Bench(day, ask);
const refusals = new Refusals(day, { format, putBack, refresh, theirs });
/** @type {Map<string, Page.OnDisk>} */
const onDisk = new Map();
/** @type {Page.Waiting[]} */
let waiting = [];

/** @type {(news: Page.Sent) => void} */
function sent({ item, answer }) {
  if (item.day !== day.day || !answer) return;
  if (answer.data?.seq) live.knows(answer.data.seq);
  if (item.what !== "draft") return;
  const number = answer.data?.number ?? null;
  onDisk.set(item.key, { number, json: item.json });
  bench.draft({ key: item.key, number, state: item.json.state, readings: item.json.readings });
}

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
  $("net").classList.toggle("away", Boolean(hindered) || waiting.some((item) => item.refused));
  const says = standing(waiting, hindered);
  if ($("net-says").textContent !== says) $("net-says").textContent = says;
}

function listDrafts() {
  const old = day.drafts.filter((draft) => !onDisk.has(draft.key));
  walk.look(
    old,
    [...onDisk].map(([key, { number, json }]) => ({ key, number, ...json })),
    waiting,
  );
  list({
    waiting,
    onDisk: [...onDisk.values()].reverse(),
    old,
    format,
    mayWeigh: day.mayWeigh,
    correct: (item) => refusals.correct(item),
    drop: (item) => refusals.drop(item),
    again: retry,
  });
}

// ---- the day as others change it ----

// What another device made: states, cargo, drafts that the stream did not tell of. Resolves to the day as it is there.
/** @type {() => Promise<Page.Pads | null>} */
async function refresh() {
  /** @type {{ day: Page.Pads, rigs: HTMLElement[] } | null} */
  const found = await fetchDay().catch(() => null);
  if (!found) return null;
  for (const box of found.rigs)
    if (!rigs.has(box.dataset.rig ?? "")) takeRig($("plan").appendChild(document.adoptNode(box)));
  for (const [id, state] of Object.entries(found.day.states)) {
    if (!day.states[id]) strip.add(id);
    if (!day.states[id]?.made) day.states[id] = state;
  }
  Object.assign(day.instruments, found.day.instruments);
  Object.assign(day.ratings, found.day.ratings);
  Object.assign(day.cargo, found.day.cargo);
  for (const draft of found.day.drafts) {
    onDisk.delete(draft.key);
    if (!day.drafts.some((one) => one.number === draft.number)) day.drafts.push(draft);
  }
  live.knows(found.day.seq);
  for (const [key, { box }] of rigs) box.hidden = key !== day.states[now.state]?.rig;
  if (!now.rig) setState(found.day.state, { quiet: true }); // the day had no state before
  listDrafts();
  paint();
  return found.day;
}

// A name that another device took first means what it means there.
/** @type {(name: string, state: Page.State, mine: string | null) => void} */
function theirs(name, state, mine) {
  day.states[name] = state;
  if (now.state === name) setState(mine && day.states[mine] ? mine : name);
}

// ---- live loads ----

const live = new Live(day.links, day.seq, {
  loads({ channels }) {
    now.silent = false;
    now.heard = Date.now();
    day.live = true;
    for (const [name, one] of Object.entries(channels)) now.live.set(name, one);
    paint();
  },
  stance(data) {
    // The simulated rig says how it stands; whoever is typing is left alone.
    now.follows = true;
    if (data.number !== null && data.state !== null && day.states[data.state] && !now.read.size) {
      if (data.state !== now.state) setState(data.state, { quiet: true });
      places.follow(data.places, shown());
      $("state-is").textContent = `Simulated: ${data.label}. ${day.states[now.state].said}`;
    }
    paint();
  },
  draft(data) {
    // Our own come back too, sometimes before the answer to the request that kept them.
    if (
      onDisk.has(data.key) ||
      day.drafts.some((draft) => draft.key === data.key) ||
      waiting.some((item) => item.key === data.key)
    )
      return;
    onDisk.set(data.key, {
      number: data.number,
      json: { label: data.title === data.key ? "" : data.title, state: data.state },
    });
    bench.elsewhere();
    listDrafts();
  },
  entry(data) {
    if (data.kind === "corrections") bench.elsewhere();
    else if (data.kind !== "photographs" && !maker?.own.has(data.key)) refresh();
  },
  findings() {
    bench.ready();
  },
  plan() {
    walk.renew();
  },
  store({ there, error }) {
    now.storeAway = there ? null : (error ?? "");
    lamp();
    paint();
    if (there) flush();
  },
  missed() {
    refresh();
    bench.elsewhere();
  },
  silent() {
    if (day.live) {
      now.silent = true;
      now.live.clear();
      paint();
    }
  },
  gone() {
    now.gone = true;
    now.live.clear();
    lamp();
    paint();
  },
  back() {
    now.gone = false;
    lamp();
    paint();
    flush();
  },
});

const maker = day.mayWeigh
  ? new StateMaker(day, { current: () => now.state, made: (id) => setState(id), tab: (id) => strip.add(id) })
  : null;
const left = day.mayWeigh ? slate.read() : null;
let begun = day.state;
if (left && day.states[left.state]) begun = left.state;
else
  try {
    begun = sessionStorage.getItem(`state ${day.day}`) ?? begun;
  } catch {
    /* the day's own */
  }
setState(day.states[begun] ? begun : day.state, { quiet: true });
if (left) takeBack(left);
if (day.mayWeigh) photos.back();
slate.begin();
remember();

// What was typed before and not kept, back on its wheels.
/** @type {(left: Page.Left<Page.TypedDraft>) => void} */
function takeBack(left) {
  const { read, aside = [], correcting = null, when } = left;
  now.aside = new Map(
    [...read, ...aside].filter(([place, item]) => typeof place === "string" && typeof item?.text === "string"),
  );
  setAside();
  for (const [place, { pad }] of now.read) if (day.instruments[pad]) places.set(pad, place);
  label.value = left.label ?? "";
  note.value = left.note ?? "";
  samePlacement.checked = left.same ?? false;
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

function throwAway() {
  now.aside.clear();
  cleared();
  photos.clear();
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

// Straight from the answers about a new rig: the first wheel waits for its figure.
if (location.hash === "#first") {
  history.replaceState(null, "", location.pathname);
  forgetFields("typed new rig");
  if (!day.drafts.length && now.rig) openKeypad(now.rig.places()[0]);
}
walk.begin();
document.body.dataset.ready = "yes";
