// Learn the rig: begin, watch, type and finish a recording that runs on the station; send a log; keep what it taught.

import { $, element, every, fieldsIn, make, only, pageData } from "./dom.js";
import { Away, call, wordsOf } from "./api.js";
import { Fields } from "./fields.js";
import { called, inWords, nameStates, stateWords } from "./place-words.js";
import { formatNumber, readMass } from "./number.js";
import { Slate } from "./slate.js";

const EVERY = 1000; // ms between two looks at the recording
/** @type {Page.Learn} */
const page = pageData();
nameStates(page.called);
const { links, titles } = page;
/** @type {(id: string) => HTMLElement | null} */
const find = (id) => document.getElementById(id);
/** @type {(id: string, words: string) => void} */
const say = (id, words) => {
  const place = find(id);
  if (place && place.textContent !== words) place.textContent = words;
};

// -- beginning --

function offer() {
  const boxes = page.states[element("state", HTMLSelectElement).value].map(({ place, name, pad }) => {
    const id = `pad-${place}`;
    const select = make("select", "", { id });
    select.append(new Option("none", ""), ...page.pads.map((one) => new Option(one, one, one === pad, one === pad)));
    select.dataset.place = place;
    const box = make("div", "", "field");
    box.append(make("label", name || place, { htmlFor: id }), select);
    return box;
  });
  $("pads").replaceChildren(...boxes);
  sayPads();
}

// Where each wheel has a pad there is nothing to choose; else the choice is open.
function sayPads() {
  const chosen = every($("pads"), "select", HTMLSelectElement);
  const wheels = chosen.filter((one) => /\d[LR]$/.test(one.dataset.place ?? ""));
  const without = wheels.filter((one) => !one.value).length;
  if (without) element("pads-part", HTMLDetailsElement).open = true;
  say("pads-say", without ? `${without} of ${wheels.length} wheels have none` : `all ${wheels.length} wheels have one`);
}

find("pads")?.addEventListener("change", sayPads);
find("state")?.addEventListener("change", offer);
find("begin")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const pads = Object.fromEntries(
    every($("pads"), "select", HTMLSelectElement)
      .filter((one) => one.value)
      .map((one) => [one.dataset.place, one.value]),
  );
  const take = only($("begin"), "[name=take]:checked, [name=take][type=hidden]", HTMLInputElement).value;
  await attempt("begin-fault", async () => {
    const state = element("state", HTMLSelectElement).value;
    show(await recording("POST", links.recording, { json: { state, take, pads } }));
    used("begin");
    $("record").scrollIntoView();
  });
});

/** @type {(fault: string, what: () => Promise<unknown>) => Promise<void>} */
async function attempt(fault, what) {
  say(fault, "");
  try {
    await what();
  } catch (error) {
    say(fault, inWords(titles, `${wordsOf(error)}.`.replace(/\.\.$/, ".")));
  }
}

// What the recording is by now, after the station was asked or told something.
/** @type {(method: string, url: string, given?: { json?: unknown, wait?: number }) => Promise<Api.Standing | null>} */
async function recording(method, url, given = {}) {
  /** @type {Page.Answer<Api.Recording>} */
  const { data } = await call(method, url, given);
  return data.recording;
}

// -- watching --

/** @type {(value: number | null) => string} */
const number = (value) => (value === null ? "–" : formatNumber(value, 2));
/** @type {(value: number) => string} */
const signed = (value) => (value > 0 ? "+" : value < 0 ? "−" : "") + number(Math.abs(value));
let rows = 0;
/** @type {number[]} */
let typed = []; // the last row, as it was typed
/** @type {Api.Standing | null} */
let standing = null; // the recording as it was seen last
/** @type {Api.Standing | null} */
let gone = null; // typed rows that the station has no more
// Typed rows, on this device until their log is finished: a station that is switched off takes none away.
/** @type {Slate<{ read: [Api.Standing] }>} */
const slate = new Slate(`rows ${page.day}`);
/** @type {Api.Standing | null} */
let left = slate.read()?.read[0] ?? null;
slate.begin();

/** @type {(now: Api.Standing | null) => void} */
function remember(now) {
  if (now !== null && (now.take !== "hand" || now.typed.length !== now.rows)) return;
  left = now?.rows ? now : null;
  slate.write(left && { read: [left] });
}

// A button that undoes what was done last; Ctrl+Z finds it while it is there.
/** @type {(id: string, there: boolean) => void} */
function undoable(id, there) {
  $(id).hidden = !there;
  $(id).toggleAttribute("data-undo", there);
}

/** @type {(rows: Api.Standing | null, why?: string) => void} */
function letGo(rows, why = "") {
  gone = rows;
  $("let-go-says").hidden = rows === null;
  undoable("bring-back", rows !== null);
  const count = rows && `${rows.rows} typed row${rows.rows === 1 ? "" : "s"}`;
  only($("let-go-says"), "p", HTMLElement).textContent = count ? `${count} ${why}` : "";
}

find("bring-back")?.addEventListener("click", () =>
  attempt("begin-fault", async () => {
    if (!gone) return;
    const { state, take, places, typed: back } = gone;
    const pads = Object.fromEntries(places.map(({ place, pad }) => [place, pad]));
    let now = await recording("POST", links.recording, { json: { state, take, pads } });
    for (const [at, row] of back.entries()) {
      const readings = Object.fromEntries(places.map(({ place }, column) => [place, row[column]]));
      now = await recording("POST", links.rows, { json: { row: at + 1, readings } });
    }
    show(now);
    $("record").focus();
  }),
);
/** @type {Fields | null} */
let fields = null; // what is typed and not used, once the page is ready

/** @type {(now: Api.Standing | null) => void} */
function show(now) {
  $("running").hidden = now === null;
  for (const id of ["begin", "idle"]) find(id)?.toggleAttribute("hidden", now !== null);
  document.body.dataset.recording = now === null ? "no" : now.running ? "yes" : "stopped";
  if (now === null) {
    if (find("take-back")) undoable("take-back", false);
    if (left && !gone && find("bring-back"))
      letGo(
        left,
        "on this device that the station does not have: it was stopped, or another device finished their log or let them go.",
      );
    return;
  }
  standing = now;
  remember(now);
  if (find("bring-back")) letGo(null);
  rows = now.rows;
  const hand = now.take === "hand";
  say("rows", formatNumber(now.rows));
  const moving = !now.steady && now.take === "steady";
  say("says", !now.running ? "Stopped" : now.trouble ? "No reading" : hand ? "By hand" : moving ? "Wait" : "Recording");
  say(
    "why",
    inWords(titles, now.stopped) ||
      (hand
        ? `${stateWords(now.state)}. A row after each person steps on.`
        : moving
          ? `${stateWords(now.state)}. The pads are moving; rows come when they stand still.`
          : `${stateWords(now.state)}. ${now.take === "steady" ? "Hold still for a few seconds, then the next one steps on." : "Every sample is a row."}`),
  );
  $("board").className = `sign-board ${!now.running || now.trouble ? "broken" : moving ? "unsteady" : "steady"}`;
  $("trouble").hidden = !now.trouble;
  say("trouble", now.trouble ? `${inWords(titles, now.trouble)} Nothing is recorded meanwhile.` : "");
  $("places").replaceChildren(
    ...now.places.map(({ place, pad, first, last, now: value }) => {
      const row = make("tr");
      row.append(
        make("th", called(titles, place), { scope: "row" }),
        make("td", pad),
        make("td", number(hand ? last : value)),
        make("td", first === null || last === null ? "–" : signed(last - first)),
      );
      return row;
    }),
  );
  if (find("by-hand")) type(now, hand);
}

/** @type {(now: Api.Standing, hand: boolean) => void} */
function type(now, hand) {
  $("by-hand").hidden = !hand || !now.running;
  if (!hand) return;
  say("next-row", `Row ${now.rows + 1}`);
  // One step back at a time: what stands on the button is what it undoes.
  say("take-back", `Undo row ${now.rows}`);
  undoable("take-back", now.running && now.rows > 0);
  typed = now.typed.at(-1) ?? [];
  const fields = $("hand-fields");
  if (fields.dataset.places === now.places.map((item) => item.place).join()) return;
  fields.dataset.places = now.places.map((item) => item.place).join();
  fields.replaceChildren(
    ...now.places.map(({ place, pad }) => {
      const id = `hand-${place}`;
      const input = make("input", "", { id, inputMode: "decimal", autocomplete: "off" });
      Object.assign(input.dataset, { place, unit: now.unit });
      const label = make("label", `${called(titles, place)} `, { htmlFor: id });
      label.append(make("span", `${pad}, ${now.unit}`, "soft"));
      const box = make("div", "", "field");
      box.append(label, input);
      return box;
    }),
  );
}

find("by-hand")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const inputs = every($("hand-fields"), "input", HTMLInputElement);
  const read = inputs.map((one) => ({
    one,
    ...readMass(one.value, one.dataset.unit ?? page.unit, "Type the number that its pad shows."),
  }));
  const wrong = read.find(({ value }) => value === null);
  if (wrong) {
    say("hand-fault", `${called(titles, wrong.one.dataset.place ?? "")}: ${wrong.words}`);
    wrong.one.focus();
    return;
  }
  const readings = Object.fromEntries(read.map(({ one, value }) => [one.dataset.place, value]));
  await attempt("hand-fault", async () => {
    show(await recording("POST", links.rows, { json: { row: rows + 1, readings } }));
    for (const one of inputs) {
      one.value = "";
      one.dispatchEvent(new Event("input", { bubbles: true })); // what was understood of it goes too
    }
    used("by-hand");
    inputs[0].focus();
  });
});
find("take-back")?.addEventListener("click", () =>
  attempt("hand-fault", async () => {
    const back = typed;
    show(await recording("DELETE", links.row.replace("NUMBER", String(rows))));
    const inputs = every($("hand-fields"), "input", HTMLInputElement);
    // The row is there to be mended, unless another one is being typed.
    if (inputs.every((one) => !one.value))
      for (const [at, one] of inputs.entries()) {
        one.value = String(back[at] ?? "");
        one.dispatchEvent(new Event("input", { bubbles: true }));
      }
    inputs[0].focus();
  }),
);
find("finish")?.addEventListener("click", () =>
  attempt("running-fault", async () => {
    /** @type {Page.Answer<Api.SweepNumber>} */
    const { data } = await call("POST", links.finish, { json: {}, wait: 30000 });
    remember(null);
    location.assign(`${location.pathname}?log=${data.number}#result`);
  }),
);
find("let-go")?.addEventListener("click", () => {
  const button = element("let-go", HTMLButtonElement);
  // Once to ask, once to do it: recorded rows that nobody kept are gone. Typed ones can be brought back.
  if (button.dataset.sure !== "yes" && rows > 0 && !(standing?.take === "hand" && standing.typed.length === rows)) {
    button.dataset.sure = "yes";
    button.textContent = `Let ${rows} rows go for good`;
    return;
  }
  attempt("running-fault", async () => {
    const before = standing;
    const now = await recording("DELETE", links.recording);
    remember(null);
    show(now);
    button.dataset.sure = "";
    button.textContent = "Let it go";
    if (before && before.take === "hand" && before.rows > 0 && before.typed.length === before.rows) {
      letGo(before, before.rows === 1 ? "was let go." : "were let go.");
      $("bring-back").focus();
    }
  });
});

for (const button of every(document, "[data-put]", HTMLElement)) {
  button.addEventListener("click", () =>
    attempt("running-fault", () =>
      call("POST", links.simulation, { json: { put_on: "170 lb", at: button.dataset.put } }),
    ),
  );
}
find("take-off")?.addEventListener("click", () =>
  attempt("running-fault", () => call("POST", links.simulation, { json: { put_on: null } })),
);

async function look() {
  try {
    show(await recording("GET", links.recording, { wait: 4000 }));
    $("away").hidden = true;
  } catch (error) {
    $("away").hidden = false;
    say(
      "away",
      error instanceof Away ? "The station does not answer. What it records goes on if it runs." : `${wordsOf(error)}.`,
    );
  }
}

// -- a log from elsewhere, and what was learned --

find("upload")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const file = element("upload-file", HTMLInputElement).files?.[0];
  const fault = $("upload-fault");
  fault.replaceChildren();
  if (!file) {
    fault.append(make("p", "Choose a file first."));
    return;
  }
  const query = new URLSearchParams({
    state: element("upload-state", HTMLSelectElement).value,
    name: file.name.slice(0, 100),
  });
  if (element("upload-at", HTMLInputElement).value.trim())
    query.set("at", element("upload-at", HTMLInputElement).value.trim());
  try {
    const response = await fetch(`${links.logs}?${query}`, {
      method: "POST",
      body: file,
      headers: { "Content-Type": "text/csv" },
      credentials: "same-origin",
      signal: AbortSignal.timeout(120000),
    });
    /** @type {Api.SweepNumber & Api.Error} */
    const data = await response.json();
    if (response.ok) {
      used("upload");
      location.assign(`${location.pathname}?log=${data.number}#result`);
      return;
    }
    const faults = data.error.faults.map(({ line, path, value, message }) =>
      inWords(titles, [line === null ? "" : `Line ${line}`, path, value, message].filter(Boolean).join(": ")),
    );
    fault.replaceChildren(...(faults.length ? faults : [data.error.message]).map((words) => make("p", words)));
  } catch {
    fault.append(make("p", "The station does not answer; the log was not sent."));
  }
});

find("teach")?.addEventListener("click", () =>
  attempt("teach-says", async () => {
    const asked = new URLSearchParams(location.search);
    const json = Object.fromEntries(
      ["on", "at", "height_division"].flatMap((key) => {
        const value = asked.get(key);
        return value ? [[key, value]] : [];
      }),
    );
    /** @type {Page.Answer<Api.Version>} */
    const { data } = await call("POST", links.teach.replace("NUMBER", $("teach").dataset.log ?? ""), {
      json,
      wait: 30000,
    });
    $("teach-says").replaceChildren(
      `${data.name} is in the yard, version ${data.version}. `,
      make("a", "To the yard", { href: links.yard }),
    );
  }),
);

if (find("state")) offer();
await look();
const forms = ["begin", "by-hand", "upload"].flatMap((id) => find(id) ?? []);
fields = forms.length ? new Fields(`typed learn ${page.day}`, forms, $("record")) : null;
/** @type {(form: string) => void} */
function used(form) {
  fields?.used(fieldsIn($(form)));
}
document.body.dataset.ready = "yes";
setInterval(() => {
  if (!document.hidden) look();
}, EVERY);
