// The plan on the page: the drafts with their steps and drawings, what they are expected to reach, what more would buy.

import { copyOf, every, make, only } from "./dom.js";
import { formatNumber } from "./number.js";
import { findingWords } from "./finding-words.js";
import { called, inWords, stateWords } from "./place-words.js";

/** @type {(value: number) => string} */
const figure = (value) => formatNumber(Number(value.toPrecision(3)), 20);
/** @type {(words: string) => string} */
const sentence = (words) => `${words[0].toUpperCase()}${words.slice(1)}${/[.!]$/.test(words) ? "" : "."}`;

// reached: half-widths by id, for each draft number taken since.
/** @type {(shown: { day: Page.Plan, kept: Page.KeptPlan, rigs: Map<string, Element>, state: Page.Followed, reached: Page.Reached }) => Node[]} */
export function planParts({ day, kept, rigs, state, reached }) {
  const { answer } = kept;
  if (answer.status === "impossible") return impossible(answer, day);
  if (answer.status === "unknown")
    return [
      make("h2", "No plan was found in the time"),
      make("p", "None is ruled out either. Give the search more time under More choices, or ask for less."),
    ];
  const count = answer.drafts.length;
  /** @type {Node[]} */
  const parts = [make("h2", count ? `The plan: ${count} draft${count === 1 ? "" : "s"}` : "Nothing more to take")];
  if (!count) parts.push(make("p", "The drafts taken so far tell all of it well enough."));
  else {
    const bound =
      answer.status === "feasible"
        ? `The search ended before it was proved the cheapest: it costs ${cost(answer.cost)}, and none costs less than ${cost(answer.bound)}.`
        : "Nothing that reaches it costs less.";
    parts.push(make("p", bound, "soft"));
    if (day.mayWeigh && state.next !== null) {
      const row = make("div", "", "row");
      row.append(
        make("a", state.done.length ? "Walk on" : "Walk it", { className: "button main", href: day.links.pads }),
      );
      parts.push(row);
    }
  }
  if (state.others.length)
    parts.push(
      make(
        "p",
        `Also taken, not planned: ${state.others.map((draft) => `${draft.number ? `draft ${draft.number}` : "a draft that waits here"} in ${stateWords(draft.state)}`).join(", ")}. That is no error. Plan the rest, and they count.`,
        "note",
      ),
    );
  for (const [index, draft] of answer.drafts.entries()) parts.push(one(answer, index, draft, day, rigs, state));
  parts.push(expected(answer, day, state, reached));
  if (answer.what_more.length) parts.push(more(answer, day));
  // those that always hold stand on the page anyway
  for (const words of answer.cautions.filter((one) => !day.standing.includes(one)))
    parts.push(make("p", words, "note doubt"));
  if (answer.assumed_loads)
    parts.push(make("p", "Nothing was weighed yet: the figures rest on assumed loads.", "note"));
  return parts;
}

/** @type {(answer: Api.Plan, index: number, draft: Api.PlannedDraft, day: Page.Plan, rigs: Map<string, Element>, state: Page.Followed) => HTMLElement} */
function one(answer, index, draft, day, rigs, state) {
  const done = state.done.find((item) => item.at === index);
  const box = make("div", "", `draftplan${done ? " done" : ""}`);
  box.dataset.draft = String(index + 1);
  const left = box.appendChild(make("div"));
  const head = left.appendChild(make("h3", `${index + 1}. ${stateWords(draft.state)}`));
  if (done)
    head.append(
      make(
        "span",
        done.draft.number ? `✓ taken, draft ${done.draft.number}` : "✓ taken, waiting on this device",
        "tag hollow",
      ),
    );
  else if (index === state.next) head.append(make("span", "next", "tag"));
  const list = left.appendChild(make("ol"));
  for (const step of answer.steps.filter((item) => item.draft === index + 1))
    list.append(make("li", sentence(inWords(day.vehicles, step.text)), { dir: "auto" }));
  const others = draft.unsupported
    ? `Wheels without a pad${draft.blocks.length ? " or a block" : ""} stand on the ground.`
    : "All other wheels stand as high as the pads.";
  left.append(make("p", others, "soft small"));
  if (done?.swapped.length)
    left.append(
      make(
        "p",
        `Taken with other pads at ${done.swapped.map((place) => called(day.vehicles, place)).join(", ")}: it tells the same, a little better or worse.`,
        "note",
      ),
    );
  const whole = rigs.get(day.states[draft.state]?.rig);
  if (whole) {
    const drawing = copyOf(whole);
    mark(drawing, draft);
    box.append(drawing);
  }
  return box;
}

/** @type {(drawing: Element, draft: Api.PlannedDraft) => void} */
function mark(drawing, draft) {
  for (const [place, pad] of Object.entries(draft.placements)) {
    const [vehicle, end] = place.split("/");
    const ends = /^\d+$/.test(end ?? "")
      ? [`${place}L`, `${place}R`]
      : end === undefined
        ? every(drawing, "[data-at]", SVGElement)
            .map((node) => node.dataset.at ?? "")
            .filter((at) => at.startsWith(`${vehicle}/`))
        : [place];
    for (const at of ends) {
      const spot = drawing.querySelector(`[data-at="${CSS.escape(at)}"]`);
      spot?.classList.add("on");
      if (spot) only(spot, "text", SVGElement).textContent = pad;
    }
  }
  for (const wheel of draft.blocks) drawing.querySelector(`[data-at="${CSS.escape(wheel)}"]`)?.classList.add("block");
}

/** @type {(answer: Api.Plan, day: Page.Plan, state: Page.Followed, reached: Page.Reached) => HTMLElement} */
function expected(answer, day, state, reached) {
  const box = make("div", "", "scroll");
  box.tabIndex = 0;
  box.setAttribute("role", "region");
  box.setAttribute("aria-label", "How well each finding will be known");
  const table = box.appendChild(make("table"));
  table.append(make("caption", "Known to within, 95 % of the time"));
  const head = table.appendChild(make("thead")).appendChild(make("tr"));
  const columns = ["Finding", "wanted", "before", ...answer.drafts.map((_, index) => `after ${index + 1}`)];
  for (const words of columns) head.append(make("th", words, { scope: "col" }));
  const body = table.appendChild(make("tbody"));
  for (const item of answer.expected) {
    const row = body.appendChild(make("tr"));
    row.append(
      make("th", findingWords(day.vehicles, item.id), { scope: "row", dir: "auto" }),
      make("td", item.wanted === null ? "told" : `${figure(item.wanted)} ${item.unit}`),
      make("td", width(item.now)),
    );
    for (const [index, half] of item.half_width.entries()) {
      const cell = row.appendChild(make("td", width(half)));
      const done = state.done.find((one) => one.at === index);
      const found = done?.draft.number ? reached.get(done.draft.number) : undefined;
      if (found) cell.append(make("br"), make("b", `reached ${width(found[item.id] ?? null)}`));
    }
  }
  return box;
}
/** @type {(value: number | null) => string} */
const cost = (value) => (value === null ? "–" : figure(value));
/** @type {(value: number | null) => string} */
const width = (value) => (value === null ? "open" : `± ${figure(value)}`);

/** @type {(answer: Api.Plan, day: Page.Plan) => HTMLElement} */
function more(answer, day) {
  const box = make("details");
  box.append(make("summary", "What more would buy"));
  const list = box.appendChild(make("ul", "", "lines"));
  const plain = new Map(answer.expected.map((item) => [item.id, item]));
  for (const item of answer.what_more) {
    /** @type {{ id: string, now: number, before: number, unit: string }[]} */
    const gains = [];
    for (const { id, half_width: now } of item.half_width) {
      const known = plain.get(id),
        before = known?.half_width.at(-1);
      if (known && before && now !== null && now < before) gains.push({ id, now, before, unit: known.unit });
    }
    const widest = gains.sort((a, b) => a.now / a.before - b.now / b.before).at(0);
    const gain = widest
      ? ` ${findingWords(day.vehicles, widest.id)} to ± ${figure(widest.now)} ${widest.unit} instead of ± ${figure(widest.before)}.`
      : "";
    const words =
      item.status === "unknown"
        ? "no plan was found in the time that was left."
        : item.cost === null
          ? "no plan would do either."
          : `${item.drafts} draft${item.drafts === 1 ? "" : "s"}, cost ${figure(item.cost)} (now ${cost(answer.cost)}).${gain}`;
    list.append(make("li", `${sentence(inWords(day.vehicles, item.what)).replace(/\.$/, "")}: ${words}`));
  }
  return box;
}

/** @type {(answer: Api.Plan, day: Page.Plan) => Node[]} */
function impossible(answer, day) {
  /** @type {Node[]} */
  const parts = [
    make("h2", "No plan can reach that"),
    make(
      "p",
      "With these pads no number of drafts brings these findings as close as wanted. Ask for what is possible, or bring more.",
    ),
  ];
  const list = make("ul", "", "lines");
  const wanted = new Map(answer.expected.map((item) => [item.id, item]));
  for (const item of answer.best_possible) {
    const want = wanted.get(item.id);
    if (!want || (item.half_width !== null && (want.wanted === null || item.half_width <= want.wanted))) continue;
    const best =
      item.half_width === null
        ? "cannot be told with what is here"
        : `at best ± ${figure(item.half_width)} ${want.unit}, wanted ${width(want.wanted)} ${want.unit}`;
    const limits = item.limited_by.length
      ? `; kept there by ${item.limited_by
          .slice(0, 2)
          .map(({ what, share }) => `${inWords(day.vehicles, what)} (${figure(share)} %)`)
          .join(", ")}`
      : "";
    list.append(make("li", `${findingWords(day.vehicles, item.id)}: ${best}${limits}.`, "note doubt"));
  }
  parts.push(list);
  return parts;
}
