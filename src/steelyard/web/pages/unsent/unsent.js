// A day that the station does not have yet, at the pads: the page is filled from the answers that are kept on this device,
// and works as that of any day. Once the station has made the day, its own page takes over.

import { $, every, first, make } from "./dom.js";
import { makeKey } from "./api.js";
import { atHand, begin, carryTyped, holdOpen, queue } from "./unsent-queue.js";
import { drawn } from "./unsent-rig.js";
import { planOf } from "./unsent-plan.js";
import { yardOf, labelsOf } from "./unsent-new.js";
import { flush, onChange } from "./outbox.js";

const box = $("unsent");
const given = /** @type {Record<"begun" | "day" | "make" | "new" | "home" | "pads", string>} */ ({ ...box.dataset });
const EMPTY = first(document, "#page-data", HTMLElement)?.textContent ?? "";
const NOBODY = JSON.parse(EMPTY).day; // the name of the day in a page that is not filled yet
const LATER = 500; // ms

/** @param {string[]} words @param {HTMLElement} [link] */
function say(words, link) {
  box.classList.add("alarm");
  box.replaceChildren(...words.map((text) => make("p", text)));
  if (link) box.append(link);
}

// The answers as the form sent them, which the worker put beside this page: in the queue before anything else.
/** @type {(held: Response, at: string) => Promise<string>} */
async function keepAnswers(held, at) {
  const typed = new URLSearchParams(await held.text());
  const { key = makeKey(), ...answers } = Object.fromEntries(typed);
  const yard = await yardOf(given.new, answers),
    json = { ...answers, key, on: new Date().toISOString().slice(0, 10) },
    day = NOBODY.replace("KEY", key);
  const { title } = await planOf(json, yard);
  await begin({
    what: "rig",
    day,
    key,
    method: "POST",
    url: given.make,
    json,
    yard,
    title,
    opens: given.day,
    made: Date.now(),
  });
  for (const name of await caches.keys()) await (await caches.open(name)).delete(at);
  history.replaceState(null, "", `${given.begun.replace(NOBODY, day)}#first`);
  return day;
}

/** @type {(rig: Page.UnsentRig) => Promise<void>} */
async function fill(rig) {
  const { title, rigs, ...plan } = await planOf(rig.json, rig.yard);
  const { day } = rig;
  const data = JSON.parse(EMPTY.replaceAll(NOBODY, day));
  // what is kept in any state waits for the day
  const states = Object.fromEntries(
    Object.entries(plan.states).map(([id, state]) => [id, { ...state, made: rig.key }]),
  );
  const into = first(document, "#page-data", HTMLElement);
  if (into) into.textContent = JSON.stringify({ ...data, ...plan, states });
  document.title = document.title.replace("New rig", title);
  for (const head of every(document, "h1", HTMLElement)) head.textContent = title;
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) if (texts.currentNode.nodeValue?.trim() === "…") texts.currentNode.nodeValue = plan.unit;
  for (const link of every(document, `main a[href*="${NOBODY}"]`, HTMLAnchorElement)) link.remove();
  first(document, "#states", HTMLElement)?.append(
    ...Object.keys(states).map((id) => {
      const button = make("button", id.replaceAll("_", " "), { type: "button", dir: "auto" });
      button.dataset.state = id;
      button.setAttribute("aria-pressed", "false");
      return button;
    }),
  );
  first(document, "#plan", HTMLElement)?.append(
    ...rigs.map((one) => {
      const sheet = make("div", "", { hidden: true });
      sheet.dataset.rig = one.key;
      sheet.append(drawn(one));
      return sheet;
    }),
  );
}

let leaving = false;
/** @type {(made: Page.MadeRig) => Promise<void>} */
async function leave(made) {
  if (leaving) return;
  leaving = true;
  const ready = await atHand(made);
  if (!ready || document.querySelector("dialog[open]")) {
    // whoever is typing is left alone, and so is whoever has no station again
    setTimeout(
      () => {
        leaving = false;
        leave(made);
      },
      LATER * (ready ? 1 : 8),
    );
    return;
  }
  await carryTyped(made);
  location.replace(given.day.replace("DAY", made.as) + location.hash);
}

/** @type {(rig: Page.UnsentRig) => Promise<void>} */
async function refused({ day, refused: words, faults = {} }) {
  const labels = await labelsOf(given.new);
  const said = Object.entries(faults).map(([name, fault]) => (labels[name] ? `${labels[name]}: ${fault}` : fault));
  const link = make("a", "Put it right", { className: "button main", href: `${given.new}?unsent=${day}` });
  say(
    [
      "The station does not accept this rig. Every draft waits on this device until it is put right.",
      ...(said.length ? said : [`The station says: ${words}.`]),
    ],
    link,
  );
}

async function open() {
  let day = location.pathname.split("/").find((part) => part.startsWith("unsent-")) ?? "";
  const at = `${location.pathname}/${location.hash.slice(1)}`,
    held = day ? null : await caches.match(at);
  if (held) day = await keepAnswers(held, at);
  /** @type {(rigs: Page.QueueNews["rigs"]) => Page.UnsentRig | Page.MadeRig | undefined} */
  const own = (rigs) => rigs.find((one) => one.day === day);
  const rig = own((await queue()).rigs);
  if (!rig || rig.what === "made") {
    if (rig) await leave(rig);
    const home = make("a", "Weigh days", { className: "button main", href: given.home });
    say(
      rig
        ? [`“${rig.title}” is at the station. Its page opens here as soon as the station answers.`]
        : ["This device knows no such day. It was begun on another device, or its data was cleared."],
      home,
    );
    for (const head of every(document, "h1", HTMLElement)) head.textContent = rig ? rig.title : "Not here";
    for (const part of every(document, "main > :not(.notices, .daybar), #net, .keepbar", HTMLElement))
      part.hidden = true;
    document.body.dataset.ready = "yes";
    flush();
    return;
  }
  holdOpen(day);
  await fill(rig);
  await import(given.pads);
  let said = "";
  onChange(({ rigs }) => {
    const now = own(rigs);
    if (now?.what === "made") leave(now);
    else if (now?.refused && now.refused !== said) refused(now);
    said = now?.refused ?? "";
  });
}

open().catch((error) => {
  say([
    `This device could not keep the answers: ${error instanceof Error ? error.message : error}. They lie beside this page: free some space on the device and load it again.`,
  ]);
  throw error;
});
