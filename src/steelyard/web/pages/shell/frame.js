// On every page: the look, what waits on this device, the service worker where the context is secure.

import { $, element, every, first, make, maybe } from "./dom.js";
import { showMeanings } from "./means.js";
import { flush, onChange } from "./outbox.js";
import { call, wordsOf } from "./api.js";
import { showLocal } from "./moment.js";

showLocal(document);

const EVERY = 3000; // ms between two looks at whether a paired device is still let in

// A device that was sent away hears of it on every page. What asks the station anyway says it at once (api.js).
const sentAway = maybe("sent-away", HTMLElement);
const asked = sentAway?.dataset.asked;
if (sentAway && asked) {
  const told = () => {
    if (sentAway.childElementCount) return;
    const words =
      "The station does not know this device any more: it was sent away. What is kept here waits on this device.";
    sentAway.setAttribute("role", "alert"); // not before: an empty one is announced by some readers
    const link = document.querySelector(".foot a");
    const pair = link?.getAttribute("href") ?? "/";
    sentAway.append(make("p", words), make("a", "Pair it again", { className: "button", href: pair }));
  };
  document.addEventListener("notpaired", told);
  const look = () => {
    if (!document.hidden)
      call("GET", `${asked}?limit=1`, { wait: EVERY })
        .then(() => sentAway.replaceChildren())
        .catch(() => {});
  };
  setInterval(look, EVERY);
  document.addEventListener("visibilitychange", look);
}

const look = element("look", HTMLSelectElement);
look.value = document.documentElement.dataset.look ?? "";
look.addEventListener("change", () => {
  if (look.value) document.documentElement.dataset.look = look.value;
  else delete document.documentElement.dataset.look;
  try {
    localStorage.setItem("look", look.value);
  } catch {
    /* it holds for this page */
  }
  document.dispatchEvent(new Event("look"));
});

const waiting = document.getElementById("waiting");
if (waiting) {
  const { pads = "" } = waiting.dataset;
  onChange(({ items, away }) => {
    const drafts = items.filter((item) => item.what === "draft" && !item.refused).length;
    const refused = items.filter((item) => item.refused);
    /** @type {string[]} */
    const lines = [];
    if (drafts)
      lines.push(
        `${drafts} draft${drafts === 1 ? " waits" : "s wait"} on this device and will be sent when the station ${away && away.kind !== "no answer" ? "can keep them" : "answers"}.`,
      );
    if (away && away.kind !== "no answer") lines.push(away.words);
    if (refused.length)
      lines.push(
        `The station refused ${refused.length === 1 ? "one thing" : `${refused.length} things`} that this device sent. Open the day at the pads to put that right.`,
      );
    waiting.hidden = lines.length === 0;
    waiting.replaceChildren(...lines.map((words) => make("p", words)));
    for (const day of new Set(refused.map((item) => item.day)))
      waiting.append(make("a", "To the pads", { className: "button", href: pads.replace("DAY", day) }));
  });
}
flush();

// Addresses in the units that were chosen.
for (const mark of every(document, "[data-unit]", HTMLElement)) {
  const show = () => {
    const [mass, length] = (first(document, "[name=units]:checked", HTMLInputElement)?.value ?? "lb in").split(" ");
    mark.textContent = mark.dataset.unit === "mass" ? mass : length;
  };
  document.addEventListener("change", show);
  show();
}

// What was done just now can be undone, by its button and by Ctrl+Z where no field takes that.
addEventListener("keydown", (event) => {
  const typing = event.target instanceof Element && event.target.closest("input, select, textarea");
  if (typing || event.shiftKey || event.altKey || !(event.ctrlKey || event.metaKey) || event.key !== "z") return;
  const undo = first(document, "[data-undo]", HTMLButtonElement);
  if (!undo) return;
  event.preventDefault();
  undo.click();
});

showMeanings();

const bring = maybe("import", HTMLFormElement);
bring?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const said = $("import-said");
  const file = element("file", HTMLInputElement).files?.[0];
  if (!file) {
    said.textContent = "Choose a file first.";
    return;
  }
  try {
    /** @type {Page.Answer<Api.Addition & { id: string }>} */
    const { data } = await call("POST", bring.dataset.days ?? "", {
      body: await file.text(),
      type: "application/toml",
      wait: 30000,
    });
    location.assign((bring.dataset.bench ?? "").replace("DAY", data.id));
  } catch (error) {
    said.className = "note alarm";
    said.textContent = `Not opened: ${wordsOf(error)}`;
  }
});

if (isSecureContext && "serviceWorker" in navigator) {
  const registration = await navigator.serviceWorker.register("/sw.js").catch(() => null);
  if (registration) {
    const ready = await navigator.serviceWorker.ready;
    navigator.serviceWorker.addEventListener("message", ({ data }) => {
      if (data?.kept === location.pathname + location.search) document.documentElement.dataset.offline = "ready";
    });
    const state = document.documentElement.dataset,
      along = every(document, "[data-along]", HTMLElement).flatMap((one) => one.dataset.along?.split(" ") ?? []);
    const keepPages = () => {
      delete state.offline;
      ready.active?.postMessage({ keep: location.pathname + location.search, along });
    };
    keepPages();
    // what the station took changes what these pages show
    onChange(({ items, sent }) => {
      if (sent?.answer && !items.length) keepPages();
    });
    navigator.storage?.persist?.();
    const now = document.getElementById("trust-now");
    if (now)
      now.textContent =
        "Ready: this device opens the pages it has seen with no station, and keeps drafts until it answers.";
  }
}
