// The list of drafts: what waits on this device, what was refused, what is on the station's disk.

import { $, make } from "./dom.js";

const box = $("kept");
const none = $("none-kept");

/** @type {(item: Page.Item) => string} */
export const named = (item) => {
  if (item.what === "photo") return item.place ? `Photo of ${item.place}` : "Photo";
  if (item.what === "correction") return `Correction of draft ${item.json.draft}`;
  return item.what === "state" ? `State ${item.shown}` : item.json.label || item.json.state;
};

// How it stands with what was kept, in a few words for the lamp.
/** @type {(items: Page.Waiting[], hindered: string | null) => string} */
export function standing(items, hindered) {
  const refused = items.filter((item) => item.refused).length;
  const drafts = items.filter((item) => item.what === "draft" && !item.refused).length;
  // what hangs on a refused one goes as that one goes
  const held = new Set(items.filter((item) => item.refused).map((item) => item.key));
  const rest = items.find((item) => item.what !== "draft" && !item.refused && !held.has(item.after ?? ""));
  const waits = drafts ? `${drafts} waiting here` : rest ? `a ${rest.what} waiting here` : "";
  const parts = [refused ? `${refused} refused` : "", waits].filter(Boolean);
  if (!parts.length) return hindered ?? "All on disk";
  return `${hindered ? `${hindered}: ` : ""}${parts.join(", ")}`;
}

// waiting: items of the queue. onDisk: drafts newer than the page. old: those that the page came with.
// correct, drop: what can be done about a refused one; again: to send it once more.
/** @type {(shown: { waiting: Page.Waiting[], onDisk: Page.OnDisk[], old: Page.KnownDraft[], format: (value: number) => string, mayWeigh: boolean } & Page.QueueActs) => void} */
export function list({ waiting, onDisk, old, format, mayWeigh, correct, drop, again }) {
  /** @type {(readings?: Page.Readings) => string} */
  const summed = (readings) => summary(readings, format);
  const lines = [
    ...waiting
      .filter((item) => item.what !== "photo" || item.refused)
      .reverse()
      .map((item) => {
        const row = line(
          named(item),
          item.what === "draft" ? summed(item.json.readings) : "",
          item.refused ? "refused" : "waiting on this device",
          item.refused ? "refused" : "waiting",
        );
        if (item.refused) refusal(row, item, { correct, drop, again });
        return row;
      }),
    ...onDisk.map(({ number, json }) =>
      line(
        `${number ? `${number}. ` : ""}${json.label || json.state}`,
        json.readings ? summed(json.readings) : "from another device",
        "on disk",
        "disk",
      ),
    ),
    ...[...old]
      .reverse()
      .map((draft) =>
        line(
          `${draft.number}. ${draft.label || draft.state}`,
          [summed(draft.readings), draft.how].filter(Boolean).join("; "),
          "on disk",
          "disk",
        ),
      ),
  ];
  box.replaceChildren(...lines);
  none.hidden = lines.length > 0;
  none.textContent = mayWeigh ? "None yet. The first is kept with the big button." : "None yet.";
}

/** @type {(title: string, what: string, where: string, kind: string) => HTMLElement} */
function line(title, what, where, kind) {
  const row = make("li");
  const left = row.appendChild(make("div"));
  left.append(make("b", title), make("div", what, "soft small"));
  row.append(make("span", where, `where ${kind}`));
  return row;
}

/** @type {(row: HTMLElement, item: Page.Waiting, acts: Page.QueueActs) => void} */
function refusal(row, item, { correct, drop, again }) {
  const said = row.appendChild(make("p", `${item.refused}.`.replace(/\.\.$/, "."), "reason"));
  said.prepend(make("span", "The station says: ", "soft"));
  const acts = row.appendChild(make("div", "", "row acts"));
  /** @type {(words: string, act: () => void) => void} */
  const press = (words, act) => {
    const button = make("button", words);
    button.type = "button";
    button.onclick = act;
    acts.append(button);
  };
  if (item.what === "draft") press("Correct it", () => correct(item));
  press("Send again", () => again(item));
  press("Throw away", () => drop(item));
}

/** @type {(readings: Page.Readings | undefined, format: (value: number) => string) => string} */
export function summary(readings = {}, format) {
  const entries = Object.entries(readings);
  const words = entries
    .slice(0, 4)
    .map(([place, [, value]]) => `${place.split("/").pop()} ${format(value)}`)
    .join("  ");
  return entries.length > 4 ? `${words} …` : words;
}
