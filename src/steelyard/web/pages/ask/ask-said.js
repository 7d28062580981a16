// Ask the rig, what is said: the loads and their steps, the verdicts worst first, and whose word it is.

import { amount } from "./after.js";
import { OPEN } from "./ask-model.js";
import { $, copyOf, element, make, only } from "./dom.js";
import { inState, parse, rank } from "./finding-id.js";
import { formatNumber as show } from "./number.js";

/** @type {(kind: string, says: string, why: string) => void} */
export function word(kind, says, why) {
  const board = $("board");
  board.className = `sign-board ${kind}`;
  $("says").textContent = says;
  $("why").textContent = why;
}

// The station's word in place of the page's own; what it has no number for has none. ``all``: changes between states too.
/** @type {(found: Page.Prediction, sure: Page.Prediction, all: boolean) => void} */
export function settle(found, sure, all) {
  for (const [id, item] of found.quantities) found.quantities.set(id, sure.quantities.get(id) ?? { ...item, ...OPEN });
  for (const [id, item] of found.verdicts) {
    const told = sure.verdicts.get(id);
    if (told) found.verdicts.set(id, { ...told, share: item.share });
    else if (all || inState(id, "")) found.verdicts.set(id, { ...item, mark: "open", room: null, order: 1e9 });
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
      const name = make("th", title, { colSpan: 4, scope: "rowgroup" });
      head.append(name);
      body.append(
        head,
        ...rows.sort((a, b) => rank(a[0], ORDER) - rank(b[0], ORDER)).map(([id, item]) => line(id, item, title, now)),
      );
      return body;
    }),
  );
}

/** @type {(id: string, item: Page.Predicted, title: string, now: Page.AskNow) => HTMLElement} */
function line(id, item, title, now) {
  const row = make("tr", "", rank(id, ORDER) < 2 ? "strong" : "");
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

/** @type {Record<Page.Mark, number>} */
const RANK = { outside: 0, undecided: 1, within: 2, open: 3 };

/** @type {(found: Page.Prediction, unit: string, now: Page.AskNow) => void} */
export function judge(found, unit, now) {
  const all = [...found.verdicts].sort(([, a], [, b]) => RANK[a.mark] - RANK[b.mark] || a.order - b.order);
  const trouble = all.filter(([, item]) => item.mark === "outside" || item.mark === "undecided");
  const calm = all.filter(([, item]) => item.mark === "within" || item.mark === "open");
  $("trouble").replaceChildren(...trouble.map(([id, item]) => verdict(id, item, unit, now)));
  $("calm").replaceChildren(...calm.map(([id, item]) => verdict(id, item, unit, now)));
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

/** @type {(id: string, item: Page.Judged, unit: string, now: Page.AskNow) => HTMLElement} */
function verdict(id, item, unit, now) {
  const row = make("li", "", `verdict ${item.mark}`);
  row.dataset.id = id;
  const sign = copyOf(only(element(`sign-${item.mark}`, HTMLTemplateElement).content, "svg", SVGElement));
  const box = make("div");
  const was = now.before.verdicts.get(id)?.mark;
  const head = make("p");
  head.append(
    make("span", item.mark === "open" ? "not judged" : item.mark, "word"),
    make("span", was && was !== item.mark ? `  was ${was === "open" ? "not judged" : was}` : "", "soft"),
  );
  box.append(head, make("p", item.label, "what"));
  if (item.contested) box.append(make("p", "Contested: it hangs on which of the contradicting readings is wrong."));
  else if (item.room !== null && item.u !== null && !item.share)
    box.append(
      make(
        "p",
        item.room >= 0 ? `${amount(item.room, item.u, unit)} of room` : `${amount(-item.room, item.u, unit)} too much`,
      ),
    );
  if (item.advice) box.append(make("p", `${item.advice[0].toUpperCase()}${item.advice.slice(1)}.`));
  row.append(sign, box);
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
