// Learn the rig: begin, watch, type and finish a recording that runs on the station; send a log; keep what it taught.

import { element, every, first } from "./dom.js";
import { Away, call } from "./api.js";
import { Fields } from "./fields.js";
import { formatNumber, readMass } from "./number.js";

const EVERY = 1000; // ms between two looks at the recording
const page = JSON.parse(document.getElementById("page-data").textContent);
const find = (id) => document.getElementById(id);
const make = (tag, values, ...children) => {
  const one = Object.assign(document.createElement(tag), values);
  one.append(...children);
  return one;
};
const say = (id, words) => {
  const place = find(id);
  if (place && place.textContent !== words) place.textContent = words;
};

// -- beginning --

function offer() {
  const boxes = page.states[element("state", HTMLSelectElement).value].map(({ place, name, pad }) => {
    const id = `pad-${place}`;
    const select = make(
      "select",
      { id },
      new Option("none", ""),
      ...page.pads.map((one) => new Option(one, one, one === pad, one === pad)),
    );
    select.dataset.place = place;
    return make("div", { className: "field" }, make("label", { htmlFor: id, textContent: name || place }), select);
  });
  find("pads").replaceChildren(...boxes);
}

find("state")?.addEventListener("change", offer);
find("begin")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const pads = Object.fromEntries(
    [...find("pads").querySelectorAll("select")]
      .filter((one) => one.value)
      .map((one) => [one.dataset.place, one.value]),
  );
  const take = first(document, "[name=take]:checked", HTMLInputElement).value;
  await attempt("begin-fault", async () => {
    show(
      (
        await call("POST", `${page.base}/recording`, {
          json: { state: element("state", HTMLSelectElement).value, take, pads },
        })
      ).data.recording,
    );
    used("begin");
    find("record").scrollIntoView();
  });
});

async function attempt(fault, what) {
  say(fault, "");
  try {
    await what();
  } catch (error) {
    say(fault, `${error.message}.`.replace(/\.\.$/, "."));
  }
}

// -- watching --

const number = (value) => (value === null ? "–" : formatNumber(value, 2));
const signed = (value) => (value > 0 ? "+" : value < 0 ? "−" : "") + number(Math.abs(value));
let rows = 0,
  fields = null; // fields: what is typed and not used, once the page is ready

function show(now) {
  find("running").hidden = now === null;
  if (find("begin")) find("begin").hidden = now !== null;
  if (find("idle")) find("idle").hidden = now !== null;
  document.body.dataset.recording = now === null ? "no" : now.running ? "yes" : "stopped";
  if (now === null) return;
  rows = now.rows;
  const hand = now.take === "hand";
  say("rows", formatNumber(now.rows));
  const moving = !now.steady && now.take === "steady";
  say("says", !now.running ? "Stopped" : now.trouble ? "No reading" : hand ? "By hand" : moving ? "Wait" : "Recording");
  say(
    "why",
    now.stopped ||
      (hand
        ? `${now.state}. A row after each person steps on.`
        : moving
          ? `${now.state}. The pads are moving; rows come when they stand still.`
          : `${now.state}. ${now.take === "steady" ? "Hold still for a few seconds, then the next one steps on." : "Every sample is a row."}`),
  );
  find("board").className = `sign-board ${!now.running || now.trouble ? "broken" : moving ? "unsteady" : "steady"}`;
  find("trouble").hidden = !now.trouble;
  say("trouble", now.trouble ? `${now.trouble} Nothing is recorded meanwhile.` : "");
  find("places").replaceChildren(
    ...now.places.map(({ place, pad, first, last, now: value }) =>
      make(
        "tr",
        {},
        make("th", { scope: "row", textContent: place }),
        make("td", { textContent: pad }),
        make("td", { textContent: number(hand ? last : value) }),
        make("td", { textContent: first === null || last === null ? "–" : signed(last - first) }),
      ),
    ),
  );
  if (find("by-hand")) type(now, hand);
}

function type(now, hand) {
  find("by-hand").hidden = !hand || !now.running;
  if (!hand) return;
  say("next-row", `Row ${now.rows + 1}`);
  find("take-back").hidden = now.rows === 0;
  const fields = find("hand-fields");
  if (fields.dataset.places === now.places.map((item) => item.place).join()) return;
  fields.dataset.places = now.places.map((item) => item.place).join();
  fields.replaceChildren(
    ...now.places.map(({ place, pad }) => {
      const id = `hand-${place}`;
      const input = make("input", { id, inputMode: "decimal", autocomplete: "off" });
      Object.assign(input.dataset, { place, unit: now.unit });
      return make(
        "div",
        { className: "field" },
        make(
          "label",
          { htmlFor: id },
          `${place} `,
          make("span", { className: "soft", textContent: `${pad}, ${now.unit}` }),
        ),
        input,
      );
    }),
  );
}

find("by-hand")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const inputs = [...find("hand-fields").querySelectorAll("input")];
  const read = inputs.map((one) => ({
    one,
    ...readMass(one.value, one.dataset.unit, "Type the number that its pad shows."),
  }));
  const wrong = read.find(({ value }) => value === null);
  if (wrong) {
    say("hand-fault", `${wrong.one.dataset.place}: ${wrong.words}`);
    wrong.one.focus();
    return;
  }
  const readings = Object.fromEntries(read.map(({ one, value }) => [one.dataset.place, value]));
  await attempt("hand-fault", async () => {
    show((await call("POST", `${page.base}/recording/rows`, { json: { row: rows + 1, readings } })).data.recording);
    for (const one of inputs) one.value = "";
    used("by-hand");
    inputs[0].focus();
  });
});
find("take-back")?.addEventListener("click", () =>
  attempt("hand-fault", async () => show((await call("DELETE", `${page.base}/recording/rows/${rows}`)).data.recording)),
);
find("finish")?.addEventListener("click", () =>
  attempt("running-fault", async () => {
    const { data } = await call("POST", `${page.base}/recording/finish`, { json: {}, wait: 30000 });
    location.assign(`${location.pathname}?log=${data.number}#result`);
  }),
);
find("let-go")?.addEventListener("click", () => {
  const button = element("let-go", HTMLButtonElement);
  // Once to ask, once to do it: rows that nobody kept are gone.
  if (button.dataset.sure !== "yes" && rows > 0) {
    button.dataset.sure = "yes";
    button.textContent = `Let ${rows} rows go for good`;
    return;
  }
  attempt("running-fault", async () => {
    show((await call("DELETE", `${page.base}/recording`)).data.recording);
    button.dataset.sure = "";
    button.textContent = "Let it go";
  });
});

for (const button of every(document, "[data-put]", HTMLElement)) {
  button.addEventListener("click", () =>
    attempt("running-fault", () =>
      call("POST", "/api/v1/simulation", { json: { put_on: "170 lb", at: button.dataset.put } }),
    ),
  );
}
find("take-off")?.addEventListener("click", () =>
  attempt("running-fault", () => call("POST", "/api/v1/simulation", { json: { put_on: null } })),
);

async function look() {
  try {
    show((await call("GET", `${page.base}/recording`, { wait: 4000 })).data.recording);
    find("away").hidden = true;
  } catch (error) {
    find("away").hidden = false;
    say(
      "away",
      error instanceof Away ? "The station does not answer. What it records goes on if it runs." : `${error.message}.`,
    );
  }
}

// -- a log from elsewhere, and what was learned --

find("upload")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const file = element("upload-file", HTMLInputElement).files[0];
  const fault = find("upload-fault");
  fault.replaceChildren();
  if (!file) {
    fault.append(make("p", { textContent: "Choose a file first." }));
    return;
  }
  const query = new URLSearchParams({
    state: element("upload-state", HTMLSelectElement).value,
    name: file.name.slice(0, 100),
  });
  if (element("upload-at", HTMLInputElement).value.trim())
    query.set("at", element("upload-at", HTMLInputElement).value.trim());
  try {
    const response = await fetch(`${page.base}/sweeps?${query}`, {
      method: "POST",
      body: file,
      headers: { "Content-Type": "text/csv" },
      credentials: "same-origin",
      signal: AbortSignal.timeout(120000),
    });
    const data = await response.json();
    if (response.ok) {
      used("upload");
      location.assign(`${location.pathname}?log=${data.number}#result`);
      return;
    }
    const faults = data.error.faults.map(({ line, path, value, message }) =>
      [line === null ? "" : `Line ${line}`, path, value, message].filter(Boolean).join(": "),
    );
    fault.replaceChildren(
      ...(faults.length ? faults : [data.error.message]).map((textContent) => make("p", { textContent })),
    );
  } catch {
    fault.append(make("p", { textContent: "The station does not answer; the log was not sent." }));
  }
});

find("teach")?.addEventListener("click", () =>
  attempt("teach-says", async () => {
    const asked = new URLSearchParams(location.search);
    const json = Object.fromEntries(
      ["on", "at", "height_division"].filter((key) => asked.get(key)).map((key) => [key, asked.get(key)]),
    );
    const { data } = await call("POST", `${page.base}/sweeps/${find("teach").dataset.log}/teach`, {
      json,
      wait: 30000,
    });
    find("teach-says").replaceChildren(
      `${data.name} is in the yard, version ${data.version}. `,
      make("a", { href: "/yard", textContent: "To the yard" }),
    );
  }),
);

if (find("state")) offer();
await look();
const forms = ["begin", "by-hand", "upload"].map(find).filter(Boolean);
fields = forms.length ? new Fields(`typed learn ${page.day}`, forms, find("record")) : null;
function used(form) {
  fields?.used([...find(form).querySelectorAll("input, select")]);
}
document.body.dataset.ready = "yes";
setInterval(() => {
  if (!document.hidden) look();
}, EVERY);
