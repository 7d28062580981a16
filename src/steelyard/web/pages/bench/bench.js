// At the bench: drawings in the look of the page, corrections with a reason, and word of new drafts.

import { $, closest, element, every, first, make, only } from "./dom.js";
import { call, hindrance, makeKey, passes, wordsOf } from "./api.js";
import { keep } from "./outbox.js";
import { watchStation } from "./away.js";
import "./tabs.js";
import { Slate } from "./slate.js";
import { readMass } from "./number.js";

const dark = matchMedia("(prefers-color-scheme: dark)");
const theme = () => document.documentElement.dataset.look || (dark.matches ? "dark" : "light");

// A drawing is fetched when its part is opened.
/** @type {(figure: HTMLElement) => void} */
function draw(figure) {
  const url = new URL(figure.dataset.drawing ?? "", location.href);
  url.searchParams.set("theme", theme());
  const { alt = "" } = figure.dataset;
  const image =
    first(figure, "img", HTMLImageElement) ?? figure.appendChild(make("img", "", { alt, width: 1600, height: 1052 }));
  if (image.src !== url.href) image.src = url.href;
}
for (const part of every(document, "details.figures", HTMLDetailsElement)) {
  part.addEventListener("toggle", () => {
    if (part.open) every(part, ":scope > div > .drawing", HTMLElement).forEach(draw);
  });
}

// The rig alone follows the device, unless a look was chosen: then every source of it has that look.
function dress() {
  const { look } = document.documentElement.dataset;
  for (const one of every(document, ".rigalone source", HTMLSourceElement)) {
    one.dataset.own ??= /theme=\w+/.exec(one.srcset)?.[0] ?? "";
    one.srcset = one.srcset.replace(/theme=\w+/, look ? `theme=${look}` : one.dataset.own);
  }
  for (const one of every(document, ".rigalone img", HTMLImageElement)) {
    const wanted = one.src.replace(/theme=\w+/, `theme=${look || "light"}`);
    if (one.src !== wanted) one.src = wanted;
  }
}
const redraw = () => {
  dress();
  every(document, "details.figures[open] .drawing", HTMLElement).forEach(draw);
};
if (document.documentElement.dataset.look) dress();
document.addEventListener("look", redraw);
dark.addEventListener("change", redraw);

// On paper everything is opened, and closed again after it.
/** @type {HTMLDetailsElement[]} */
let opened = [];
addEventListener("beforeprint", () => {
  opened = every(document, "details:not([open])", HTMLDetailsElement);
  for (const part of opened) part.open = true;
  for (const image of every(document, ".rigalone img", HTMLImageElement)) image.loading = "eager";
  every(document, ".drawing", HTMLElement).forEach(draw);
});
addEventListener("afterprint", () => {
  for (const part of opened) part.open = false;
});

// Corrections.
const dialog = element("correct", HTMLDialogElement);
const { day = "", corrections: url = "", events = "" } = dialog.dataset;
/** @type {(name: string) => HTMLInputElement} */
const field = (name) => element(`correct-${name}`, HTMLInputElement);
/** @type {{ draft: number, place: string } | null} */
let subject = null;
// What is typed of this reading and not kept yet: the figure, whether it is set aside, and why.
/** @type {Slate<{ read: [string, boolean, string] }> | null} */
let slate = null;

/** @type {(button: HTMLElement) => void} */
function open(button) {
  const { correct: draft = "", place = "", reading } = button.dataset;
  subject = { draft: Number(draft), place };
  slate = new Slate(`typed correction ${day} ${draft} ${place}`);
  const [value = "", aside = false, reason = ""] = slate.read()?.read ?? [];
  slate.begin();
  const back = value || aside || reason ? " What was typed and not kept is back." : "";
  slate.write(back ? { read: [value, aside, reason] } : null);
  element("correct-what", HTMLParagraphElement).textContent = `Draft ${draft}, ${place}: ${reading}.${back}`;
  field("value").value = value;
  field("reason").value = reason;
  field("aside").checked = aside;
  field("value").disabled = aside;
  element("correct-fault", HTMLParagraphElement).textContent = "";
  dialog.showModal();
  field("value").focus();
}

document.addEventListener("click", (event) => {
  const button = closest(event.target, "[data-correct]");
  if (button) open(button);
});
only(dialog, "[data-act=close]", HTMLElement).addEventListener("click", () => dialog.close());
for (const button of every(dialog, "[data-reason]", HTMLButtonElement))
  button.addEventListener("click", () => {
    field("reason").value = button.dataset.reason ?? "";
  });
field("aside").addEventListener("change", () => {
  field("value").disabled = field("aside").checked;
});
dialog.addEventListener("input", () => {
  const [value, aside, reason] = [field("value").value, field("aside").checked, field("reason").value];
  slate?.write(value || aside || reason ? { read: [value, aside, reason] } : null);
});
only(dialog, "form", HTMLFormElement).addEventListener("submit", async (event) => {
  event.preventDefault();
  if (!subject) return;
  const aside = field("aside").checked;
  const { value, words } = readMass(
    field("value").value,
    field("value").dataset.unit ?? "",
    "Type what it should be, or set it aside.",
  );
  if (!aside && value === null) {
    element("correct-fault", HTMLParagraphElement).textContent = words;
    field("value").focus();
    return;
  }
  /** @type {Page.QueuedCorrection["json"]} */
  const json = {
    key: makeKey(),
    ...subject,
    reason: field("reason").value.trim(),
    at: new Date().toISOString().replace(/\.\d+Z$/, "Z"),
  };
  if (!aside && value !== null) json.value = value;
  try {
    await call("POST", url, { json });
    slate?.write(null);
    location.assign(location.pathname);
  } catch (error) {
    if (!passes(error)) {
      element("correct-fault", HTMLParagraphElement).textContent = `${wordsOf(error)}.`;
      return;
    }
    await keep({ day, what: "correction", key: json.key, method: "POST", url, json });
    slate?.write(null);
    dialog.close();
    note(`The correction waits on this device and is sent by itself. ${hindrance(error).words}`);
  }
});

const asked = new URLSearchParams(location.search);
if (asked.has("correct")) {
  const button = every(document, "[data-correct]", HTMLElement).find(
    (one) => one.dataset.correct === asked.get("correct") && one.dataset.place === asked.get("place"),
  );
  if (button) open(button);
}

// New drafts from elsewhere.
/** @type {(words: string) => void} */
function note(words) {
  const box = $("fresh");
  box.hidden = false;
  box.textContent = words;
}
// Of each kind, as the station calls it, the words for one and for several, and how many came.
/** @type {Record<string, { one: string, several: string, count: number }>} */
const came = {
  draft: { one: "draft", several: "drafts", count: 0 },
  corrections: { one: "correction", several: "corrections", count: 0 },
  states: { one: "state", several: "states", count: 0 },
  photographs: { one: "photo", several: "photos", count: 0 },
  rule_choices: { one: "choice of rules", several: "choices of rules", count: 0 },
  titles: { one: "title", several: "titles", count: 0 },
};
/** @type {(kind: string) => void} */
function others(kind) {
  if (!(kind in came)) return;
  came[kind].count += 1;
  const words = Object.values(came)
    .filter(({ count }) => count)
    .map(({ one, several, count }) => `${count} new ${count === 1 ? one : several}`);
  note(`${words.join(", ")} since this page was opened. `);
  $("fresh").append(make("a", "Show", { href: location.href, className: "button" }));
}
const source = new EventSource(events);
source.addEventListener("draft", () => others("draft"));
source.addEventListener("entry", (event) => others(JSON.parse(event.data).kind));
watchStation(source);
addEventListener("pagehide", () => source.close());
