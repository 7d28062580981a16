// Ask the rig: cargo moved on the plan, loads and verdicts that follow at once, the station's word when the hand is still.

import { Away, call, makeKey, wordsOf } from "./api.js";
import { Model, answered } from "./ask-model.js";
import { Plan } from "./ask-plan.js";
import { heed, judge, settle, table, tellContested, word } from "./ask-said.js";
import { asking, ownScripts } from "./asking.js";
import { $, copyOf, closest, element, every, fieldsIn, first, make, maybe, pageData } from "./dom.js";
import { Fields } from "./fields.js";
import { inAnyState, ofWheel, idText, parse } from "./finding-id.js";
import { Changes } from "./ask-kept.js";
import { readLength, readMass, formatNumber as show, written } from "./number.js";

/** @type {Page.Ask} */
const day = pageData();
const level = element("level", HTMLInputElement),
  newMass = element("new-mass", HTMLInputElement),
  newName = element("new-name", HTMLInputElement),
  newOn = element("new-on", HTMLSelectElement),
  newX = element("new-x", HTMLInputElement),
  newY = element("new-y", HTMLInputElement);
/** @type {Map<string, Api.Influence>} */
const known = new Map([[day.state, day.influence]]); // influences by what was asked for
const changes = new Changes(day.day);
const scripts = await ownScripts();
/** @type {Page.Axis[]} */
const AXES = ["x", "y"];
const STILL = 300,
  AGAIN = 3000;

// What is hitched, unhitched and tensioned against the state: bars by trailer, "none" or { as: a state }.
/** @type {Page.Coupled} */
const ALONE = { hitch: [], unhitch: [], bars: {} };
/** @type {Page.AskNow} */
const now = {
  state: day.state,
  coupled: ALONE,
  model: new Model(day.influence, day.tape),
  first: new Map(),
  before: { quantities: new Map(), verdicts: new Map() },
  cargo: new Map(),
  chosen: null,
  answer: null,
  asked: 0,
  timer: 0,
  pending: false,
  refused: "",
  ours: new Map(),
};

const plan = new Plan($("plan"), day.step, {
  onMove: (name, x, y, done) => {
    Object.assign(now.cargo.get(name) ?? {}, { x, y });
    changed(done);
  },
  where: (name) => now.cargo.get(name),
  onChoose: (name) => choose(name),
  onOff: (name) => take(name, false),
  onTap: (vehicle, x, y) => {
    newOn.value = vehicle;
    newX.value = written(x);
    newY.value = written(y);
    plan.pin(vehicle, x, y);
    asks.tap(vehicle, x, y);
  },
});

// Where the chosen thing stands.
/** @type {() => Page.Stowed | undefined} */
const chosen = () => (now.chosen === null ? undefined : now.cargo.get(now.chosen));

// ---- the state that is asked about ----

/** @type {(coupled: Page.Coupled) => boolean} */
const alike = ({ hitch, unhitch, bars }) =>
  hitch.length === 0 && unhitch.length === 0 && Object.keys(bars).length === 0;

/** @type {(state?: string, coupled?: Page.Coupled) => Api.ScenarioQuestion} */
function question(state = now.state, { hitch, unhitch, bars } = now.coupled) {
  /** @type {Api.ScenarioQuestion} */
  const json = { from: state };
  if (hitch.length)
    json.hitch = hitch.map((item) => (bars[item.trailer] ? { ...item, distribution: bars[item.trailer] } : item));
  if (unhitch.length) json.unhitch = unhitch;
  const staying = Object.entries(bars).filter(([trailer]) => !hitch.some((item) => item.trailer === trailer));
  if (staying.length) json.distribution = Object.fromEntries(staying);
  return json;
}

// How a state answers to loads, as the station has it.
/** @type {(asked: Api.ScenarioQuestion) => Promise<Api.Influence>} */
async function influence(asked) {
  /** @type {Page.Answer<Api.Influence>} */
  const { data } = await call("POST", day.links.influence, { json: asked });
  return data;
}

/** @type {(state: string, coupled?: Page.Coupled) => Promise<boolean>} */
async function begin(state, coupled = ALONE) {
  const asked = question(state, coupled);
  const key = alike(coupled) ? state : JSON.stringify(asked);
  let data = known.get(key);
  if (!data) {
    word("pending", "Asking the station …", "");
    try {
      data = await influence(asked);
      known.set(key, data);
    } catch (error) {
      word(
        "broken",
        error instanceof Away ? "The station does not answer" : "That cannot be",
        error instanceof Away ? "This state was not loaded yet; what was goes on working." : wordsOf(error),
      );
      return false;
    }
  }
  Object.assign(now, { state, coupled, chosen: null, answer: null, refused: "" });
  now.model = new Model(data, day.tape);
  tellContested(data.under ?? []);
  now.cargo = now.model.start();
  now.first = now.model.start();
  const weighed = known.get(state),
    base = weighed ? new Model(weighed, day.tape) : now.model;
  now.before = base.predict(base.start());
  plan.draw(data.plan);
  plan.arrows([]);
  for (const button of every($("states"), "button", HTMLButtonElement))
    button.setAttribute("aria-pressed", String(button.dataset.state === state));
  $("state-is").textContent = `${day.states[state].weighed ? "Weighed" : "Predicted"}: ${day.states[state].said}.`;
  hitches();
  vehicles();
  asks.begin();
  changed(true);
  return true;
}

function vehicles() {
  const names = now.model.data.vehicles;
  for (const select of [newOn, element("map-on", HTMLSelectElement)]) {
    const before = select.value;
    select.replaceChildren(...names.map((name) => new Option(day.titles[name], name)));
    if (names.includes(before)) select.value = before;
  }
}

// Trailers that hang on something as it is asked.
function hitched() {
  const { hitch, unhitch } = now.coupled;
  return [
    ...day.states[now.state].hitched.filter((name) => !unhitch.includes(name)),
    ...hitch.map((item) => item.trailer),
  ];
}

function hitches() {
  /** @type {Node[]} */
  const buttons = [];
  const state = day.states[now.state],
    { hitch, unhitch, bars } = now.coupled;
  /** @type {(words: string, coupled: Partial<Page.Coupled>) => void} */
  const offer = (words, coupled) => {
    const onclick = () => begin(now.state, { ...now.coupled, ...coupled });
    buttons.push(make("button", words, { type: "button", onclick }));
  };
  /** @type {(name: string) => Page.Coupled["bars"]} */
  const without = (name) => Object.fromEntries(Object.entries(bars).filter(([trailer]) => trailer !== name));
  const hitched = [...state.hitched.filter((name) => !unhitch.includes(name)), ...hitch.map((item) => item.trailer)];
  for (const name of hitched) {
    const own = hitch.some((item) => item.trailer === name),
      title = day.titles[name];
    offer(
      `Unhitch ${title}`,
      own
        ? { hitch: hitch.filter((item) => item.trailer !== name), bars: without(name) }
        : { unhitch: [...unhitch, name], bars: without(name) },
    );
    const tensioned = bars[name] ? bars[name] !== "none" : state.bars.includes(name);
    if (tensioned)
      offer(`${title} without its bars`, {
        bars: !own && !state.bars.includes(name) ? without(name) : { ...bars, [name]: "none" },
      });
    for (const [other, { bars: there, weighed }] of Object.entries(day.states)) {
      if (!tensioned && weighed && there.includes(name))
        offer(`${title} with its bars as in ${other}`, { bars: { ...bars, [name]: { as: other } } });
    }
  }
  for (const name of unhitch)
    offer(`Hitch ${day.titles[name]} again`, { unhitch: unhitch.filter((item) => item !== name) });
  const present = new Set([...state.vehicles, ...hitch.map((item) => item.trailer)]);
  for (const [trailer, title] of Object.entries(day.trailers)) {
    if (hitched.includes(trailer) || unhitch.includes(trailer)) continue;
    for (const { towing, at } of day.couplings) {
      if (
        !present.has(towing) ||
        towing === trailer ||
        state.taken.includes(`${towing}/${at}`) ||
        hitch.some((item) => item.towing === towing && item.at === at)
      )
        continue;
      offer(`Hitch ${title} to the ${at.replace("_", " ")} of ${day.titles[towing]}`, {
        hitch: [...hitch, { towing, at, trailer }],
      });
    }
  }
  $("hitches").replaceChildren(...buttons);
}

// ---- cargo ----

/** @type {(name: string) => string} */
const titleOf = (name) => now.model.items.get(name)?.title ?? name;
/** @type {(name: string) => number} */
const massOf = (name) => {
  const item = now.model.items.get(name),
    at = now.cargo.get(name);
  return item?.level ? item.mass[0] * (at?.level ?? 0) : (at?.mass ?? 0);
};
/** @type {(name: string) => boolean} */
const fixed = (name) => {
  const item = now.model.items.get(name);
  return item ? !item.known : false;
};
/** @type {(at: Page.Stowed) => string} */
const spot = (at) =>
  `${show(at.x, 2)} ${day.length} back, ${Math.abs(at.y) < 0.005 ? "in the middle" : `${show(Math.abs(at.y), 2)} ${day.length} ${at.y > 0 ? "left" : "right"}`}`;
/** @type {(name: string) => boolean} */
const placed = (name) => now.model.items.get(name)?.placed ?? true;
/** @type {(name: string) => string} */
const saidOf = (name) => {
  const at = now.cargo.get(name);
  if (fixed(name) || !at) return placed(name) ? "mass not known" : "place not known";
  return `${show(massOf(name), 1)} ${day.unit}, ${spot(at)}`;
};

/** @type {(name: string) => boolean} */
function differs(name) {
  const first = now.first.get(name),
    at = now.cargo.get(name);
  return (
    !first || !at || first.aboard !== at.aboard || first.x !== at.x || first.y !== at.y || first.level !== at.level
  );
}

/** @type {() => Page.Scenario} */
export function wanted() {
  /** @type {Page.Scenario} */
  const json = { ...question(), add: [], put_on: [], remove: [], change: {} };
  for (const [name, at] of now.cargo) {
    const first = now.first.get(name);
    const kept = now.ours.get(name);
    if (!first && kept) {
      if (!at.aboard) continue;
      json.put_on.push(name);
      const moved = Object.fromEntries(AXES.filter((axis) => at[axis] !== kept[axis]).map((axis) => [axis, at[axis]]));
      if (Object.keys(moved).length) json.change[name] = moved;
      continue;
    }
    if (!first) {
      if (at.aboard) json.add.push({ name, on: at.on, mass: at.mass, x: at.x, y: at.y });
      continue;
    }
    if (first.aboard && !at.aboard) json.remove.push(name);
    if (!first.aboard && at.aboard) json.put_on.push(name);
    if (!at.aboard) continue;
    /** @type {{ x?: number, y?: number, level?: string }} */
    const change = {};
    for (const axis of AXES) if (at[axis] !== first[axis]) change[axis] = at[axis];
    if (at.level !== null && at.level !== first.level) change.level = `${Number((100 * at.level).toFixed(4))} %`;
    if (Object.keys(change).length) json.change[name] = change;
  }
  return json;
}

/** @type {(name: string | null) => void} */
function choose(name) {
  now.chosen = name;
  items();
}

/** @type {(name: string, aboard: boolean) => void} */
function take(name, aboard) {
  const at = now.cargo.get(name);
  if (!at) return;
  at.aboard = aboard;
  if (!aboard && !now.first.has(name)) now.cargo.delete(name);
  now.chosen = aboard ? name : null;
  changed(true);
  if (!aboard) $("aboard-head").focus();
}

function items() {
  const aboard = [...now.cargo].filter(([, at]) => at.aboard).map(([name]) => name);
  plan.items(
    [...now.cargo]
      .filter(([name, at]) => at.aboard && placed(name))
      .map(([name, at]) => ({
        name,
        title: titleOf(name),
        ...at,
        said: saidOf(name),
        moved: differs(name),
        fixed: fixed(name),
      })),
    now.chosen,
  );
  list($("aboard"), aboard, (name) => {
    const button = make("button", "", {
      type: "button",
      className: "thing",
      onclick: () => choose(name === now.chosen ? null : name),
    });
    button.setAttribute("aria-expanded", String(name === now.chosen));
    button.append(make("b", titleOf(name)), make("span", saidOf(name)));
    return [button];
  });
  $("none-aboard").hidden = aboard.length > 0;
  const tray = [...now.cargo].filter(([, at]) => !at.aboard).map(([name]) => name);
  $("tray-part").hidden = tray.length === 0;
  list($("tray"), tray, (name) => {
    const chip = make("span", "", "chip");
    chip.append(make("b", titleOf(name)), make("span", saidOf(name)));
    if (!fixed(name)) {
      chip.classList.add("grip");
      chip.dataset.item = name;
    }
    const button = make("button", "Put on", { type: "button", onclick: () => take(name, true) });
    button.append(make("span", ` ${titleOf(name)}`, "unseen"));
    return [chip, button];
  });
  editor();
}

// A list is only made anew where it changed: a button that has the focus stays.
/** @type {(node: HTMLElement, names: string[], fill: (name: string) => Node[]) => void} */
function list(node, names, fill) {
  const made = names.map((name) => {
    const row = make("li");
    row.dataset.name = name;
    row.append(...fill(name));
    return row;
  });
  const old = every(node, ":scope > li", HTMLLIElement);
  const focus = document.activeElement,
    active = node.contains(focus) ? closest(focus, "li")?.dataset.name : null;
  made.forEach((row, place) => {
    const before = old[place];
    if (before && before.dataset.name === row.dataset.name && before.innerHTML === row.innerHTML) made[place] = before;
  });
  node.replaceChildren(...made);
  if (active)
    made
      .find((row) => row.dataset.name === active)
      ?.querySelector("button")
      ?.focus({ preventScroll: true });
}

function editor() {
  const name = now.chosen,
    box = $("editor");
  const at = chosen();
  box.hidden = !name || !at;
  if (!name || !at) return;
  const item = now.model.items.get(name);
  $("editor-head").textContent = titleOf(name);
  // What is wrong with a place that was typed stands until it is right, or something else is chosen.
  if (box.dataset.name !== name) for (const axis of AXES) $(`editor-${axis}`).removeAttribute("aria-invalid");
  box.dataset.name = name;
  if (!box.querySelector("[aria-invalid]")) $("editor-what").textContent = `${saidOf(name)}, on ${day.titles[at.on]}`;
  $("editor-place").hidden = fixed(name);
  for (const axis of AXES) {
    const field = element(`editor-${axis}`, HTMLInputElement);
    if (document.activeElement !== field && !field.hasAttribute("aria-invalid")) field.value = written(at[axis]);
  }
  $("editor-level").hidden = !item?.level;
  if (item?.level) {
    const full = at.level ?? 0;
    if (document.activeElement !== level) level.value = String(Math.round(1000 * full) / 10);
    $("level-says").textContent = `${show(100 * full, 1)} %, ${show(massOf(name), 0)} ${day.unit}`;
  }
}

for (const axis of AXES) {
  const field = element(`editor-${axis}`, HTMLInputElement);
  field.addEventListener("change", () => {
    const { value, words } = readLength(field.value, day.length, "A place is a number, as in 62 or −14.5."),
      at = chosen();
    if (value === null || !at) {
      field.setAttribute("aria-invalid", "true");
      $("editor-what").textContent = words;
      return;
    }
    field.removeAttribute("aria-invalid");
    at[axis] = value;
    changed(true);
  });
}
for (const button of every(document, "[data-nudge]", HTMLElement)) {
  button.addEventListener("click", () => {
    const [dx, dy] = (button.dataset.nudge ?? "").split(" ").map(Number),
      at = chosen();
    if (!at) return;
    [at.x, at.y] = plan.within(at.on, at.x + dx * day.step, at.y + dy * day.step);
    changed(true);
  });
}
level.addEventListener("input", () => {
  const at = chosen();
  if (at) at.level = Number(level.value) / 100;
  changed(false);
});
level.addEventListener("change", () => changed(true));
$("take-off").addEventListener("click", () => {
  if (now.chosen !== null) take(now.chosen, false);
});
$("editor-done").addEventListener("click", () => {
  const name = now.chosen;
  choose(null);
  if (name !== null) first($("aboard"), `[data-name="${CSS.escape(name)}"] button`, HTMLElement)?.focus();
});

// Whether the day has something of that name, aboard or not, in whatever state.
/** @type {(name: string) => boolean} */
const named = (name) => now.cargo.has(name) || now.ours.has(name) || day.cargo.includes(name);

// A new thing: typed, or dragged from its chip. A place has a `value`, or `words` on why it has none.
/** @type {(on: string, x: Page.Typed, y: Page.Typed) => void} */
function fresh(on, x, y) {
  const { value: mass, readings, words } = readMass(newMass.value, day.unit),
    asked = newName.value.trim();
  const fault = readings
    ? words
    : mass === null || !(mass > 0)
      ? "Type a mass above zero first."
      : asked && !/^[A-Za-z0-9_-]{1,40}$/.test(asked)
        ? "A name has letters, digits, - and _."
        : asked && named(asked)
          ? "The day has something of that name already."
          : ([x, y].find((one) => one.value === null)?.words ?? "");
  $("new-fault").textContent = fault;
  if (fault || mass === null || x.value === null || y.value === null) return;
  let name = asked || "load";
  for (let number = 2; named(name); number += 1) name = `load${number}`;
  now.cargo.set(name, { on, aboard: true, mass, x: x.value, y: y.value, level: null });
  now.chosen = name;
  newName.value = "";
  used($("new"));
  changed(true);
}
$("new").addEventListener("submit", (event) => {
  event.preventDefault();
  /** @type {(id: string) => Page.Typed} */
  const place = (id) => readLength(element(id, HTMLInputElement).value, day.length, "Type where it stands.");
  fresh(newOn.value, place("new-x"), place("new-y"));
});
newMass.addEventListener("input", () => {
  const mass = readMass(newMass.value, day.unit).value;
  $("new-chip-says").textContent = mass !== null && mass > 0 ? `${show(mass, 1)} ${day.unit}` : "no mass yet";
});

// A place where something was dropped, as if it was typed.
/** @type {(value: number) => Page.Typed} */
const dropped = (value) => ({ value, words: "", empty: false });

// Drag of a chip onto the plan.
document.addEventListener("pointerdown", (event) => {
  const chip = closest(event.target, ".grip");
  if (!chip || event.button > 0) return;
  event.preventDefault();
  const ghost = copyOf(chip);
  ghost.classList.add("ghost");
  ghost.setAttribute("aria-hidden", "true");
  document.body.append(ghost);
  chip.setPointerCapture(event.pointerId);
  /** @type {(one: PointerEvent) => void} */
  const follow = (one) => {
    ghost.style.transform = `translate(${one.clientX}px, ${one.clientY}px) translate(-50%, -50%)`;
  };
  follow(event);
  /** @type {(one: PointerEvent) => void} */
  const end = (one) => {
    chip.removeEventListener("pointermove", follow);
    chip.removeEventListener("pointerup", end);
    chip.removeEventListener("pointercancel", end);
    ghost.remove();
    const place = one.type === "pointerup" ? plan.under_(one) : null;
    if (!place) return;
    const { item } = chip.dataset,
      at = item === undefined ? undefined : now.cargo.get(item);
    if (item === undefined) fresh(place.vehicle, dropped(place.x), dropped(place.y));
    if (item === undefined || !at) return;
    if (at.on !== place.vehicle) {
      word("pending", `It goes on ${day.titles[at.on]}`, "The file says so; make a new thing for another vehicle.");
      return;
    }
    Object.assign(at, { x: place.x, y: place.y });
    take(item, true);
  };
  chip.addEventListener("pointermove", follow);
  chip.addEventListener("pointerup", end);
  chip.addEventListener("pointercancel", end);
});

$("undo").addEventListener("click", () => {
  now.cargo = now.model.start();
  now.chosen = null;
  plan.arrows([]);
  changed(true);
});

// ---- what it would carry ----

let frame = 0;
/** @type {(done: boolean) => void} */
function changed(done) {
  now.answer = null;
  now.refused = "";
  now.asked += 1;
  if (!frame)
    frame = requestAnimationFrame(() => {
      frame = 0;
      paint();
    });
  clearTimeout(now.timer);
  if (done) now.timer = setTimeout(ask, STILL);
  changes.write(now, differs);
}

const touched = () => !alike(now.coupled) || [...now.cargo.keys()].some(differs);

async function ask() {
  if (!touched()) {
    now.pending = false;
    paint();
    asks.settled();
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
  items();
  table(found, day, now);
  judge(found, day.unit, now);
  const about = sure || !touched() ? "" : "about ";
  const loads = new Map([...found.quantities].map(([id, item]) => [id, item.value === null ? "–" : show(item.value)]));
  const marks = new Map(
    [...found.verdicts]
      .filter(([id, item]) => ofWheel(id) && item.mark !== "within")
      .map(([id, item]) => [idText({ ...parse(id), limit: "" }), item.mark]),
  );
  plan.show(loads, marks);
  $("plan").classList.toggle("about", about !== "");
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
  else if (found.lifts)
    word("unsteady", "A wheel comes off the ground", "This page cannot reckon that; the station's word is pending.");
  else word("unsteady", "About so", "Reckoned in this page; the station's word is pending.");
  heed(day.standing, sure?.cautions);
}

// ---- keeping ----

maybe("keep", HTMLElement)?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const name = element("keep-name", HTMLInputElement).value.trim(),
    said = $("keep-says");
  if (!/^[A-Za-z0-9_-]{1,40}$/.test(name)) {
    said.textContent = "A name has letters, digits, - and _, no spaces.";
    return;
  }
  now.key = now.key?.name === name ? now.key : { name, key: makeKey() };
  try {
    const sent = wanted();
    await call("POST", day.links.keep, { json: { ...sent, name, key: now.key.key } });
    for (const { name: thing, x, y } of sent.add) if (thing) now.ours.set(thing, { x, y });
    changes.forget();
    used($("keep"));
    said.replaceChildren(
      `Kept as ${name}: a state without drafts, a prediction. `,
      make("a", "Ask about it", { href: `?state=${encodeURIComponent(name)}` }),
      " or ",
      make("a", "see it at the bench", { href: `${day.links.bench}#s-${encodeURIComponent(name)}` }),
      ".",
    );
  } catch (error) {
    said.textContent =
      error instanceof Away
        ? "Not kept: the station does not answer. Try again when it does."
        : `Not kept: ${wordsOf(error).replace(/\.$/, "")}.`;
  }
});

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
    const full = now.model.items.get(action.cargo)?.mass[0];
    if (action.to) Object.assign(at, { x: action.to.x, y: action.to.y });
    else if (action.action === "remove") at.aboard = false;
    else if (full) at.level = Math.max(0, (at.level ?? 0) - action.mass / full);
  }
  now.chosen = null;
  changed(true);
}

for (const button of every($("states"), "button", HTMLButtonElement))
  button.addEventListener("click", () => begin(button.dataset.state ?? day.state));
const left = changes.read(day.states),
  named_ = new URLSearchParams(location.search).get("state");
if (left && (named_ === null || named_ === left.state) && (await begin(left.state, left.coupled))) {
  for (const [name, at] of left.read) {
    const there = now.cargo.get(name);
    if (there) Object.assign(there, at);
    else if (!named(name) && now.model.data.vehicles.includes(at.on)) now.cargo.set(name, at);
  }
  changes.say($("back"), left, () => begin(left.state));
} else await begin(day.state);
changes.begin();
changed(true);
const forms = every(document, "#new, #keep, #map-part, [data-asks] form", HTMLElement);
now.fields = new Fields(`typed ask ${day.day}`, forms, closest($("from"), ".field") ?? document.body);
/** @type {(form: ParentNode) => void} */
function used(form) {
  now.fields?.used(fieldsIn(form));
}
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
