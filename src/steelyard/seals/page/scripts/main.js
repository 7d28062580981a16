// The page: what is given, by file, paste or camera, is kept in a list; with each change everything is checked anew.
import { same } from "./bytes.js";
import { hasCamera, lookThroughCamera } from "./camera.js";
import { checkAll } from "./check.js";
import { verified } from "./ed25519.js";
import { LARGEST_FILE } from "./reading.js";
import { made, shown, summary } from "./view.js";

/** @typedef {import("./check.js").Given} Given */

const MOST_GIVEN = 200;

/**
 * @template {HTMLElement} T
 * @param {string} id
 * @param {new () => T} kind
 * @returns {T}
 */
function element(id, kind) {
  const found = document.getElementById(id);
  if (found instanceof kind) return found;
  throw new Error(`the page has no ${kind.name} with the id ${id}`);
}

const FINGERPRINT_DIGITS = 32;

const says = element("says", HTMLParagraphElement);
const answers = element("answers", HTMLDivElement);
const list = element("given", HTMLUListElement);
const files = element("files", HTMLInputElement);
const text = element("text", HTMLTextAreaElement);
const print = element("fingerprint", HTMLInputElement);
const film = element("film", HTMLVideoElement);
const camera = element("camera", HTMLDivElement);
const open = element("open-camera", HTMLButtonElement);

/** @type {Given[]} */
let given = [];
const built = builtKeys();
let turn = 0;
/** @type {AbortController | null} */
let looking = null;

/** The keys.json that the weigher built into this page; null where there is none. */
function builtKeys() {
  const kept = element("known", HTMLScriptElement).textContent ?? "";
  /** @type {string | null} */
  const found = JSON.parse(kept);
  return found;
}

/** Check everything that is there, and show it unless something newer was given meanwhile. */
async function check() {
  const mine = ++turn;
  document.body.dataset.ready = "no";
  const typed = print.value.trim() === "" ? [] : [print.value];
  let outcome;
  try {
    outcome = await checkAll(given, typed, built);
  } catch (error) {
    outcome = { answer: null, faults: [{ name: "This page", message: `failed: ${error}` }], books: [] };
  }
  if (mine !== turn) return;
  const { answer, faults } = outcome;
  const unread = faults.map(({ name, message }) => made("p", "fault", made("b", "", name), ` ${message}.`));
  answers.replaceChildren(...unread, ...(answer === null ? [] : shown(answer)));
  says.textContent = spoken(answer === null ? "" : summary(answer), faults.length);
  document.body.dataset.judgement = answer?.judgement ?? "";
  document.body.dataset.ready = "yes";
}

/**
 * @param {string} judged
 * @param {number} faults
 */
function spoken(judged, faults) {
  const unread = faults === 0 ? "" : `${faults === 1 ? "One thing" : `${faults} things`} could not be read.`;
  return [judged, unread].filter((words) => words !== "").join(" ") || "Nothing is given yet.";
}

/**
 * Keep this as what is given, and check it.
 * @param {Given[]} now
 */
function keep(now) {
  given = now.slice(-MOST_GIVEN);
  // not with every check: a button must not be exchanged under the finger that presses it
  list.replaceChildren(...given.map(row));
  element("clear", HTMLButtonElement).hidden = given.length === 0;
  return check();
}

/** @param {Given} one */
function row(one) {
  const button = made("button", "quiet", "Remove");
  button.type = "button";
  button.setAttribute("aria-label", `Remove ${one.name}`);
  button.addEventListener("click", () => {
    keep(given.filter((other) => other !== one));
    files.focus();
  });
  return made("li", "", made("span", "", one.name), button);
}

/** @param {Given[]} more */
function give(more) {
  // what is pasted or seen again takes the place of the first
  const names = more.map((one) => one.name);
  const all = [...given.filter((one) => !names.includes(one.name)), ...more];
  return keep(all).then(() => element("answer-head", HTMLHeadingElement).scrollIntoView());
}

/** @param {Iterable<File>} chosen */
async function giveFiles(chosen) {
  const more = [...chosen].map(async (file) => {
    // of a larger one no more is needed than shows that it is larger
    const data = new Uint8Array(await file.slice(0, LARGEST_FILE + 1).arrayBuffer());
    return { name: file.name, data };
  });
  await give(namedApart(await Promise.all(more)));
}

/**
 * Files of one name from several folders, told apart by a number; the same file given again keeps its name.
 * @param {{ name: string, data: Uint8Array }[]} files
 */
function namedApart(files) {
  /** @type {Map<string, Uint8Array | undefined>} */
  const taken = new Map(given.map((one) => [one.name, one.data]));
  return files.map(({ name, data }) => {
    let free = name;
    for (let number = 2; ; number++) {
      const other = taken.get(free);
      if (other === undefined || same(other, data)) break;
      free = `${name} (${number})`;
    }
    taken.set(free, data);
    return { name: free, data };
  });
}

async function useCamera() {
  looking = new AbortController();
  camera.hidden = false;
  open.hidden = true;
  element("close-camera", HTMLButtonElement).focus();
  says.textContent = "The camera looks for a code.";
  try {
    const found = await lookThroughCamera(film, looking.signal);
    if (found !== null) await give([{ name: "the code before the camera", text: found }]);
  } catch {
    says.textContent = "The browser gives this page no camera. Take a photograph, and choose it as a file.";
  } finally {
    camera.hidden = true;
    open.hidden = false;
    open.focus();
  }
}

files.addEventListener("change", async () => {
  await giveFiles(files.files ?? []);
  files.value = "";
});
element("check-text", HTMLButtonElement).addEventListener("click", () => {
  if (text.value.trim() !== "") give([{ name: "the pasted text", text: text.value }]);
  else says.textContent = "Paste the text of a code first.";
});
print.addEventListener("change", check);
print.addEventListener("input", () => {
  // the answer below must not go on saying that the key is not known while its whole fingerprint stands above
  const digits = print.value.replace(/\s/g, "").length;
  if (digits === 0 || digits === FINGERPRINT_DIGITS) check();
});
element("clear", HTMLButtonElement).addEventListener("click", () => {
  keep([]);
  text.value = "";
  files.focus();
});
open.addEventListener("click", useCamera);
element("close-camera", HTMLButtonElement).addEventListener("click", () => looking?.abort());
document.addEventListener("dragover", (event) => event.preventDefault());
document.addEventListener("drop", (event) => {
  event.preventDefault();
  giveFiles(event.dataTransfer?.files ?? []);
});
element("told", HTMLParagraphElement).hidden = built === null;
element("camera-none", HTMLParagraphElement).hidden = hasCamera();
open.hidden = !hasCamera();

// for programs that check many seals, and for those that test this page
Object.assign(globalThis, { sealCheck: Object.freeze({ checkAll, verified, built }) });

if (globalThis.crypto?.subtle === undefined || typeof DecompressionStream === "undefined") {
  element("too-old", HTMLParagraphElement).hidden = false;
} else check();
