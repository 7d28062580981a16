// At the pads: what is read, what is kept, what it changed. The parts are in their own files; this one joins them.

import { closest, element, every } from "./dom.js";
import { Rig } from "./rig.js";
import { Keypad } from "./keypad.js";
import { Live } from "./live.js";
import { Bench } from "./bench-of-draft.js";
import { StateMaker } from "./states.js";
import { PadPlaces } from "./placement.js";
import { Refusals } from "./refused.js";
import { call, makeKey } from "./api.js";
import { ask } from "./question.js";
import { fetchDay } from "./fresh.js";
import { impossible } from "./limits.js";
import { formatNumber, readNumber, written } from "./number.js";
import { list, standing } from "./kept.js";
import { Walk } from "./plan-walk.js";
import { OLD, Slate, ago } from "./slate.js";
import { forgetFields } from "./fields.js";
import { keepPhoto, photoLeft } from "./photo.js";
import { all } from "./store.js";
import { flush, onChange, photoOf, replace, retry } from "./outbox.js";

const day = JSON.parse(document.getElementById("page-data").textContent);
const $ = (id) => document.getElementById(id);
const format = (value) => formatNumber(Number(value), 3);
const names = Object.keys(day.instruments);
const EMPTY = 5; // divisions
const EDGE = 3; // px around the states, where the focus shows
const FADED = 43; // px at the right of the strip, where it fades while there are more states
const NOTICE = 6000; // ms that a notice stands where the loads say how they are

const AGE = 6000; // ms after which a live load that was heard is none any more; an unchanged one is told every four seconds

// read: typed on the wheels that are shown; aside: typed on wheels that this state does not have
const now = {
  state: null,
  rig: null,
  read: new Map(),
  aside: new Map(),
  heard: 0,
  live: new Map(),
  gone: false,
  silent: false,
  away: null,
  last: null,
  correcting: null,
  photo: null,
};
const slate = new Slate(`typed ${day.day}`);
const places = new PadPlaces(day, () => {
  paint();
});

// ---- the drawing and the state ----

const rigs = new Map();
function takeRig(box) {
  rigs.set(box.dataset.rig, { box, rig: new Rig(box, { format, onChoose: day.mayWeigh ? openKeypad : null }) });
}
document.querySelectorAll("[data-rig]").forEach(takeRig);

function setState(id, { quiet = false } = {}) {
  const state = day.states[id];
  if (!state) return;
  now.state = id;
  for (const [key, { box, rig }] of rigs) {
    box.hidden = key !== state.rig;
    rig.say(null, null);
  }
  for (const button of every($("states"), "[data-state]", HTMLElement))
    button.setAttribute("aria-pressed", String(button.dataset.state === id));
  intoView($("states").querySelector(`[data-state="${CSS.escape(id)}"]`));
  now.rig = rigs.get(state.rig).rig;
  setAside();
  places.fit(now.rig.places());
  $("state-is").textContent = state.said;
  if (!quiet)
    try {
      sessionStorage.setItem(`state ${day.day}`, id);
    } catch {
      /* only a comfort */
    }
  paint();
}

// Sideways only: the page under the hand must not move.
function intoView(tab) {
  const strip = $("states");
  const left = tab.offsetLeft - strip.offsetLeft;
  const right = left + tab.offsetWidth + FADED;
  if (left - EDGE < strip.scrollLeft) strip.scrollLeft = left - EDGE;
  else if (right > strip.scrollLeft + strip.clientWidth) strip.scrollLeft = right - strip.clientWidth;
  fade();
}

function fade() {
  const strip = $("states");
  strip.classList.toggle("more", strip.scrollLeft + strip.clientWidth < strip.scrollWidth - 4);
}
$("states").addEventListener("scroll", fade, { passive: true });
addEventListener("resize", () => {
  fade();
  paint();
});

function addTab(id) {
  const button = Object.assign(document.createElement("button"), { type: "button", textContent: id });
  button.dataset.state = id;
  button.setAttribute("aria-pressed", "false");
  $("states").append(button);
  fade();
}

$("states").addEventListener("click", (event) => {
  const button = closest(event.target, "[data-state]");
  if (button) setState(button.dataset.state);
});

// ---- readings ----

// What stands at a place now: typed by hand, else live from the pad that stands there.
function reading(place) {
  const typed = now.read.get(place);
  if (typed) return { ...meant(typed.text, typed.pad), pad: typed.pad, hand: true };
  const pad = places.padAt(place);
  const live = pad && now.live.get(pad);
  if (!live) return null;
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
function meant(text, pad) {
  const { value, words, readings: either } = readNumber(text.replace(/[.,]$/, ""));
  if (value !== null) return { value, wrong: fault(pad, value, true) };
  const both = (either ?? []).map((one) => readNumber(one).value),
    can = both.filter((one) => !fault(pad, one, true));
  if (can.length === 1) return { value: can[0], wrong: null };
  if (both.length && !can.length) return { value: both[0], wrong: fault(pad, both[0], true) };
  return { value: both[0] ?? 0, wrong: words, unclear: text };
}

const fault = (pad, value, hand) => impossible(pad, day.instruments[pad], value, { unit: day.unit, format, hand });
const readings = () =>
  now.rig
    .places()
    .map((place) => ({ place, ...reading(place) }))
    .filter((item) => item.pad);
const ready = () => readings().filter((item) => item.value !== null && item.value !== undefined);

// Another state may lack some of the wheels: what was typed there waits until they are shown again.
function setAside() {
  const { wheels } = now.rig;
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
  const [label, note] = [element("label", HTMLInputElement).value, element("note", HTMLTextAreaElement).value];
  const typed = now.read.size || now.aside.size || label || note;
  slate.write(
    typed
      ? {
          state: now.state,
          read: [...now.read],
          aside: [...now.aside],
          label,
          note,
          same: element("same-placement", HTMLInputElement).checked,
          correcting: now.correcting?.order ?? null,
        }
      : null,
  );
}
for (const id of ["label", "note", "same-placement"]) $(id)?.addEventListener("input", remember);

function forget(place) {
  now.read.delete(place);
  // With nothing left of it on the wheels, what comes next is another draft.
  if (now.read.size === 0) now.correcting = null;
}

function paint() {
  if (!now.rig) return;
  dropStale();
  remember();
  for (const place of now.rig.places()) now.rig.show(place, reading(place), day.ratings[place]);
  board();
  const held = ready();
  const wrong = held.find((item) => item.wrong);
  now.rig.say(wrong?.place, wrong?.wrong);
  const button = $("keep");
  if (!button) return;
  const stop = blocker(held);
  button.setAttribute("aria-disabled", String(Boolean(stop)));
  $("keep-says").textContent = stop ?? `${counted(held)}, ${now.state}`;
}

// "3 of 8 wheels", "the platform", or both.
function counted(held) {
  const aboard = held.filter((item) => now.rig.aboard(item.place)).length,
    ground = held.length - aboard;
  const platform = aboard > 1 ? `${aboard} platforms` : "the platform";
  return [ground || !aboard ? `${ground} of ${now.rig.grounded().length} wheels` : "", aboard ? platform : ""]
    .filter(Boolean)
    .join(" and ");
}

// Who types what a display shows is not held up by a pad whose cable is off. What no display can show, the station
// would refuse: it is said here, while the rig stands there.
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
  else if (now.silent) [kind, says, why] = ["broken", "Not live", "Nothing heard from the pads for some seconds."];
  else if (empty)
    [kind, says, why] = [
      "",
      "Empty",
      now.follows ? "The simulated rig drives on in a moment." : "Drive onto the pads, or tap a wheel and type.",
    ];
  else if (trouble && !held.some((item) => item.hand)) [kind, says, why] = ["broken", "No reading", trouble.why];
  else if (moving.length) [kind, says, why] = ["unsteady", "Unsteady", moving[0].why ?? "wait until it stands still"];
  else if (live.length) [kind, says, why] = ["steady", "Steady", day.mayWeigh ? "Keep it now." : "It stands still."];
  else if (held.length)
    [kind, says, why] = [
      "",
      "By hand",
      held.length < names.length ? "Next wheel, or keep." : "Every pad is read. Keep it.",
    ];
  const wrong = held.find((item) => item.wrong);
  if (wrong && !moving.length) [kind, says, why] = ["broken", "Check it", wrong.wrong];
  now.stuck = trouble?.trouble === "stuck" && kind === "broken" ? trouble.pad : null;
  if ($("believe")) $("believe").hidden = !now.stuck;
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

const keypad = new Keypad($("keypad"), {
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
          ? `Over this ${now.rig.aboard(place) ? "coupling" : "wheel"}'s rating of ${format(limit)}.`
          : "",
      stops: false,
    };
  },
  closed(place) {
    now.rig.choose(null);
    if (place) now.rig.focus(place);
  },
});

function choosePad(place) {
  const taken = new Set([...now.read].filter(([other]) => other !== place).map(([, item]) => item.pad));
  const usual = places.padAt(place) ?? places.usual(place);
  if (usual && !taken.has(usual)) return usual;
  const free = names.filter((name) => !taken.has(name));
  const kind = now.rig.aboard(place) ? "platform" : "pad";
  return free.find((name) => day.instruments[name].kind === kind) ?? free[0] ?? usual ?? names[0];
}

function nextWheel(place) {
  const order = now.rig.grounded();
  const taken = new Set([...now.read.values()].map((item) => item.pad));
  if (names.length && taken.size >= names.length) return null;
  const at = order.indexOf(place);
  return [...order.slice(at + 1), ...order.slice(0, at)].find((other) => !now.read.has(other)) ?? null;
}

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
  now.rig.choose(place);
  const item = now.read.get(place);
  keypad.open(place, {
    title: now.rig.spoken(place),
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
async function keepDraft() {
  if (!now.rig) return false;
  dropStale();
  let held = ready();
  const stop = blocker(held);
  if (stop) {
    announce(`Not kept: ${doubted(held) ?? `${stop}.`}`);
    return false;
  }
  const shown = held;
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
  if (held.length < shown.length || blocker(held)) {
    paint();
    announce("Not kept: a pad shows no reading any more. Look again.");
    return false;
  }
  const photo = element("photo", HTMLInputElement).files[0] ?? now.photo;
  if (photo && photo.size > 5e6) {
    announce("The photo is over 5 MB. Take a smaller one.");
    return false;
  }
  const key = makeKey();
  const body = draftOf(key, held);
  const item = {
    day: day.day,
    what: "draft",
    key,
    method: "POST",
    url: day.links.drafts,
    json: body,
    after: day.states[now.state].made,
    state: now.state,
  };
  try {
    const picture = {
      day: day.day,
      what: "photo",
      key: `${key}-photo`,
      method: "PUT",
      url: day.links.photo.replace("KEY", key),
      blob: photo,
      after: key,
    };
    await replace(now.correcting, photo ? [item, picture] : [item]);
  } catch {
    // No room on the device: straight to the station, and nothing is said to be kept unless it says so.
    try {
      sent({ item, answer: await call("POST", day.links.drafts, { json: body }) });
    } catch (error) {
      announce(`Not kept: ${error.message}. Leave the page open and try again.`);
      return false;
    }
  }
  now.last = body.placement;
  places.remember(body.readings);
  cleared();
  return true;
}

function draftOf(key, held) {
  const before = now.correcting?.json;
  const body = {
    key,
    state: now.state,
    at: before?.at ?? new Date().toISOString().replace(/\.\d+Z$/, "Z"),
    readings: Object.fromEntries(held.map((item) => [item.place, [item.pad, Number(item.value)]])),
  };
  if (element("label", HTMLInputElement).value.trim()) body.label = element("label", HTMLInputElement).value.trim();
  if (element("note", HTMLTextAreaElement).value.trim()) body.note = element("note", HTMLTextAreaElement).value.trim();
  // Drafts of one placement share how the ground and the pads lie; every draft begins one that the next may join.
  const joined = before && ownPlacement(before) !== before.placement ? before.placement : now.last;
  body.placement = (element("same-placement", HTMLInputElement).checked && joined) || ownPlacement(body);
  Object.assign(body, walk.supports(body));
  return body;
}

const ownPlacement = ({ key }) => `at-${key.slice(0, 8)}`;

function cleared() {
  now.read.clear();
  now.correcting = null;
  element("note", HTMLTextAreaElement).value = "";
  for (const id of ["label", "photo"]) element(id, HTMLInputElement).value = "";
  carryPhoto(null);
  keepPhoto(day.day, null);
  element("same-placement", HTMLInputElement).checked = false;
  paint();
}

// A photo that was taken for a refused draft goes along with what is made of it.
function carryPhoto(blob, words = "The photo of the refused draft goes along.") {
  now.photo = blob;
  $("photo-says").textContent = words;
  $("photo-carried").hidden = !blob;
}
$("photo-drop")?.addEventListener("click", () => {
  carryPhoto(null);
  keepPhoto(day.day, null);
  $("photo").focus();
});
$("photo")?.addEventListener("change", () => keepPhoto(day.day, element("photo", HTMLInputElement).files[0] ?? null));

// The photo that was chosen before a reload, if nothing else was chosen since.
async function photoBack() {
  const left = await photoLeft(day.day);
  if (!left || now.photo || element("photo", HTMLInputElement).files[0]) return;
  carryPhoto(left.blob, `The photo chosen ${ago(left.when)} goes along.`);
  if (Date.now() - left.when > OLD)
    announce(`A photo chosen ${ago(left.when)} goes with the next draft. See Pads, note.`);
}

// What was refused, back on the wheels. It leaves the queue only once something is kept in its place.
async function putBack(item, photo) {
  if (now.correcting?.order === item.order) {
    // from before a reload, with what was changed since
    announce("It is on the wheels already. Put it right, then keep it.");
    return now.rig.focus(readings().find((one) => one.wrong)?.place ?? now.rig.places()[0]);
  }
  const wheels = Object.keys(item.json.readings);
  const fits = (id) => day.states[id] && wheels.every((place) => rigs.get(day.states[id].rig).rig.wheels.has(place));
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
  element("label", HTMLInputElement).value = item.json.label ?? "";
  element("note", HTMLTextAreaElement).value = item.json.note ?? "";
  element("same-placement", HTMLInputElement).checked =
    Boolean(item.json.placement) && item.json.placement !== ownPlacement(item.json);
  carryPhoto(photo);
  now.correcting = item;
  bench.close();
  announce(
    state === item.json.state
      ? "Back on the wheels. Put it right, then keep it."
      : `Back on the wheels, in ${state}. Choose its state, put it right, keep it.`,
  );
  now.rig.focus(readings().find((one) => one.wrong)?.place ?? wheels[0]);
  $("plan").scrollIntoView({ block: "nearest" });
}

$("believe")?.addEventListener("click", async () => {
  try {
    await call("POST", day.links.believe.replace("NAME", encodeURIComponent(now.stuck)), { json: {} });
  } catch (error) {
    announce(error.message);
  }
});
$("keep")?.addEventListener("click", keep);
$("more")?.addEventListener("click", () => {
  $("throw-away").hidden = !(now.read.size || now.aside.size);
  places.open($("extras"), now.rig);
});

// ---- the plan ----

const walk = new Walk(day, {
  go(draft) {
    if (now.read.size || now.follows || !day.states[draft.state]) return false;
    setState(draft.state);
    const wheels = now.rig.wheels;
    places.follow(
      Object.fromEntries(
        Object.entries(draft.placements)
          .filter(([place]) => wheels.has(place))
          .map(([place, pad]) => [pad, place]),
      ),
      now.rig,
    );
    paint();
    return true;
  },
  announce,
  refresh,
});

// ---- what became of it ----

const bench = new Bench(day, { ask, focusWheel: (place) => now.rig.focus(place) });
const refusals = new Refusals(day, { format, putBack, refresh, theirs });
const onDisk = new Map();
let waiting = [];

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
  const hindered = now.gone ? "No station" : (now.away?.short ?? null);
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
async function refresh() {
  const found = await fetchDay().catch(() => null);
  if (!found) return null;
  for (const box of found.rigs) if (!rigs.has(box.dataset.rig)) takeRig($("plan").appendChild(document.adoptNode(box)));
  for (const [id, state] of Object.entries(found.day.states)) {
    if (!day.states[id]) addTab(id);
    if (!day.states[id]?.made) day.states[id] = state;
  }
  for (const key of ["instruments", "ratings", "cargo"]) Object.assign(day[key], found.day[key]);
  for (const draft of found.day.drafts) {
    onDisk.delete(draft.key);
    if (!day.drafts.some((one) => one.number === draft.number)) day.drafts.push(draft);
  }
  live.knows(found.day.seq);
  for (const [key, { box }] of rigs) box.hidden = key !== day.states[now.state].rig;
  listDrafts();
  paint();
  return found.day;
}

// A name that another device took first means what it means there.
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
    if (data.number !== null && day.states[data.state] && !now.read.size) {
      if (data.state !== now.state) setState(data.state, { quiet: true });
      places.follow(data.places, now.rig);
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
    if (data.kind === "correction") bench.elsewhere();
    else if (!maker?.own.has(data.key)) refresh();
  },
  findings() {
    bench.ready();
  },
  plan() {
    walk.renew();
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
  ? new StateMaker(day, { current: () => now.state, made: (id) => setState(id), tab: addTab })
  : null;
const left = day.mayWeigh ? slate.read() : null;
let first = day.state;
if (left && day.states[left.state]) first = left.state;
else
  try {
    first = sessionStorage.getItem(`state ${day.day}`) ?? first;
  } catch {
    /* the day's own */
  }
setState(day.states[first] ? first : day.state, { quiet: true });
if (left) takeBack(left);
if (day.mayWeigh) photoBack();
slate.begin();
remember();

// What was typed before and not kept, back on its wheels.
function takeBack({ read, aside = [], label = "", note = "", same = false, correcting = null, when }) {
  now.aside = new Map(
    [...read, ...aside].filter(([place, item]) => typeof place === "string" && typeof item?.text === "string"),
  );
  setAside();
  for (const [place, { pad }] of now.read) if (day.instruments[pad]) places.set(pad, place);
  element("label", HTMLInputElement).value = label;
  element("note", HTMLTextAreaElement).value = note;
  element("same-placement", HTMLInputElement).checked = same;
  if (correcting !== null) goOnCorrecting(correcting).catch(() => {});
  const wheels = now.read.size + now.aside.size;
  if (!wheels) return paint();
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
async function goOnCorrecting(order) {
  const item = (await all()).find((one) => one.order === order && one.refused);
  if (!item || !now.read.size) return;
  now.correcting = item;
  carryPhoto(await photoOf(item));
  remember();
}

function throwAway() {
  now.aside.clear();
  cleared();
}

$("throw-away")?.addEventListener("click", async () => {
  element("extras", HTMLDialogElement).close();
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
