// A verification walked at the pads: which load goes on next, what was shown, typed or taken live, and the file of it
// all. Nothing is judged here: the station reads the file as the command does.

import { $, element, every, fieldsIn, make, maybe, pageData } from "./dom.js";
import { Away, call, wordsOf } from "./api.js";
import { Fields } from "./fields.js";
import { formatNumber, readMass, readNumber, written } from "./number.js";

/** @typedef {{ name: string, text: string, unit: string, length: string, factor: number, division: number, capacity: number }} Pad */
/** @typedef {{ id: string, words: string, load: number }} Row */
/** @typedef {{ pad: Pad, kind: "masses" | "eccentric" | "repeats", title: string, rows: Row[] }} Test */
/** @typedef {{ pads: Pad[], links: { judge: string, keep: string, channels: string, record: string } }} Data */

const EVERY = 1000; // ms between two looks at the live loads, and between two tries to send
const WAITING = "verification that waits";
const PLACES = ["centre", "front", "rear", "left", "right"];
const REPEATS = 6;

/** @type {Data} */
const { pads, links } = pageData();
/** @type {(id: string) => HTMLInputElement} */
const input = (id) => element(id, HTMLInputElement);
/** @type {(id: string) => string} */
const text = (id) => input(id).value.trim();
const chosen = () => pads.filter(({ name }) => input(`pad-${name}`).checked);
const unit = () => (chosen()[0] ?? pads[0])?.unit ?? "lb";

// What is wrong with what was typed, and where.
class Wrong extends Error {
  /** @param {string} words @param {HTMLElement} [where] */
  constructor(words, where) {
    super(words);
    this.where = where;
  }
}

/** @type {(id: string, name: string) => number} */
function mass(id, name) {
  const { value, words } = readMass(text(id), unit(), "Type a mass.");
  if (value === null) throw new Wrong(`${name}: ${words}`, input(id));
  return value;
}

// The loads that go up: nothing, then more and more.
function ladder() {
  const parts = text("steps").split(";");
  const read = parts.map((part) => readMass(part.trim(), unit(), "Type masses with ; between them.").value);
  const loads = read.flatMap((value) => (value === null ? [] : [value]));
  const rising = loads.every((value, place) => !place || value > loads[place - 1]);
  if (loads.length !== parts.length || !rising || loads.filter((value) => value > 0).length < 2)
    throw new Wrong(
      "Loads going up: type two or more, each above the one before, with ; between them.",
      input("steps"),
    );
  return loads;
}

// -- the tests of the chosen pads, in the order in which the loads go on --

/** @returns {Test[]} */
function tests() {
  const loads = ladder();
  const middle = mass("middle", "Load off centre and for repeats");
  const shown = `${formatNumber(middle, 3)} ${unit()}`;
  return chosen().flatMap((pad) => {
    /** @type {(load: number, way: string) => Row} */
    const step = (load, way) => ({
      id: `${pad.name} ${way} ${load}`,
      words: load ? `${formatNumber(load, 3)} ${unit()}, going ${way}` : way === "up" ? "empty" : "empty again",
      load,
    });
    /** @type {(part: string, words: string) => Row} */
    const row = (part, words) => ({ id: `${pad.name} ${part}`, words, load: middle });
    /** @type {Test[]} */
    const own = [
      {
        pad,
        kind: "masses",
        title: "zero, loads up and down",
        rows: [
          ...loads.map((load) => step(load, "up")),
          ...loads
            .slice(0, -1)
            .reverse()
            .map((load) => step(load, "down")),
        ],
      },
      {
        pad,
        kind: "eccentric",
        title: "off centre",
        rows: PLACES.map((place) => row(`at ${place}`, `${shown} at the ${place}`)),
      },
      {
        pad,
        kind: "repeats",
        title: "repeats",
        rows: Array.from({ length: REPEATS }, (_, place) => row(`repeat ${place + 1}`, `${shown}, time ${place + 1}`)),
      },
    ];
    return own;
  });
}

/** @type {(test: Test) => string} */
const outId = ({ pad, kind }) => `${pad.name} ${kind} out`;
/** @type {(test: Test) => string} */
const detailsId = ({ pad, kind }) => `${pad.name} ${kind}`;
/** @type {(test: Test) => boolean} */
const isOut = (test) => maybe(outId(test), HTMLInputElement)?.checked ?? false;
const small = () => text("small") !== "";

let made = ""; // for which pads and loads the rows stand

function draw() {
  for (const place of every(document, "[data-mass]", HTMLElement)) place.textContent = unit();
  $("walking").hidden = !chosen().length;
  try {
    const all = tests();
    const now = JSON.stringify([all.map((test) => [test.pad.name, test.rows]), small()]);
    if (now !== made) {
      made = now;
      const left = new Map(fieldsIn($("tests")).map((field) => [field.id, field]));
      $("tests").replaceChildren(...all.map((test) => box(test, left)));
    }
    next(all);
  } catch (error) {
    if (!(error instanceof Wrong)) throw error;
    said(error.message, "", "Put the loads above right.");
  }
}

/** @type {(test: Test, left: Map<string, Page.Field>) => HTMLElement} */
function box(test, left) {
  const set = make("details", "", { id: detailsId(test) });
  const out = make("input", "", { type: "checkbox", id: outId(test), checked: isKept(left, outId(test)) });
  const label = make("label", "", "tick");
  label.append(out, " leave this test out");
  const rows = make("div", "", "fields");
  rows.append(
    ...test.rows.flatMap((row) => {
      const one = [typed(row.id, row.words, left)];
      if (small() && test.kind === "masses") one.push(typed(`${row.id} added`, `small weights at ${row.words}`, left));
      return one;
    }),
  );
  set.append(make("summary", `${test.pad.name}: ${test.title}, ${unit()}`), rows, label);
  return set;
}

/** @type {(left: Map<string, Page.Field>, id: string) => boolean} */
function isKept(left, id) {
  const field = left.get(id);
  return field instanceof HTMLInputElement && field.checked;
}

/** @type {(id: string, words: string, left: Map<string, Page.Field>) => HTMLElement} */
function typed(id, words, left) {
  const field = make("div", "", "field");
  const one = make("input", "", { id, inputMode: "decimal", autocomplete: "off", value: left.get(id)?.value ?? "" });
  field.append(make("label", words, { htmlFor: id }), one);
  return field;
}

// -- what goes on next --

/** @type {{ test: Test, row: Row } | null} */
let current = null;
let opened = ""; // the test whose rows are shown
/** @type {Record<string, Api.Channel>} */
let live = {};

/** @type {(all: Test[]) => void} */
function next(all) {
  const open = all.filter((test) => !isOut(test));
  current = null;
  for (const test of open) {
    const row = test.rows.find(({ id }) => !text(id));
    if (row) {
      current = { test, row };
      break;
    }
  }
  if (!current) {
    said("All is read", "", "Judge it below, or keep it in the yard.");
    return;
  }
  const { test, row } = current;
  if (opened !== detailsId(test)) {
    opened = detailsId(test);
    for (const one of all) element(detailsId(one), HTMLDetailsElement).open = one === test;
  }
  const done = test.rows.filter(({ id }) => text(id)).length;
  const channel = live[test.pad.name];
  const value = channel ? shownBy(test.pad, channel) : null;
  const words = value === null ? "" : `${formatNumber(value, 3)} ${unit()}`;
  const moving = channel && !channel.steady ? " The pad is moving: wait until it stands still." : "";
  said(
    `${test.pad.name}: ${row.words}`,
    words,
    `${test.title}, ${done + 1} of ${test.rows.length}.${channel?.trouble ? ` ${channel.trouble}.` : moving}`,
  );
  const take = element("take-it", HTMLButtonElement);
  take.hidden = value === null;
  take.disabled = !channel?.steady;
  take.textContent = value === null ? "Take it" : `Take ${words}`;
}

/** @type {(says: string, sum: string, why: string) => void} */
function said(says, sum, why) {
  for (const [id, words] of Object.entries({ says, sum, why }))
    if ($(id).textContent !== words) $(id).textContent = words;
  $("take-it").hidden = true;
  $("type").hidden = current === null;
}

// What a pad shows, in the unit of the file and in whole divisions: conversion leaves noise that no display has.
/** @type {(pad: Pad, channel: Api.Channel) => number | null} */
function shownBy(pad, channel) {
  if (channel.value === null) return null;
  const value = channel.value / pad.factor;
  const count = value / pad.division;
  return Math.abs(count - Math.round(count)) < 0.02
    ? Number((Math.round(count) * pad.division).toPrecision(10))
    : value;
}

$("take-it").addEventListener("click", () => {
  if (!current) return;
  const { test, row } = current;
  const value = live[test.pad.name] ? shownBy(test.pad, live[test.pad.name]) : null;
  if (value === null) return;
  put(input(row.id), written(value));
});
$("type").addEventListener("click", () => {
  if (!current) return;
  input(current.row.id).scrollIntoView({ block: "center" });
  input(current.row.id).focus();
});

/** @type {(field: HTMLInputElement, value: string) => void} */
function put(field, value) {
  field.value = value;
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

// -- the file --

const quoted = JSON.stringify;

// The verification file, as ``steelyard verify`` reads it.
function fileOf() {
  const own = chosen();
  if (!own.length) throw new Wrong("Choose a pad or more first.", $("which"));
  const [table, phase] = element("phase", HTMLSelectElement).value.split(" ");
  const blocks = own.map((pad) =>
    pad.text.replace(/^(\[.*\])\n/, `$1\nclass = ${quoted(element(`class-${pad.name}`, HTMLSelectElement).value)}\n`),
  );
  const listed = tests().flatMap(blockOf);
  if (!listed.length) throw new Wrong("Nothing was read yet: type or take what the pads show first.", $("walk"));
  return [
    `format = 1\nkind = "verification"\ntitle = ${quoted(`${own.map(({ name }) => name).join(", ")}, ${text("date")}`)}`,
    `units = { mass = "${unit()}", length = "${own[0].length}" }\n`,
    section("place", {
      name: words("place"),
      latitude: amount("latitude", "deg"),
      elevation: amount("elevation", "m"),
      conditions: words("conditions"),
    }),
    section("record", { tester: words("tester"), date: text("date"), due: text("due") }),
    section("tolerances", { table: quoted(table), phase: quoted(phase) }),
    ...blocks,
    ...listed,
  ].join("\n");
}

/** @type {(id: string) => string} */
const words = (id) => (text(id) ? quoted(text(id)) : "");
/** @type {(id: string, symbol: string) => string} */
function amount(id, symbol) {
  if (!text(id)) return "";
  const { value, words } = readNumber(text(id));
  if (value === null) throw new Wrong(`${id}: ${words}`, input(id));
  return quoted(`${value} ${symbol}`);
}

/** @type {(name: string, values: Record<string, string>) => string} */
function section(name, values) {
  const lines = Object.entries(values).flatMap(([key, value]) => (value ? [`${key} = ${value}`] : []));
  return lines.length ? `[${name}]\n${lines.join("\n")}\n` : "";
}

/** @type {(test: Test) => string[]} */
function blockOf(test) {
  const filled = test.rows.filter(({ id }) => text(id));
  if (isOut(test) || !filled.length) return [];
  const open = test.rows.find(({ id }) => !text(id));
  const where = `${test.pad.name}, ${test.title}`;
  if (open) throw new Wrong(`${where}: ${open.words} is missing. Type it, or leave the test out.`, input(open.id));
  const read = test.rows.map((row) => mass(row.id, `${where}, ${row.words}`));
  const doubt = readNumber(text("doubt"));
  if (doubt.value === null) throw new Wrong(`Standard uncertainty: ${doubt.words}`, input("doubt"));
  const head = `[[tests]]\nkind = "${test.kind}"\ninstrument = ${quoted(test.pad.name)}`;
  const sure = `mass_uncertainty = "${doubt.value} %"`;
  const load = `load = ${test.rows[0].load}`;
  if (test.kind === "repeats") return [`${head}\n${load}\nreadings = [${read.join(", ")}]\n`];
  if (test.kind === "eccentric") {
    const pairs = PLACES.map((place, number) => `${place} = ${read[number]}`);
    return [`${head}\n${load}\n${sure}\nreadings = { ${pairs.join(", ")} }\n`];
  }
  return [masses(test, read, head, sure), ...zeroReturn(test, read)];
}

/** @type {(test: Test, read: number[], head: string, sure: string) => string} */
function masses(test, read, head, sure) {
  const steps = test.rows.map((row, place) => {
    const added = maybe(`${row.id} added`, HTMLInputElement)?.value.trim()
      ? `, ${mass(`${row.id} added`, `small weights at ${row.words}`)}`
      : "";
    return `[${row.load}, ${read[place]}${added}]`;
  });
  const standard = words("standard") && `standard = ${words("standard")}\n`;
  const weights = small() ? `small_weight = ${mass("small", "Small weights")}\n` : "";
  return `${head}\n${sure}\n${standard}${weights}readings = [${steps.join(", ")}]\n`;
}

// The first and the last reading are of the empty pad: what it returned to.
/** @type {(test: Test, read: number[]) => string[]} */
function zeroReturn(test, read) {
  if (test.rows[0].load !== 0) return [];
  const most = Math.max(...test.rows.map(({ load }) => load));
  const ends = `before = ${read[0]}\nafter = ${read.at(-1)}`;
  return [`[[tests]]\nkind = "zero_return"\ninstrument = ${quoted(test.pad.name)}\nload = ${most}\n${ends}\n`];
}

// -- judged, kept, taken away --

/** @type {(what: () => unknown) => Promise<void>} */
async function attempt(what) {
  $("fault").textContent = "";
  try {
    await what();
  } catch (error) {
    $("fault").textContent = wordsOf(error).replace(/\.?$/, ".");
    if (error instanceof Wrong) error.where?.focus();
  }
}

/**
 * @template T
 * @param {string} url
 * @param {string} body
 * @returns {Promise<T>}
 */
async function send(url, body) {
  /** @type {Page.Answer<T>} */
  const { data } = await call("POST", url, { body, type: "application/toml", wait: 30000 });
  return data;
}

$("judge").addEventListener("click", () =>
  attempt(async () => {
    /** @type {Api.Verification} */
    const data = await send(links.judge, fileOf());
    const list = make("ul", "", "lines");
    for (const { id, verdict, span } of data.instruments) {
      const figures = span.determined
        ? `span ${formatNumber(span.value ?? 0, 3, 3)} % (95 %: ${formatNumber(span.low ?? 0, 3, 3)} to ${formatNumber(span.high ?? 0, 3, 3)} %)`
        : "span not determined";
      list.append(make("li", `${id}: ${verdict ?? "not judged"}, ${figures}`));
    }
    const wrong = data.judgements.filter(({ verdict }) => verdict !== "within");
    for (const { instrument, what, verdict, error, tolerance } of wrong)
      list.append(
        make(
          "li",
          `${instrument}, ${what}: ${verdict}, error ${formatNumber(error, 1)} of ${formatNumber(tolerance, 1)}`,
        ),
      );
    $("verdict").replaceChildren(list, ...data.cautions.map((words) => make("p", words, "soft small")));
  }),
);

// What is to be kept waits on this device until the station has it; the same file twice is kept once.
/** @type {(body: string) => Promise<void>} */
async function keep(body) {
  localStorage.setItem(WAITING, body);
  await flush();
}

let sending = false;
async function flush() {
  const body = localStorage.getItem(WAITING);
  if (!body || sending) return;
  sending = true;
  const note = $("waiting-here");
  try {
    /** @type {Api.KeptVerification} */
    const data = await send(links.keep, body);
    localStorage.removeItem(WAITING);
    fields.clear();
    location.assign(links.record.replace("NAME", data.name));
  } catch (error) {
    note.hidden = !(error instanceof Away);
    note.textContent =
      "The station does not answer. The verification waits on this device and is sent when it is back; leave this page open or come back to it.";
    if (error instanceof Away) return;
    localStorage.removeItem(WAITING); // refused: what was typed is still here to be put right
    throw error;
  } finally {
    sending = false;
  }
}

maybe("keep", HTMLButtonElement)?.addEventListener("click", () => attempt(() => keep(fileOf())));
$("away-file").addEventListener("click", () =>
  attempt(() => {
    const href = URL.createObjectURL(new Blob([fileOf()], { type: "application/toml" }));
    make("a", "", { href, download: `verification-${text("date")}.toml` }).click();
    setTimeout(() => URL.revokeObjectURL(href), 10000);
  }),
);
maybe("take-in", HTMLButtonElement)?.addEventListener("click", () =>
  attempt(async () => {
    const file = input("check-file").files?.[0];
    if (!file) throw new Wrong("Choose a file first.", input("check-file"));
    await keep(await file.text());
  }),
);

async function look() {
  if (document.hidden) return;
  try {
    /** @type {Page.Answer<Api.Channels>} */
    const { data } = await call("GET", links.channels, { wait: 2500 });
    live = data.channels;
  } catch {
    live = {};
  }
  draw();
  await attemptQuietly();
}

async function attemptQuietly() {
  if (localStorage.getItem(WAITING)) await attempt(flush);
}

const form = element("verify", HTMLFormElement);
form.addEventListener("submit", (event) => event.preventDefault());
$("tests").addEventListener("keydown", (event) => {
  if (event.key === "Enter" && current) input(current.row.id).focus();
});
for (const kind of ["input", "change"]) form.addEventListener(kind, draw);
draw();
const fields = new Fields("typed verification", [form], $("which"));
draw();
await look();
document.body.dataset.ready = "yes";
setInterval(look, EVERY);
