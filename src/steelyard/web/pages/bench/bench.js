// At the bench: drawings in the look of the page, corrections with a reason, and word of new drafts.

import { closest, element, every } from "./dom.js";
import { call, hindrance, makeKey, passes } from "./api.js";
import { keep } from "./outbox.js";
import { readMass } from "./number.js";

const id = location.pathname.split("/")[2];
const dark = matchMedia("(prefers-color-scheme: dark)");
const theme = () => document.documentElement.dataset.look || (dark.matches ? "dark" : "light");

// A drawing is fetched when its part is opened.
function draw(figure) {
  const url = new URL(figure.dataset.drawing, location.href);
  url.searchParams.set("theme", theme());
  let image = figure.querySelector("img");
  if (!image)
    image = figure.appendChild(
      Object.assign(document.createElement("img"), { alt: figure.dataset.alt, width: 1600, height: 1052 }),
    );
  if (image.src !== url.href) image.src = url.href;
}
for (const part of document.querySelectorAll("details")) {
  part.addEventListener("toggle", () => {
    if (part.open) part.querySelectorAll(":scope > div > .drawing").forEach(draw);
  });
}
document.querySelectorAll("details[open] > div > .drawing").forEach(draw);
const redraw = () => document.querySelectorAll("details[open] .drawing").forEach(draw);
document.addEventListener("look", redraw);
dark.addEventListener("change", redraw);

// Corrections.
const dialog = element("correct", HTMLDialogElement);
const field = (name) => element(`correct-${name}`, HTMLInputElement);
let subject = null;

function open(draft, place, reading) {
  subject = { draft, place };
  element("correct-what", HTMLParagraphElement).textContent = `Draft ${draft}, ${place}: ${reading}`;
  for (const name of ["value", "reason"]) field(name).value = "";
  field("aside").checked = false;
  field("value").disabled = false;
  element("correct-fault", HTMLParagraphElement).textContent = "";
  dialog.showModal();
  field("value").focus();
}

document.addEventListener("click", (event) => {
  const button = closest(event.target, "[data-correct]");
  if (button) open(Number(button.dataset.correct), button.dataset.place, button.dataset.reading);
});
dialog.querySelector("[data-act=close]").addEventListener("click", () => dialog.close());
field("aside").addEventListener("change", () => {
  field("value").disabled = field("aside").checked;
});
dialog.querySelector("form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const aside = field("aside").checked;
  const { value, words } = readMass(
    field("value").value,
    field("value").dataset.unit,
    "Type what it should be, or set it aside.",
  );
  if (!aside && value === null) {
    element("correct-fault", HTMLParagraphElement).textContent = words;
    field("value").focus();
    return;
  }
  const json = {
    key: makeKey(),
    ...subject,
    reason: field("reason").value.trim(),
    at: new Date().toISOString().replace(/\.\d+Z$/, "Z"),
  };
  if (!aside) json.value = value;
  const url = `/api/v1/days/${id}/corrections`;
  try {
    await call("POST", url, { json });
    location.assign(location.pathname);
  } catch (error) {
    if (!passes(error)) {
      element("correct-fault", HTMLParagraphElement).textContent = `${error.message}.`;
      return;
    }
    await keep({ day: id, what: "correction", key: json.key, method: "POST", url, json });
    dialog.close();
    note(`The correction waits on this device and is sent by itself. ${hindrance(error).words}`);
  }
});

const asked = new URLSearchParams(location.search);
if (asked.has("correct") && dialog) {
  const button = every(document, "[data-correct]", HTMLElement).find(
    (one) => one.dataset.correct === asked.get("correct") && one.dataset.place === asked.get("place"),
  );
  if (button) open(Number(button.dataset.correct), button.dataset.place, button.dataset.reading);
}

// New drafts from elsewhere.
function note(words) {
  const box = document.getElementById("fresh");
  box.hidden = false;
  box.textContent = words;
}
const came = { draft: 0, correction: 0, state: 0 };
function others(kind) {
  if (!(kind in came)) return;
  came[kind] += 1;
  const words = Object.entries(came)
    .filter(([, count]) => count)
    .map(([what, count]) => `${count} new ${what}${count === 1 ? "" : "s"}`);
  note(`${words.join(", ")} since this page was opened. `);
  const again = Object.assign(document.createElement("a"), {
    href: location.href,
    textContent: "Show",
    className: "button",
  });
  document.getElementById("fresh").append(again);
}
const source = new EventSource(`/api/v1/days/${id}/events`);
source.addEventListener("draft", () => others("draft"));
source.addEventListener("entry", (event) => others(JSON.parse(event.data).kind));
addEventListener("pagehide", () => source.close());
