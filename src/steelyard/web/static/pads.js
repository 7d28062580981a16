// At the pads: what is read, what is kept, what it changed. The parts are in their own files; this one joins them.

import { Rig } from "./rig.js";
import { Keypad } from "./keypad.js";
import { Live } from "./live.js";
import { Bench } from "./bench-of-draft.js";
import { StateMaker } from "./states.js";
import { PadPlaces } from "./placement.js";
import { call, makeKey } from "./api.js";
import { discard, flush, keep as keepOnDevice, onChange, retry } from "./outbox.js";

const day = JSON.parse(document.getElementById("page-data").textContent);
const $ = (id) => document.getElementById(id);
const format = (value) => Number(value).toLocaleString("en", { maximumFractionDigits: 3 });
const names = Object.keys(day.instruments);
const EMPTY = 5; // divisions

const now = { state: null, rig: null, read: new Map(), live: new Map(), gone: null, last: null };
const places = new PadPlaces(day, () => { paint(); });

// ---- the drawing and the state ----

const rigs = new Map();
for (const box of document.querySelectorAll("[data-rig]")) {
  rigs.set(box.dataset.rig, { box, rig: new Rig(box, { format, onChoose: openKeypad }) });
}

function setState(id, { quiet = false } = {}) {
  const state = day.states[id];
  if (!state) return;
  now.state = id;
  for (const button of $("states").querySelectorAll("[data-state]")) button.setAttribute("aria-pressed", String(button.dataset.state === id));
  for (const [key, { box }] of rigs) box.hidden = key !== state.rig;
  now.rig = rigs.get(state.rig).rig;
  for (const place of [...now.read.keys()]) if (!now.rig.wheels.has(place)) now.read.delete(place);
  places.fit(now.rig.places(), id);
  $("state-is").textContent = state.said;
  if (!quiet) try { sessionStorage.setItem(`state ${day.day}`, id); } catch { /* only a comfort */ }
  paint();
}

$("states").addEventListener("click", (event) => {
  const button = event.target.closest("[data-state]");
  if (button) setState(button.dataset.state);
});

// ---- readings ----

// What stands at a place now: typed by hand, else live from the pad that stands there.
function reading(place) {
  const typed = now.read.get(place);
  if (typed) return { value: typed.value, pad: typed.pad, hand: true };
  const pad = places.padAt(place);
  const live = pad && now.live.get(pad);
  if (!live) return null;
  // A pad that shows next to nothing has no wheel on it: whoever means it types it.
  const empty = !live.trouble && Math.abs(live.value ?? 0) < EMPTY * (day.instruments[pad]?.division ?? 0);
  return { value: live.trouble || empty ? null : live.value, pad, empty, moving: !live.steady, trouble: live.trouble ? live.short ?? "trouble" : null, why: live.trouble ?? live.why };
}

const readings = () => now.rig.places().map((place) => ({ place, ...reading(place) })).filter((item) => item.pad);
const ready = () => readings().filter((item) => item.value !== null && item.value !== undefined);

function paint() {
  if (!now.rig) return;
  for (const place of now.rig.places()) now.rig.show(place, reading(place), day.ratings[place]);
  board();
  const held = ready();
  const button = $("keep");
  if (!button) return;
  const stop = blocker(held);
  button.setAttribute("aria-disabled", String(Boolean(stop)));
  $("keep-says").textContent = stop ?? `${held.length} of ${now.rig.places().length} wheels, ${now.state}`;
}

// Who types what a display shows is not held up by a pad whose cable is off.
function blocker(held) {
  const all = readings();
  const bad = all.find((item) => item.trouble);
  if (bad && !all.some((item) => item.hand)) return `${bad.pad} is no reading`;
  if (!held.length) return all.some((item) => item.empty) ? "the pads are empty" : "no wheel read yet";
  return null;
}

function board() {
  const held = ready();
  const all = readings();
  const live = all.filter((item) => !item.hand && !item.empty);
  const empty = all.length > 0 && all.every((item) => item.empty);
  const trouble = live.find((item) => item.trouble);
  const moving = live.filter((item) => item.moving && !item.trouble);
  let [kind, says, why] = ["", "By hand", "Tap a wheel and type what its pad shows."];
  if (now.gone && day.live) [kind, says, why] = ["broken", "Not live", now.gone];
  else if (empty) [kind, says, why] = ["", "Empty", now.follows ? "The simulated rig drives on in a moment." : "Drive onto the pads, or tap a wheel and type."];
  else if (trouble && !held.some((item) => item.hand)) [kind, says, why] = ["broken", "No reading", trouble.why];
  else if (moving.length) [kind, says, why] = ["unsteady", "Unsteady", moving[0].why ?? "wait until it stands still"];
  else if (live.length) [kind, says, why] = ["steady", "Steady", "Keep it now."];
  else if (held.length) [kind, says, why] = ["", "By hand", held.length < names.length ? "Next wheel, or keep." : "Every pad is read. Keep it."];
  now.stuck = trouble?.trouble === "stuck" && kind === "broken" ? trouble.pad : null;
  if ($("believe")) $("believe").hidden = !now.stuck;
  $("board").className = `sign-board ${kind}`;
  if ($("says").textContent !== says) $("says").textContent = says;
  if ($("why").textContent !== why) $("why").textContent = why;
  const sum = held.reduce((total, item) => total + Number(item.value), 0);
  $("sum").textContent = held.length ? format(sum) : "–";
  const used = [...new Set(held.map((item) => item.pad))];
  const division = Math.max(0, ...(used.length ? used : names).map((name) => day.instruments[name]?.division ?? 0));
  $("sum-of").textContent = `${day.unit}, d ${format(division)}`;
}

// ---- the keypad ----

const keypad = new Keypad($("keypad"), {
  typed(place, text) {
    if (text === null) now.read.delete(place);
    else now.read.set(place, { value: Number(text), pad: now.read.get(place)?.pad ?? choosePad(place) });
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
    const onward = nextWheel(place);
    if (onward) return openKeypad(onward);
    keypad.close();
    if (now.read.size) keep();
  },
  nextWords: (place) => (nextWheel(place) ? "Next wheel" : now.read.size ? "Keep draft" : "Done"),
  warn(place, value) {
    const pad = now.read.get(place)?.pad ?? choosePad(place);
    const box = day.instruments[pad];
    if (!box) return "";
    if (value > box.capacity) return `More than ${pad} may carry (${format(box.capacity)} ${day.unit}).`;
    const steps = value / box.division;
    if (Math.abs(steps - Math.round(steps)) > 1e-6) return `${pad} shows steps of ${format(box.division)}. Typed right?`;
    const limit = day.ratings[place];
    return limit && value > limit ? `Over this wheel's rating of ${format(limit)}.` : "";
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
  return names.find((name) => !taken.has(name)) ?? usual ?? names[0];
}

function nextWheel(place) {
  const order = now.rig.places();
  const taken = new Set([...now.read.values()].map((item) => item.pad));
  if (names.length && taken.size >= names.length) return null;
  const at = order.indexOf(place);
  return [...order.slice(at + 1), ...order.slice(0, at)].find((other) => !now.read.has(other)) ?? null;
}

function openKeypad(place) {
  if (!day.mayWeigh || place === undefined) return;
  const full = !now.read.has(place) && names.length && new Set([...now.read.values()].map((item) => item.pad)).size >= names.length;
  if (full) {
    announce("Every pad is read. Keep this draft first.");
    return $("keep").focus();
  }
  bench.close();
  now.rig.choose(place);
  const item = now.read.get(place);
  keypad.open(place, { title: now.rig.spoken(place), value: item ? String(item.value) : "", instruments: names, instrument: item?.pad ?? choosePad(place) });
}

function announce(words) {
  $("why").textContent = words;
}

// ---- keeping ----

// A second tap in a row means the same draft: with live loads it would keep it twice.
async function keep() {
  if (now.keeping) return;
  now.keeping = true;
  try { await keepDraft(); } finally { setTimeout(() => { now.keeping = false; }, 700); }
}

async function keepDraft() {
  const held = ready();
  const stop = blocker(held);
  if (stop) { announce(`Not kept: ${stop}.`); return; }
  const moving = readings().find((item) => item.moving);
  if (moving && !(await ask("Still unsteady", [`${moving.pad} has not settled. Wait for the steady sign, or keep it as it is.`], ["Wait", "Keep it anyway"]))) return;
  const key = makeKey();
  const body = { key, state: now.state, at: new Date().toISOString().replace(/\.\d+Z$/, "Z"), readings: Object.fromEntries(held.map((item) => [item.place, [item.pad, Number(item.value)]])) };
  if ($("label").value.trim()) body.label = $("label").value.trim();
  if ($("note").value.trim()) body.note = $("note").value.trim();
  // Drafts of one placement share how the ground and the pads lie; every draft begins one that the next may join.
  body.placement = $("same-placement").checked && now.last ? now.last : `at-${key.slice(0, 8)}`;
  now.last = body.placement;
  const photo = $("photo").files[0];
  if (photo && photo.size > 5e6) { announce("The photo is over 5 MB. Take a smaller one."); return; }
  const state = day.states[now.state];
  const item = { day: day.day, what: "draft", key, method: "POST", url: day.links.drafts, json: body, after: state.made, state: now.state };
  try {
    await keepOnDevice(item);
    if (photo) await keepOnDevice({ day: day.day, what: "photo", key: `${key}-photo`, method: "PUT", url: day.links.photo.replace("KEY", key), blob: photo, after: key });
  } catch {
    // No room on the device: straight to the station, and nothing is said to be kept unless it says so.
    try { sent({ item, answer: await call("POST", day.links.drafts, { json: body }) }); } catch (error) { announce(`Not kept: ${error.message}. Leave the page open and try again.`); return; }
  }
  places.remember(body.readings);
  now.read.clear();
  for (const id of ["label", "note", "photo"]) $(id).value = "";
  $("same-placement").checked = false;
  paint();
}

$("believe")?.addEventListener("click", async () => {
  try { await call("POST", day.links.believe.replace("NAME", encodeURIComponent(now.stuck)), { json: {} }); } catch (error) { announce(error.message); }
});
$("keep")?.addEventListener("click", keep);
$("more")?.addEventListener("click", () => { places.open($("extras"), now.rig, now.state); });

// ---- what became of it ----

const bench = new Bench(day, { ask, focusWheel: (place) => now.rig.focus(place) });
const onDisk = new Map();
let waiting = [];

function sent({ item, answer, error }) {
  if (item.day !== day.day || !answer) return;
  if (item.what === "draft") {
    const number = answer.data?.number ?? null;
    onDisk.set(item.key, { number, json: item.json });
    bench.draft({ key: item.key, number, state: item.json.state, readings: item.json.readings });
  }
  if (error) announce(error.message);
}

onChange(({ items, away, sent: done }) => {
  if (done?.answer) sent(done);
  const mine = items.filter((item) => item.day === day.day);
  const drafts = mine.filter((item) => item.what === "draft");
  const net = $("net");
  net.classList.toggle("away", Boolean(away) || mine.some((item) => item.refused));
  const wait = drafts.length ? `${drafts.length} waiting on this device` : "All on disk";
  const says = away === "not paired" ? `Not paired: ${wait}` : away ? `No station: ${wait}` : wait;
  if ($("net-says").textContent !== says) $("net-says").textContent = says;
  if (away === "no answer" && drafts.length) bench.away(drafts.length);
  waiting = mine;
  listDrafts();
});

function listDrafts() {
  const lines = [
    ...waiting.filter((item) => item.what !== "photo").reverse().map((item) => line(item.json.label || (item.what === "state" ? `state ${item.shown}` : item.json.state), summary(item.json.readings), item.refused ? `refused: ${item.refused}` : "waiting on this device", item.refused ? "refused" : "waiting", item)),
    ...[...onDisk.values()].reverse().map(({ number, json }) => line(`${number ? `${number}. ` : ""}${json.label || json.state}`, json.readings ? summary(json.readings) : "from another device", "on disk", "disk")),
    ...[...day.drafts].reverse().filter((draft) => !onDisk.has(draft.key)).map((draft) => line(`${draft.number}. ${draft.label || draft.state}`, summary(draft.readings), "on disk", "disk")),
  ];
  $("kept").replaceChildren(...lines);
  $("none-kept").hidden = lines.length > 0;
}

function line(title, what, where, kind, item) {
  const row = document.createElement("li");
  const left = row.appendChild(document.createElement("div"));
  left.append(Object.assign(document.createElement("b"), { textContent: title }), Object.assign(document.createElement("div"), { textContent: what, className: "soft small" }));
  row.append(Object.assign(document.createElement("span"), { textContent: where, className: `where ${kind}` }));
  if (item?.refused) {
    const acts = row.appendChild(Object.assign(document.createElement("div"), { className: "row" }));
    const again = Object.assign(document.createElement("button"), { type: "button", textContent: "Send again" });
    again.onclick = () => retry(item);
    const drop = Object.assign(document.createElement("button"), { type: "button", textContent: "Throw away" });
    drop.onclick = async () => { if (await ask("Throw this draft away?", [what], ["Leave it", "Throw away"])) discard(item.order); };
    acts.append(again, drop);
  }
  return row;
}

function summary(readings = {}) {
  const entries = Object.entries(readings);
  const words = entries.slice(0, 4).map(([place, [, value]]) => `${place.split("/").pop()} ${format(value)}`).join("  ");
  return entries.length > 4 ? `${words} …` : words;
}

// A question in a dialog; resolves to true for the second answer.
function ask(title, lines, [no, yes]) {
  const dialog = $("question");
  $("question-head").textContent = title;
  $("question-body").replaceChildren(...lines.map((words) => Object.assign(document.createElement("p"), { textContent: words })));
  return new Promise((resolve) => {
    const make = (words, value, main) => {
      const button = Object.assign(document.createElement("button"), { type: "button", textContent: words, className: main ? "main" : "" });
      button.onclick = () => { dialog.close(value); };
      return button;
    };
    $("question-acts").replaceChildren(make(no, "no", true), ...(yes ? [make(yes, "yes", false)] : []));
    dialog.onclose = () => resolve(dialog.returnValue === "yes");
    dialog.returnValue = "";
    if (!dialog.open) dialog.showModal();
  });
}

// ---- live loads ----

if (day.links.events) {
  new Live(day.links.events, {
    loads({ channels }) {
      now.gone = null;
      day.live = true;
      for (const [name, live] of Object.entries(channels)) now.live.set(name, live);
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
      if (onDisk.has(data.key) || day.drafts.some((draft) => draft.key === data.key) || waiting.some((item) => item.key === data.key)) return;
      onDisk.set(data.key, { number: data.number, json: { label: data.title === data.key ? "" : data.title, state: data.state } });
      bench.elsewhere();
      listDrafts();
    },
    silent() { if (day.live) { now.gone = "Nothing heard for some seconds."; paint(); } },
    gone(words) { now.gone = words; now.live.clear(); paint(); },
    back() { now.gone = null; flush(); paint(); },
  });
}

if (day.mayWeigh) new StateMaker(day, { current: () => now.state, made: (id) => setState(id) });
let first = day.state;
try { first = sessionStorage.getItem(`state ${day.day}`) ?? first; } catch { /* the day's own */ }
setState(day.states[first] ? first : day.state, { quiet: true });
document.body.dataset.ready = "yes";
