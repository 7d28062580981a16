// The list of drafts: what waits on this device, what was refused, what is on the station's disk, what was put away.

import { called, day, format } from "./at-the-pads.js";
import { $, make, only } from "./dom.js";
import { byVehicle, stateWords } from "./place-words.js";

const box = $("kept");
const none = $("none-kept");
const away = $("away-list");

const MOST = 12; // readings of a draft that its line shows

/** @type {(item: Page.Item) => string} */
export const named = (item) => {
  if (item.what === "photo") return item.place ? `Photo of ${called(item.place)}` : "Photo";
  if (item.what === "correction") return item.shown ?? `Correction of draft ${item.json.draft}`;
  if (item.what === "state" || item.what === "scenario") return `State ${stateWords(item.shown)}`;
  return item.json.label || stateWords(item.json.state);
};

// How it stands with what was kept, in a few words for the lamp.
/** @type {(items: Page.Waiting[], hindered: string | null) => string} */
export function standing(items, hindered) {
  const refused = items.filter((item) => item.refused).length;
  const drafts = items.filter((item) => item.what === "draft" && !item.refused).length;
  // what hangs on a refused one goes as that one goes
  const held = new Set(items.filter((item) => item.refused).map((item) => item.key));
  const rest = items.find((item) => item.what !== "draft" && !item.refused && !held.has(item.after ?? ""));
  const waits = drafts
    ? `${drafts} waiting here`
    : rest
      ? `a ${rest.what === "scenario" ? "state" : rest.what} waiting here`
      : "";
  const parts = [refused ? `${refused} refused` : "", waits].filter(Boolean);
  if (!parts.length) return hindered ?? "All on disk";
  return `${hindered ? `${hindered}: ` : ""}${parts.join(", ")}`;
}

// waiting: items of the queue. onDisk: drafts newer than the page. old: those that the page came with.
// correct, drop: what can be done about a refused one; again: to send it once more; edit: to change a kept one.
/** @type {(shown: { waiting: Page.Waiting[], onDisk: Page.OnDisk[], old: Page.KnownDraft[], isAway: (draft: Page.KnownDraft) => string | null } & Page.QueueActs) => void} */
export function list({ waiting, onDisk, old, isAway, ...acts }) {
  const newestFirst = [...old].reverse();
  const lines = [
    ...waiting
      .filter((item) => (item.what !== "photo" && item.what !== "correction") || item.refused)
      .reverse()
      .map((item) => waitingLine(item, acts)),
    ...onDisk.map(({ number, json }) =>
      line(
        `${number ? `${number}. ` : ""}${json.label || stateWords(json.state)}`,
        json.readings ? summary(json.readings) : "from another device",
        "on disk",
        "disk",
      ),
    ),
    ...newestFirst.filter((draft) => isAway(draft) === null).map((draft) => keptLine(draft, null, acts)),
  ];
  box.replaceChildren(...lines);
  none.hidden = lines.length > 0;
  none.textContent = day.mayWeigh ? "None yet. The first is kept with the big button." : "None yet.";
  const gone = newestFirst.filter((draft) => isAway(draft) !== null);
  $("put-away").hidden = !gone.length;
  $("put-away-head").textContent = `Put away (${gone.length})`;
  away.replaceChildren(...gone.map((draft) => keptLine(draft, isAway(draft), acts)));
}

/** @type {(item: Page.Waiting, acts: Page.QueueActs) => HTMLElement} */
function waitingLine(item, acts) {
  const row = line(
    named(item),
    item.what === "draft" ? summary(item.json.readings) : "",
    item.refused ? "refused" : "waiting on this device",
    item.refused ? "refused" : "waiting",
  );
  if (item.refused) refusal(row, item, acts);
  else if (item.what === "draft") press(row, "Take back", named(item), () => acts.takeBack(item.key));
  return row;
}

// reason: why it was put away; null where it counts.
/** @type {(draft: Page.KnownDraft, reason: string | null, acts: Page.QueueActs) => HTMLElement} */
function keptLine(draft, reason, { edit, bringBack }) {
  const title = `${draft.number}. ${draft.label || stateWords(draft.state)}`;
  const what = [summary(draft.readings), draft.how].filter(Boolean).join("; ");
  const row = line(title, what, reason === null ? "on disk" : "put away", "disk");
  if (reason === null) row.append(...corrected(draft));
  if (reason) row.append(make("p", reason, { className: "soft small wide", dir: "auto" }));
  if (!day.mayWeigh) return row;
  if (reason === null) press(row, "Change", title, () => edit(draft));
  else press(row, "Bring back", title, () => bringBack(draft));
  return row;
}

// Each reading that counts for another value by now, or for none: what it showed struck through, what counts beside it.
/** @type {(draft: Page.KnownDraft) => HTMLElement[]} */
function corrected({ readings, counts }) {
  if (!counts) return [];
  return Object.entries(readings)
    .filter(([place, [, value]]) => counts[place] !== value)
    .map(([place, [, value]]) => {
      const told = make("p", `${byVehicle(day.vehicles, [[place, ""]])} `.replace(/\s+$/, " "), "soft small wide");
      const was = make("del"),
        now = make("ins");
      was.append(make("span", "was ", "unseen"), format(value));
      now.append(make("span", "now ", "unseen"), place in counts ? format(counts[place]) : "set aside");
      told.append(was, " ", now);
      return told;
    });
}

/** @type {(row: HTMLElement, words: string, title: string, act: () => void) => void} */
function press(row, words, title, act) {
  const button = make("button", words, { type: "button", className: "quiet", onclick: act });
  button.append(make("span", `: ${title}`, "unseen"));
  only(row, ".ends", HTMLElement).append(button);
}

/** @type {(title: string, what: string, where: string, kind: string) => HTMLElement} */
function line(title, what, where, kind) {
  const row = make("li");
  const left = row.appendChild(make("div", "", "told"));
  left.append(make("b", title, { dir: "auto" }), make("div", what, "soft small"));
  row.appendChild(make("div", "", "ends")).append(make("span", where, `where ${kind}`));
  return row;
}

/** @type {(row: HTMLElement, item: Page.Waiting, acts: Page.QueueActs) => void} */
function refusal(row, item, { correct, drop, again }) {
  const said = row.appendChild(make("p", `${item.refused}.`.replace(/\.\.$/, "."), "reason"));
  said.prepend(make("span", "The station says: ", "soft"));
  const acts = row.appendChild(make("div", "", "row acts"));
  /** @type {(words: string, act: () => void) => void} */
  const offer = (words, act) => {
    const button = make("button", words);
    button.type = "button";
    button.onclick = act;
    acts.append(button);
  };
  if (item.what === "draft") offer("Correct it", () => correct(item));
  offer("Send again", () => again(item));
  offer("Throw away", () => drop(item));
}

/** @type {(readings?: Page.Readings) => string} */
export function summary(readings = {}) {
  const entries = Object.entries(readings);
  const words = byVehicle(
    day.vehicles,
    entries.slice(0, MOST).map(([place, [, value]]) => [place, format(value)]),
  );
  return entries.length > MOST ? `${words} …` : words;
}
