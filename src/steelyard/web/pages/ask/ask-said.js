// Ask the rig, what is said: the loads and their steps by vehicle, and the verdicts worst first.

import { OPEN } from "./ask-model.js";
import { $, element, every, make } from "./dom.js";
import { inState, parse, rank } from "./finding-id.js";
import { formatNumber as show } from "./number.js";
import { roomWords, signOf, wordOf } from "./verdict.js";

// The station's word in place of the page's own; what it has no number for has none. ``all``: changes between states too.
/** @type {(found: Page.Prediction, sure: Page.Prediction, all: boolean) => void} */
export function settle(found, sure, all) {
  for (const [id, item] of found.quantities) found.quantities.set(id, sure.quantities.get(id) ?? { ...item, ...OPEN });
  for (const [id, item] of found.verdicts) {
    const told = sure.verdicts.get(id);
    if (told) found.verdicts.set(id, told);
    else if (all || inState(id, ""))
      found.verdicts.set(id, { ...item, mark: "open", met: null, room: null, value: null });
  }
}

const ORDER = ["gross", "load", "axle", "wheel", "side"];

/** @type {(found: Page.Prediction, day: Page.Ask, now: Page.AskNow) => void} */
export function table(found, day, now) {
  /** @type {Map<string, [string, Page.Predicted][]>} */
  const groups = new Map();
  for (const [id, item] of found.quantities) {
    const { kind, owner } = parse(id);
    if (["axles", "spread", "d", "dc"].includes(kind)) continue;
    const title = day.titles[owner] ?? (owner === "combination" ? "Combination" : "Coupling");
    const rows = groups.get(title) ?? [];
    groups.set(title, rows);
    rows.push([id, item]);
  }
  const sheet = element("loads", HTMLTableElement);
  while (sheet.tBodies.length) sheet.tBodies[0].remove();
  sheet.append(
    ...[...groups].map(([title, rows]) => {
      const body = make("tbody"),
        head = make("tr");
      body.dataset.of = title;
      body.hidden = Boolean(sheet.dataset.tab) && sheet.dataset.tab !== title;
      const name = make("th", title, { colSpan: 4, scope: "rowgroup", dir: "auto" });
      head.append(name);
      if (!Object.values(day.titles).includes(title)) head.dataset.bare = "yes"; // its rows say by themselves what they are of
      body.append(
        head,
        ...rows.sort((a, b) => rank(a[0], ORDER) - rank(b[0], ORDER)).map(([id, item]) => line(id, item, title, now)),
      );
      return body;
    }),
  );
}

// The loads that matter of everything, or all of one vehicle.
/** @type {(titles: string[]) => void} */
export function tabs(titles) {
  const box = $("loads-tabs"),
    sheet = element("loads", HTMLTableElement);
  /** @type {(tab: string) => void} */
  const turn = (tab) => {
    sheet.dataset.tab = tab;
    for (const button of every(box, "button", HTMLButtonElement))
      button.setAttribute("aria-pressed", String(button.dataset.tab === tab));
    for (const body of sheet.tBodies) body.hidden = tab !== "" && body.dataset.of !== tab;
  };
  box.replaceChildren(
    ...["", ...titles].map((tab) => {
      const button = make("button", tab || "What matters", { type: "button", dir: "auto", onclick: () => turn(tab) });
      button.dataset.tab = tab;
      return button;
    }),
  );
  turn(titles.includes(sheet.dataset.tab ?? "") ? (sheet.dataset.tab ?? "") : "");
}

/** @type {(id: string, item: Page.Predicted, title: string, now: Page.AskNow) => HTMLElement} */
function line(id, item, title, now) {
  const row = make("tr", "", rank(id, ORDER) < 2 ? "strong" : "");
  if (rank(id, ORDER) < 3) row.dataset.main = "yes";
  row.dataset.id = id;
  const label = item.label.startsWith(title) ? item.label.slice(title.length).trim() : item.label;
  row.append(make("th", label, { scope: "row" }));
  if (item.value === null) {
    row.append(
      make(
        "td",
        now.answer || now.before.quantities.get(id)?.value === null ? "not determined" : "waits for the station",
        { colSpan: 3, className: "words" },
      ),
    );
    return row;
  }
  const before = now.before.quantities.get(id),
    step = !before || before.value === null ? null : item.value - before.value;
  row.append(
    make("td", show(item.value)),
    make(
      "td",
      step === null
        ? "new"
        : Math.abs(step) < 0.05
          ? "0"
          : `${step > 0 ? "+" : "−"}${show(Math.abs(step), Math.abs(step) < 10 ? 1 : 0)}`,
    ),
    make(
      "td",
      item.contested ? `${show(item.low)} to ${show(item.high)} ?` : `± ${show(item.half, item.half < 10 ? 1 : 0)}`,
    ),
  );
  row.dataset.value = String(item.value);
  row.dataset.u = String(item.u);
  return row;
}

// Which readings contradict one another; whatever this page says hangs on it.
/** @type {(under: Api.Under[]) => void} */
export function tellContested(under) {
  const box = $("contested");
  box.hidden = under.length === 0;
  box.textContent = under.length
    ? `Contested: the readings of this day contradict one another. What may be wrong: ${under.map((one) => one.without).join("; ")}. Figures marked ? span the answers.`
    : "";
}

/** @type {(all: [string, Page.Verdict][], now: Page.AskNow) => void} */
export function judge(all, now) {
  const trouble = all.filter(([, item]) => item.mark === "outside" || item.mark === "undecided");
  const calm = all.filter(([, item]) => item.mark === "within" || item.mark === "open");
  $("trouble").replaceChildren(...trouble.map(([id, item]) => verdict(id, item, now)));
  $("calm").replaceChildren(...calm.map(([id, item]) => verdict(id, item, now)));
  const judged = calm.filter(([, item]) => item.mark === "within").length,
    open = calm.length - judged;
  $("calm-says").textContent = calm.length
    ? [judged && `${judged} within`, open && `${open} not judged`].filter(Boolean).join(", ")
    : "none";
  /** @type {(mark: Page.Mark) => number} */
  const count = (mark) => all.filter(([, item]) => item.mark === mark).length;
  $("limits-says").textContent = all.length
    ? [
        count("outside") && `${count("outside")} outside`,
        count("undecided") && `${count("undecided")} undecided`,
        count("within") && `${count("within")} within`,
        count("open") && `${count("open")} not judged`,
      ]
        .filter(Boolean)
        .join(", ")
    : "no ratings, nothing judged";
}

/** @type {(id: string, item: Page.Verdict, now: Page.AskNow) => HTMLElement} */
function verdict(id, item, now) {
  const row = make("li", "", `verdict ${item.mark}`);
  row.dataset.id = id;
  const box = make("div");
  const was = now.before.verdicts.get(id)?.mark;
  const head = make("p");
  head.append(
    make("span", wordOf(item.mark), "word"),
    make("span", was && was !== item.mark ? `  was ${wordOf(was)}` : "", "soft"),
  );
  box.append(head, make("p", item.label, { className: "what", dir: "auto" }));
  if (item.contested) box.append(make("p", "Contested: it hangs on which of the contradicting readings is wrong."));
  else if (item.room !== null) box.append(make("p", roomWords(item, true)));
  if (item.advice) box.append(make("p", `${item.advice[0].toUpperCase()}${item.advice.slice(1)}.`));
  row.append(signOf(item.mark), box);
  return row;
}

/** @type {(standing: string[], cautions?: string[]) => void} */
export function heed(standing, cautions) {
  const box = $("cautions-own");
  const shown = (cautions ?? [])
    .filter((text) => !standing.includes(text))
    .map((text) => text.replace(/^what_if: (.)/, (_, first) => first.toUpperCase()));
  box.hidden = shown.length === 0;
  if (box.dataset.said !== shown.join("|")) {
    box.replaceChildren(...shown.map((text) => make("li", text)));
    box.dataset.said = shown.join("|");
  }
}
