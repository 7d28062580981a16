// Ask the rig: cargo moved on the plan, loads and verdicts that follow at once, the station's word when the hand is still.

import { Away, call, wordsOf } from "./api.js";
import { Acts, putBack, standing } from "./ask-acts.js";
import { hitched, offerHitches } from "./ask-hitch.js";
import { keeping } from "./ask-keep.js";
import { Changes } from "./ask-kept.js";
import { Aboard } from "./ask-list.js";
import { Model, answered } from "./ask-model.js";
import { newThings, standAt } from "./ask-new.js";
import { ALONE, alike, day, differs, fixed, now, question, titleOf, touched, wanted } from "./ask-now.js";
import { questions } from "./ask-open.js";
import { Plan } from "./ask-plan.js";
import { heed, judge, settle, table, tabs, tellContested } from "./ask-said.js";
import { ranked, sign, tell, word } from "./ask-sign.js";
import { asking, ownScripts } from "./asking.js";
import { watchStation } from "./away.js";
import { $, closest, element, every, fieldsIn, make } from "./dom.js";
import { Fields } from "./fields.js";
import { inAnyState, ofWheel, idText, parse } from "./finding-id.js";
import { formatNumber as show } from "./number.js";

/** @type {Map<string, Api.Influence>} */
const known = new Map([[day.state, day.influence]]); // influences by what was asked for
const changes = new Changes(day.day);
const scripts = await ownScripts();
const STILL = 300,
  AGAIN = 3000;

/** @type {Plan} */
const plan = new Plan($("plan"), day.step, {
  onMove: (name, x, y, done) => {
    Object.assign(now.cargo.get(name) ?? {}, { x, y });
    changed(done);
  },
  where: (name) => now.cargo.get(name),
  onChoose: (name) => aboard.choose(name),
  onOff: (name) => aboard.take(name, false),
  onTap: (vehicle, x, y) => {
    standAt(vehicle, x, y);
    plan.pin(vehicle, x, y);
    asks.tap(vehicle, x, y);
  },
});
/** @type {Aboard} */
const aboard = new Aboard(plan, changed);
/** @type {Acts} */
const acts = new Acts({ restore, tell, keep: () => changes.write(now, acts, differs) });

// ---- the state that is asked about ----

// How a state answers to loads, as the station has it.
/** @type {(asked: Api.ScenarioQuestion) => Promise<Api.Influence>} */
async function influence(asked) {
  /** @type {Page.Answer<Api.Influence>} */
  const { data } = await call("POST", day.links.influence, { json: asked });
  return data;
}

/** @type {(state: string, coupled: Page.Coupled) => Promise<Api.Influence | null>} */
async function answers(state, coupled) {
  const asked = question(state, coupled);
  const key = alike(coupled) ? state : JSON.stringify(asked);
  const there = known.get(key);
  if (there) return there;
  word("pending", "Asking the station …", "");
  try {
    const data = await influence(asked);
    known.set(key, data);
    return data;
  } catch (error) {
    word(
      "broken",
      error instanceof Away ? "The station does not answer" : "That cannot be",
      error instanceof Away ? "This state was not loaded yet; what was goes on working." : wordsOf(error),
    );
    return null;
  }
}

// What was asked for last is shown, whichever answer comes last.
let turn = 0;
/** @type {(state: string, coupled?: Page.Coupled, read?: Page.Asked["read"]) => Promise<boolean>} */
async function begin(state, coupled = ALONE, read = []) {
  const mine = (turn += 1),
    data = await answers(state, coupled);
  if (!data || mine !== turn) return false;
  Object.assign(now, { state, coupled, chosen: null, answer: null, refused: "" });
  now.model = new Model(data, day.tape);
  tellContested(data.under ?? []);
  now.first = now.model.start();
  putBack(read);
  const weighed = known.get(state),
    base = weighed ? new Model(weighed, day.tape) : now.model;
  now.before = base.predict(base.start());
  plan.draw(data.plan);
  for (const button of every($("states"), "button", HTMLButtonElement))
    button.setAttribute("aria-pressed", String(button.dataset.state === state));
  $("state-is").textContent = `${day.states[state].weighed ? "Weighed" : "Predicted"}: ${day.states[state].said}.`;
  offerHitches((coupled) => begin(now.state, coupled, standing().read));
  vehicles();
  asks.begin();
  changed(true);
  return true;
}

// As it was before an act, or after it.
/** @type {(asked: Page.Asked) => Promise<boolean>} */
async function restore({ state, coupled, read }) {
  plan.arrows([]);
  if (state !== now.state || JSON.stringify(coupled) !== JSON.stringify(now.coupled))
    return begin(state, coupled, read);
  putBack(read);
  changed(true);
  return true;
}

function vehicles() {
  const names = now.model.data.vehicles;
  for (const select of [element("new-on", HTMLSelectElement), element("map-on", HTMLSelectElement)]) {
    const before = select.value;
    select.replaceChildren(...names.map((name) => new Option(day.titles[name], name)));
    if (names.includes(before)) select.value = before;
  }
  tabs(names.map((name) => day.titles[name]));
}

newThings({
  plan,
  take: (name) => aboard.take(name, true),
  used,
  changed,
  say: (says, why) => word("pending", says, why),
});
$("as-it-was").addEventListener("click", () => {
  plan.arrows([]);
  restore({ state: now.state, coupled: ALONE, read: [] });
});

// ---- what it would carry ----

let frame = 0;
/** @type {Page.Verdict | null} */
let worst = null;
/** @type {(done: boolean) => void} */
function changed(done) {
  now.answer = null;
  now.refused = "";
  now.asked += 1;
  document.body.dataset.word = "none"; // of what is shown, until it is painted
  if (!frame)
    frame = requestAnimationFrame(() => {
      frame = 0;
      paint();
    });
  clearTimeout(now.timer);
  if (done) {
    now.timer = setTimeout(ask, STILL);
    acts.note();
  }
  changes.write(now, acts, differs);
}

async function ask() {
  if (!touched()) {
    now.pending = false;
    paint();
    asks.settled();
    tell();
    return;
  }
  const asked = now.asked;
  now.pending = false;
  try {
    /** @type {Page.Answer<Api.Findings>} */
    const { data } = await call("POST", day.links.whatif, { json: wanted() });
    if (asked !== now.asked) return;
    now.answer = answered(data, "what_if");
  } catch (error) {
    if (asked !== now.asked) return;
    if (error instanceof Away) {
      now.pending = true;
      now.timer = setTimeout(ask, AGAIN);
    } else now.refused = wordsOf(error);
  }
  paint();
  tell();
  if (now.answer) asks.settled();
}
addEventListener("online", () => {
  if (now.pending) ask();
});

function paint() {
  const found = now.model.predict(now.cargo);
  const sure = now.answer;
  const tips = sure !== null && sure.quantities.size === 0;
  if (sure) settle(found, sure, tips);
  else if (found.lifts) settle(found, { quantities: new Map(), verdicts: new Map() }, true);
  document.body.dataset.word = sure ? "station" : touched() ? "page" : "base";
  const order = ranked(found);
  worst = order.length ? order[0][1] : null;
  whose(found.lifts, tips);
  sign(found, order);
  aboard.show();
  table(found, day, now);
  judge(order, now);
  const about = sure || !touched() ? "" : "about ";
  const loads = new Map([...found.quantities].map(([id, item]) => [id, item.value === null ? "–" : show(item.value)]));
  const marks = new Map(
    [...found.verdicts]
      .filter(([id, item]) => ofWheel(id) && item.mark !== "within")
      .map(([id, item]) => [idText({ ...parse(id), limit: "" }), item.mark]),
  );
  plan.show(loads, marks);
  $("plan").classList.toggle("about", about !== "");
  heed(day.standing, sure?.cautions);
}

// Whose word the numbers are.
/** @type {(lifts: boolean, tips: boolean) => void} */
function whose(lifts, tips) {
  const sure = now.answer;
  if (now.refused) word("broken", "That cannot be", now.refused);
  else if (!touched())
    word(
      "base",
      day.states[now.state].weighed ? "As weighed" : "As predicted",
      "Drag a thing on the plan, or choose it below.",
    );
  else if (sure && tips) word("broken", "No numbers", sure.cautions[0].replace(/^what_if: t/, "T"));
  else if (sure) word("steady", "So it would be", "The station's word, predicted from the readings with their doubt.");
  else if (now.pending)
    word("unsteady", "About so", "Reckoned in this page. The station does not answer; its word is pending.");
  else if (lifts)
    word("unsteady", "A wheel comes off the ground", "This page cannot reckon that; the station's word is pending.");
  else word("unsteady", "About so", "Reckoned in this page; the station's word is pending.");
}

// ---- the other questions ----

const asks = asking(scripts, {
  day,
  plan,
  now,
  wanted,
  touched,
  titleOf,
  fixed,
  show,
  make,
  apply,
  paint,
  labelOf,
  hitched,
  worst: () => worst,
  used,
});

// A limit in words, whatever its state is called.
/** @type {(id: string) => string} */
function labelOf(id) {
  return now.model.data.limits.find((limit) => inAnyState(limit.id) === inAnyState(id))?.label ?? id;
}

// The actions of a remedy, as if done by hand.
/** @type {(actions: Api.RemedyAction[]) => void} */
function apply(actions) {
  for (const action of actions) {
    const at = now.cargo.get(action.cargo);
    if (!at) continue;
    if (action.to) Object.assign(at, { x: action.to.x, y: action.to.y });
    else if (action.level !== null) at.level = action.level / 100;
    else if (now.first.has(action.cargo)) at.aboard = false;
    else now.cargo.delete(action.cargo);
  }
  now.chosen = null;
  changed(true);
}

for (const button of every($("states"), "button", HTMLButtonElement))
  button.addEventListener("click", () => begin(button.dataset.state ?? day.state));
const left = changes.read(day.states),
  asked = new URLSearchParams(location.search).get("state"),
  here = left && (asked === null || asked === left.state);
if (left && here && (await begin(left.state, left.coupled, left.read))) {
  acts.begin(left, day.states);
  changes.say($("back"), left, () => begin(left.state));
} else {
  await begin(day.state);
  acts.begin(left ?? {}, day.states);
  if (left?.read.length) acts.behind(left);
}
changes.begin();
changed(true);
keeping(() => {
  changes.forget();
  used($("keep"));
});
const forms = every(document, "#new, #keep, #map-part, [data-asks] form", HTMLElement);
now.fields = new Fields(`typed ask ${day.day}`, forms, closest($("from"), ".field") ?? document.body);
/** @type {(form: ParentNode) => void} */
function used(form) {
  now.fields?.used(fieldsIn(form));
}
questions();
document.body.dataset.ready = "yes";

// The other states are fetched while the station is there, so that they can be asked about without it.
for (const state of Object.keys(day.states)) {
  if (known.has(state)) continue;
  try {
    known.set(state, await influence({ from: state }));
  } catch {
    break;
  }
}

// A draft from elsewhere: what this page reckons with is of the day as it was.
const source = new EventSource(day.links.events);
watchStation(source);
source.addEventListener("hello", () => {
  document.body.dataset.hears = "yes";
});
source.addEventListener("draft", () => {
  $("fresh").hidden = false;
  $("fresh").replaceChildren(
    "A draft was kept since this page was opened. ",
    make("a", "Ask anew", { href: location.href, className: "button" }),
  );
});
addEventListener("pagehide", () => source.close());
document.body.dataset.all = Object.keys(day.states).every((state) => known.has(state)) ? "yes" : "no";
