// The list of drafts: what waits on this device, what was refused, what is on the station's disk.

const box = document.getElementById("kept");
const none = document.getElementById("none-kept");

const WHAT = {
  photo: () => "Photo",
  correction: (item) => `Correction of draft ${item.json.draft}`,
  state: (item) => `State ${item.shown}`,
  draft: (item) => item.json.label || item.json.state,
};
export const named = (item) => WHAT[item.what](item);

// How it stands with what was kept, in a few words for the lamp.
export function standing(items, hindered) {
  const refused = items.filter((item) => item.refused).length;
  const drafts = items.filter((item) => item.what === "draft" && !item.refused).length;
  // what hangs on a refused one goes as that one goes
  const held = new Set(items.filter((item) => item.refused).map((item) => item.key));
  const rest = items.find((item) => item.what !== "draft" && !item.refused && !held.has(item.after));
  const waits = drafts ? `${drafts} waiting here` : rest ? `a ${rest.what} waiting here` : "";
  const parts = [refused ? `${refused} refused` : "", waits].filter(Boolean);
  if (!parts.length) return hindered ?? "All on disk";
  return `${hindered ? `${hindered}: ` : ""}${parts.join(", ")}`;
}

// waiting: items of the queue. onDisk: drafts newer than the page. old: those that the page came with.
// correct, drop: what can be done about a refused one; again: to send it once more.
export function list({ waiting, onDisk, old, format, mayWeigh, correct, drop, again }) {
  const summed = (readings) => summary(readings, format);
  const lines = [
    ...waiting
      .filter((item) => item.what !== "photo" || item.refused)
      .reverse()
      .map((item) => {
        const row = line(
          named(item),
          summed(item.json?.readings),
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

function line(title, what, where, kind) {
  const row = document.createElement("li");
  const left = row.appendChild(document.createElement("div"));
  left.append(text("b", title), text("div", what, "soft small"));
  row.append(text("span", where, `where ${kind}`));
  return row;
}

function refusal(row, item, { correct, drop, again }) {
  const said = row.appendChild(text("p", `${item.refused}.`.replace(/\.\.$/, "."), "reason"));
  said.prepend(text("span", "The station says: ", "soft"));
  const acts = row.appendChild(text("div", "", "row acts"));
  const press = (words, act) => {
    const button = text("button", words);
    button.type = "button";
    button.onclick = () => act(item);
    acts.append(button);
  };
  if (item.what === "draft") press("Correct it", correct);
  press("Send again", again);
  press("Throw away", drop);
}

export function summary(readings = {}, format) {
  const entries = Object.entries(readings);
  const words = entries
    .slice(0, 4)
    .map(([place, [, value]]) => `${place.split("/").pop()} ${format(value)}`)
    .join("  ");
  return entries.length > 4 ? `${words} …` : words;
}

const text = (tag, words, kind = "") =>
  Object.assign(document.createElement(tag), { textContent: words, className: kind });
