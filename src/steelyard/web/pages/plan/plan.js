// Plan the day: ask, watch the search, show the plan, and what it reached.

import { element, every, first } from "./dom.js";
import { call, makeKey } from "./api.js";
import { Live } from "./live.js";
import { idText } from "./finding-id.js";
import { fetchDay } from "./fresh.js";
import { onChange } from "./outbox.js";
import { follow } from "./plan-follow.js";
import { planParts } from "./plan-show.js";
import { readMass, formatNumber, readNumber } from "./number.js";

const POLL = 700; // ms between two looks at the search
const day = JSON.parse(document.getElementById("page-data").textContent);
const $ = (id) => document.getElementById(id);
const rigs = new Map(
  every(document, "#rigs [data-rig]", HTMLElement).map((box) => [box.dataset.rig, box.firstElementChild]),
);
const now = { kept: day.kept, reached: new Map(), waiting: [] };

function show() {
  const box = $("result");
  box.hidden = !now.kept;
  if (!now.kept) return;
  const here = now.waiting
    .map((item) => ({ key: item.key, number: null, ...item.json }))
    .filter((draft) => !day.drafts.some((one) => one.key === draft.key));
  const state = follow(now.kept, [...day.drafts, ...here]);
  box.replaceChildren(...planParts({ day, kept: now.kept, rigs, state, reached: now.reached }));
}

async function reached() {
  if (!now.kept?.version || day.count <= now.kept.after) return;
  try {
    const { data } = await call("GET", day.links.reached, { wait: 30000 });
    if (data.version !== now.kept.version) return;
    now.reached = new Map(data.reached.map((item) => [item.draft, item.half_width]));
    show();
  } catch {
    /* the plan stands without it */
  }
}

async function refresh() {
  const found = await fetchDay().catch(() => null);
  if (!found) return;
  for (const key of ["drafts", "count", "seq"]) day[key] = found.day[key];
  now.kept = found.day.kept ?? now.kept;
  show();
  reached();
}

function counted(id, otherwise) {
  const { value, words } = readNumber(element(id, HTMLInputElement).value, otherwise);
  if (value === null) {
    $(id).focus();
    throw new Error(words);
  }
  return value;
}

// What a row of the form asks for: all wheels or axles of a state, or the load on its coupling.
function wish(state, kind) {
  return idText(
    kind === "coupling"
      ? { states: [state], owner: "coupling", kind: "load" }
      : { states: [state], owner: "*", kind, place: "*" },
  );
}

function question() {
  const form = $("question");
  const states = every(form, "[name=in]:checked", HTMLInputElement).map((box) => box.value);
  const want = element("wishes", HTMLTextAreaElement)
    .value.split("\n")
    .map((line) => line.trim())
    .filter(Boolean);
  for (const row of every(form, "[data-wish]", HTMLElement)) {
    const [tick, amount] = row.querySelectorAll("input");
    if (!tick.checked) continue;
    const { value, words, empty } = readMass(
      amount.value,
      day.unit,
      `${amount.getAttribute("aria-label")}: type a mass, or nothing.`,
    );
    if (value === null && !empty) {
      amount.focus();
      throw new Error(words);
    }
    const bound = empty ? "" : ` <= ${value} ${day.unit}`;
    for (const id of states) {
      if (row.dataset.wish !== "coupling" || day.states[id].hitched) want.push(`${wish(id, row.dataset.wish)}${bound}`);
    }
  }
  const under = first(form, "[name=under]:checked", HTMLInputElement).value;
  return {
    pads: every(form, "[name=pads]:checked", HTMLInputElement).map((box) => box.value),
    want,
    single: element("single", HTMLInputElement).checked,
    ...(under === "planks"
      ? { planks: true }
      : under === "blocks"
        ? { blocks: counted("blocks", "How many pad-high blocks: type a number.") }
        : {}),
    ...(element("platform", HTMLSelectElement).value
      ? { coupling_platform: element("platform", HTMLSelectElement).value }
      : {}),
    seconds: counted("seconds", "Seconds for the search: type a number."),
  };
}

// What was asked last stands in the form again.
function fill({ want, blocks, planks, seconds }) {
  const form = $("question");
  const rows = new Map(
    every(form, "[data-wish]", HTMLElement).map((row) => [row.dataset.wish, row.querySelectorAll("input")]),
  );
  const states = new Set();
  const rest = [];
  for (const [tick] of rows.values()) tick.checked = false;
  for (const text of want) {
    const [, id, bound] = /^(\S+)(?: <= (\S+) \w+)?$/.exec(text) ?? [];
    const state = Object.keys(day.states).find((name) => [...rows.keys()].some((kind) => wish(name, kind) === id));
    const row = state && rows.get([...rows.keys()].find((kind) => wish(state, kind) === id));
    if (!row) {
      rest.push(text);
      continue;
    }
    states.add(state);
    row[0].checked = true;
    row[1].value = bound ?? "";
  }
  if (states.size) for (const box of every(form, "[name=in]", HTMLInputElement)) box.checked = states.has(box.value);
  element("wishes", HTMLTextAreaElement).value = rest.join("\n");
  if (seconds) element("seconds", HTMLInputElement).value = seconds;
  const under = planks ? "planks" : typeof blocks === "number" ? "blocks" : "";
  first(form, `[name=under][value="${under}"]`, HTMLInputElement).checked = true;
  if (under === "blocks") element("blocks", HTMLInputElement).value = blocks;
}

let key = null;

async function watch(mine) {
  const begun = performance.now();
  while (key === mine) {
    const seconds = Math.round((performance.now() - begun) / 1000);
    let says = "no plan yet";
    try {
      const { data } = await call("GET", `${day.links.progress}?key=${mine}`);
      if (data.cost !== null)
        says = `the best plan so far costs ${round(data.cost)}, none costs less than ${round(data.bound)}`;
    } catch {
      says = "the station does not answer";
    }
    if (key === mine) $("planning-says").textContent = `Searching, ${seconds} s: ${says}.`;
    await new Promise((resolve) => {
      setTimeout(resolve, POLL);
    });
  }
}
const round = (value) => formatNumber(value, 1);

function refuse(words) {
  $("fault").hidden = !words;
  $("fault").textContent = words ? `${words[0].toUpperCase()}${words.slice(1)}.`.replace(/\.\.$/, ".") : "";
}

$("question")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  if (key) return;
  refuse("");
  key = makeKey();
  const mine = key;
  $("make").setAttribute("aria-disabled", "true");
  $("planning").hidden = false;
  watch(mine);
  try {
    const asked = question();
    const { data } = await call("POST", day.links.plan, {
      json: { ...asked, key: mine, keep: day.mayWeigh },
      wait: 180000,
    });
    now.kept = { version: null, after: day.count, question: asked, answer: data };
    now.reached = new Map();
    show();
    if (day.mayWeigh && ["optimal", "feasible"].includes(data.status)) await refresh();
    $("result").scrollIntoView({ block: "start" });
  } catch (error) {
    refuse(error.message);
  } finally {
    key = null;
    $("make").removeAttribute("aria-disabled");
    $("planning").hidden = true;
  }
});
$("enough")?.addEventListener("click", () => call("POST", day.links.enough, { json: { key } }).catch(() => {}));

onChange(({ items }) => {
  now.waiting = items.filter((item) => item.day === day.day && item.what === "draft" && !item.refused);
  show();
});
const hooks = { loads() {}, silent() {}, gone() {}, back: refresh, draft: refresh, missed: refresh, plan: refresh };
new Live(day.links, day.seq, hooks);
if (day.kept && $("question")) fill(day.kept.question);
show();
reached();
document.body.dataset.ready = "yes";
