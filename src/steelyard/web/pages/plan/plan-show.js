// The plan on the page: the drafts with their steps and drawings, what they are expected to reach, what more would buy.

import { formatNumber } from "./number.js";

const make = (tag, words = "", kind = "") =>
  Object.assign(document.createElement(tag), { textContent: words, className: kind });
const figure = (value) => formatNumber(Number(value.toPrecision(3)), 20);
const sentence = (words) => `${words[0].toUpperCase()}${words.slice(1)}${/[.!]$/.test(words) ? "" : "."}`;
const PROVED = { optimal: "Nothing that reaches it costs less.", feasible: "" };

// reached: half-widths by id, for each draft number taken since.
export function planParts({ day, kept, rigs, state, reached }) {
  const { answer } = kept;
  if (answer.status === "impossible") return impossible(answer);
  if (answer.status === "unknown")
    return [
      make("h2", "No plan was found in the time"),
      make("p", "None is ruled out either. Give the search more time under More choices, or ask for less."),
    ];
  const count = answer.drafts.length;
  const parts = [make("h2", count ? `The plan: ${count} draft${count === 1 ? "" : "s"}` : "Nothing more to take")];
  if (!count) parts.push(make("p", "The drafts taken so far tell all of it well enough."));
  else {
    const bound =
      answer.status === "feasible"
        ? `The search ended before it was proved the cheapest: it costs ${figure(answer.cost)}, and none costs less than ${figure(answer.bound)}.`
        : PROVED.optimal;
    parts.push(make("p", bound, "soft"));
    if (day.mayWeigh && state.next !== null) {
      const row = make("div", "", "row");
      row.append(
        Object.assign(make("a", state.done.length ? "Walk on" : "Walk it", "button main"), { href: day.links.pads }),
      );
      parts.push(row);
    }
  }
  if (state.others.length)
    parts.push(
      make(
        "p",
        `Also taken, not planned: ${state.others.map((draft) => `${draft.number ? `draft ${draft.number}` : "a draft that waits here"} in ${draft.state}`).join(", ")}. That is no error. Plan the rest, and they count.`,
        "note",
      ),
    );
  for (const [index, draft] of answer.drafts.entries()) parts.push(one(answer, index, draft, day, rigs, state));
  parts.push(expected(answer, state, reached));
  if (answer.what_more.length) parts.push(more(answer));
  // those that always hold stand on the page anyway
  for (const words of answer.cautions.filter((one) => !day.standing.includes(one)))
    parts.push(make("p", words, "note doubt"));
  if (answer.assumed_loads)
    parts.push(make("p", "Nothing was weighed yet: the figures rest on assumed loads.", "note"));
  return parts;
}

function one(answer, index, draft, day, rigs, state) {
  const done = state.done.find((item) => item.at === index);
  const box = make("div", "", `draftplan${done ? " done" : ""}`);
  box.dataset.draft = index + 1;
  const left = box.appendChild(make("div"));
  const head = left.appendChild(make("h3", `${index + 1}. ${draft.state}`));
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
    list.append(make("li", sentence(step.text)));
  const others = draft.unsupported
    ? `Wheels without a pad${draft.blocks.length ? " or a block" : ""} stand on the ground.`
    : "All other wheels stand as high as the pads.";
  left.append(make("p", others, "soft small"));
  if (done?.swapped.length)
    left.append(
      make(
        "p",
        `Taken with other pads at ${done.swapped.join(", ")}: it tells the same, a little better or worse.`,
        "note",
      ),
    );
  const drawing = rigs.get(day.states[draft.state]?.rig)?.cloneNode(true);
  if (drawing) {
    mark(drawing, draft);
    box.append(drawing);
  }
  return box;
}

function mark(drawing, draft) {
  for (const [place, pad] of Object.entries(draft.placements)) {
    const [vehicle, end] = place.split("/");
    const ends = /^\d+$/.test(end ?? "")
      ? [`${place}L`, `${place}R`]
      : end === undefined
        ? [...drawing.querySelectorAll("[data-at]")]
            .map((node) => node.dataset.at)
            .filter((at) => at.startsWith(`${vehicle}/`))
        : [place];
    for (const at of ends) {
      const spot = drawing.querySelector(`[data-at="${CSS.escape(at)}"]`);
      spot?.classList.add("on");
      if (spot) spot.querySelector("text").textContent = pad;
    }
  }
  for (const wheel of draft.blocks) drawing.querySelector(`[data-at="${CSS.escape(wheel)}"]`)?.classList.add("block");
}

function expected(answer, state, reached) {
  const box = make("div", "", "scroll");
  box.tabIndex = 0;
  box.setAttribute("role", "region");
  box.setAttribute("aria-label", "How well each finding will be known");
  const table = box.appendChild(make("table"));
  table.append(make("caption", "Known to within, 95 % of the time"));
  const head = table.appendChild(make("thead")).appendChild(make("tr"));
  const columns = ["Finding", "wanted", "before", ...answer.drafts.map((_, index) => `after ${index + 1}`)];
  for (const words of columns) head.append(Object.assign(make("th", words), { scope: "col" }));
  const body = table.appendChild(make("tbody"));
  for (const item of answer.expected) {
    const row = body.appendChild(make("tr"));
    row.append(
      Object.assign(make("th", item.id), { scope: "row" }),
      make("td", item.wanted === null ? "told" : `${figure(item.wanted)} ${item.unit}`),
      make("td", width(item.now)),
    );
    for (const [index, half] of item.half_width.entries()) {
      const cell = row.appendChild(make("td", width(half)));
      const done = state.done.find((one) => one.at === index);
      const found = done && reached.get(done.draft.number);
      if (found) cell.append(document.createElement("br"), make("b", `reached ${width(found[item.id] ?? null)}`));
    }
  }
  return box;
}
const width = (value) => (value === null ? "open" : `± ${figure(value)}`);

function more(answer) {
  const box = make("details");
  box.append(make("summary", "What more would buy"));
  const list = box.appendChild(make("ul", "", "lines"));
  const plain = new Map(answer.expected.map((item) => [item.id, item]));
  for (const item of answer.what_more) {
    const widest = item.half_width
      .filter((one) => one.half_width !== null)
      .map((one) => [one, plain.get(one.id)?.half_width.at(-1)])
      .filter(([one, before]) => before && one.half_width < before)
      .sort((a, b) => a[0].half_width / a[1] - b[0].half_width / b[1])[0];
    const gain = widest
      ? ` ${widest[0].id} to ± ${figure(widest[0].half_width)} ${plain.get(widest[0].id).unit} instead of ± ${figure(widest[1])}.`
      : "";
    const words =
      item.status === "unknown"
        ? "no plan was found in the time that was left."
        : item.cost === null
          ? "no plan would do either."
          : `${item.drafts} draft${item.drafts === 1 ? "" : "s"}, cost ${figure(item.cost)} (now ${figure(answer.cost)}).${gain}`;
    list.append(make("li", `${sentence(item.what).replace(/\.$/, "")}: ${words}`));
  }
  return box;
}

function impossible(answer) {
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
    if (item.half_width !== null && (want.wanted === null || item.half_width <= want.wanted)) continue;
    const best =
      item.half_width === null
        ? "cannot be told with what is here"
        : `at best ± ${figure(item.half_width)} ${want.unit}, wanted ± ${figure(want.wanted)} ${want.unit}`;
    const limits = item.limited_by.length
      ? `; kept there by ${item.limited_by
          .slice(0, 2)
          .map(({ what, share }) => `${what} (${figure(share)} %)`)
          .join(", ")}`
      : "";
    list.append(make("li", `${item.id}: ${best}${limits}.`, "note doubt"));
  }
  parts.push(list);
  return parts;
}
