// Plan the day: ask, watch the search, show the plan, and what it reached.

import { $, element, every, maybe, only, pageData } from "./dom.js";
import { call, makeKey, wordsOf } from "./api.js";
import { Live } from "./live.js";
import { idText } from "./finding-id.js";
import { fetchDay } from "./fresh.js";
import { onChange } from "./outbox.js";
import { nameStates } from "./place-words.js";
import { follow } from "./plan-follow.js";
import { planParts } from "./plan-show.js";
import { readMass, formatNumber, readNumber } from "./number.js";

const POLL = 700; // ms between two looks at the search
/** @type {Page.Plan} */
const day = pageData();
nameStates(day.called);
const rigs = new Map(
  every(document, "#rigs [data-rig]", HTMLElement).map((box) => [box.dataset.rig ?? "", only(box, "*", Element)]),
);
/** @type {{ kept: Page.KeptPlan | null, reached: Page.Reached, waiting: Page.Waiting<Page.QueuedDraft>[] }} */
const now = { kept: day.kept, reached: new Map(), waiting: [] };

function show() {
  const box = $("result");
  box.hidden = !now.kept;
  if (!now.kept) return;
  const here = now.waiting
    .map((item) => ({ ...item.json, number: null }))
    .filter((draft) => !day.drafts.some((one) => one.key === draft.key));
  const state = follow(now.kept, [...day.drafts, ...here]);
  box.replaceChildren(...planParts({ day, kept: now.kept, rigs, state, reached: now.reached }));
}

async function reached() {
  if (!now.kept?.version || day.count <= now.kept.after) return;
  try {
    /** @type {Page.Answer<Api.PlanReached>} */
    const { data } = await call("GET", day.links.reached, { wait: 30000 });
    if (data.version !== now.kept.version) return;
    now.reached = new Map(data.reached.map((item) => [item.draft, item.half_width]));
    show();
  } catch {
    /* the plan stands without it */
  }
}

async function refresh() {
  /** @type {{ day: Page.Plan } | null} */
  const found = await fetchDay().catch(() => null);
  if (!found) return;
  const { drafts, count, seq } = found.day;
  Object.assign(day, { drafts, count, seq });
  now.kept = found.day.kept ?? now.kept;
  show();
  reached();
}

/** @type {(id: string, otherwise: string) => number} */
function counted(id, otherwise) {
  const { value, words } = readNumber(element(id, HTMLInputElement).value, otherwise);
  if (value === null) {
    $(id).focus();
    throw new Error(words);
  }
  return value;
}

// The tick and the amount of a row of the form.
/** @type {(row: HTMLElement) => HTMLInputElement[]} */
const fieldsOf = (row) => every(row, "input", HTMLInputElement);

// What a row of the form asks for: all wheels or axles of a state, or the load on its coupling.
/** @type {(state: string, kind: string) => string} */
function wish(state, kind) {
  return idText(
    kind === "coupling"
      ? { states: [state], owner: "coupling", kind: "load" }
      : { states: [state], owner: "*", kind, place: "*" },
  );
}

/** @type {() => Page.PlanAsked} */
function question() {
  const form = $("question");
  const states = every(form, "[name=in]:checked", HTMLInputElement).map((box) => box.value);
  const want = element("wishes", HTMLTextAreaElement)
    .value.split("\n")
    .map((line) => line.trim())
    .filter(Boolean);
  for (const row of every(form, "[data-wish]", HTMLElement)) {
    const [tick, amount] = fieldsOf(row);
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
    const kind = row.dataset.wish ?? "";
    for (const id of states) {
      if (kind !== "coupling" || day.states[id].hitched) want.push(`${wish(id, kind)}${bound}`);
    }
  }
  const under = only(form, "[name=under]:checked", HTMLInputElement).value;
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
/** @type {(asked: Page.PlanAsked) => void} */
function fill({ want, blocks, planks, seconds }) {
  const form = $("question");
  /** @type {Map<string, HTMLInputElement[]>} */
  const rows = new Map(every(form, "[data-wish]", HTMLElement).map((row) => [row.dataset.wish ?? "", fieldsOf(row)]));
  /** @type {Set<string>} */
  const states = new Set();
  /** @type {string[]} */
  const rest = [];
  for (const [tick] of rows.values()) tick.checked = false;
  for (const text of want) {
    const [, id, bound] = /^(\S+)(?: <= (\S+) \w+)?$/.exec(text) ?? [];
    const state = Object.keys(day.states).find((name) => [...rows.keys()].some((kind) => wish(name, kind) === id));
    const row = [...rows].find(([kind]) => state !== undefined && wish(state, kind) === id)?.[1];
    if (state === undefined || !row) {
      rest.push(text);
      continue;
    }
    states.add(state);
    row[0].checked = true;
    row[1].value = bound ?? "";
  }
  if (states.size) for (const box of every(form, "[name=in]", HTMLInputElement)) box.checked = states.has(box.value);
  element("wishes", HTMLTextAreaElement).value = rest.join("\n");
  if (seconds) element("seconds", HTMLInputElement).value = String(seconds);
  const under = planks ? "planks" : typeof blocks === "number" ? "blocks" : "";
  only(form, `[name=under][value="${under}"]`, HTMLInputElement).checked = true;
  if (under === "blocks") element("blocks", HTMLInputElement).value = String(blocks);
}

/** @type {string | null} */
let key = null;

/** @type {(mine: string) => Promise<void>} */
async function watch(mine) {
  const begun = performance.now();
  while (key === mine) {
    const seconds = Math.round((performance.now() - begun) / 1000);
    let says = "no plan yet";
    try {
      /** @type {Page.Answer<Api.PlanProgress>} */
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
/** @type {(value: number) => string} */
const round = (value) => formatNumber(value, 1);

/** @type {(words: string) => void} */
function refuse(words) {
  $("fault").hidden = !words;
  $("fault").textContent = words ? `${words[0].toUpperCase()}${words.slice(1)}.`.replace(/\.\.$/, ".") : "";
}

maybe("question", HTMLElement)?.addEventListener("submit", async (event) => {
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
    /** @type {Page.Answer<Api.Plan>} */
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
    refuse(wordsOf(error));
  } finally {
    key = null;
    $("make").removeAttribute("aria-disabled");
    $("planning").hidden = true;
  }
});
maybe("enough", HTMLElement)?.addEventListener("click", () =>
  call("POST", day.links.enough, { json: { key } }).catch(() => {}),
);

onChange(({ items }) => {
  now.waiting = items.flatMap((item) => (item.day === day.day && item.what === "draft" && !item.refused ? [item] : []));
  show();
});
const hooks = { loads() {}, silent() {}, gone() {}, back: refresh, draft: refresh, missed: refresh, plan: refresh };
new Live(day.links, day.seq, hooks);
if (day.kept && maybe("question", HTMLElement)) fill(day.kept.question);
show();
reached();
document.body.dataset.ready = "yes";
