// The page of a new rig, opened for answers that the station did not accept: they stand in their fields, what is wrong stands
// beside it, and what is sent is the same day.

import { every, make, maybe } from "./dom.js";
import { forgetFields } from "./fields.js";
import { putRight, queue } from "./unsent-queue.js";
import { planOf } from "./unsent-plan.js";
import { yardOf } from "./unsent-new.js";

const day = new URLSearchParams(location.search).get("unsent");
const form = maybe("new", HTMLFormElement);
if (day && form) {
  const rig = (await queue()).rigs.find((one) => one.day === day);
  if (rig?.what === "rig") again(rig, form);
}

/** @type {(rig: Page.UnsentRig, form: HTMLFormElement) => void} */
function again(rig, form) {
  for (const field of every(form, "[name]", Element)) {
    if (!(field instanceof HTMLInputElement || field instanceof HTMLSelectElement) || field.type === "hidden") continue;
    if (field instanceof HTMLInputElement && /checkbox|radio/.test(field.type))
      field.checked = rig.json[field.name] === field.value;
    else field.value = rig.json[field.name] ?? "";
    for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
  }
  const words = make("div", "", "note alarm");
  words.setAttribute("role", "alert");
  words.append(
    make("p", "The station does not accept these answers. Put them right and send them again: it stays the same day."),
  );
  form.before(words);
  let shown = false;
  for (const [name, fault] of Object.entries(rig.faults ?? {})) {
    const input = maybe(`f-${name}`, HTMLElement),
      hint = maybe(`h-${name}`, HTMLElement);
    if (!input || !hint) {
      words.append(make("p", fault));
      continue;
    }
    hint.prepend(make("strong", fault, { id: `w-${name}`, className: "fault" }), " ");
    input.setAttribute("aria-invalid", "true");
    const step = input.closest(".step");
    if (shown || !step) continue;
    shown = true;
    location.hash = step.id;
    for (let box = input.closest("details"); box; box = box.parentElement?.closest("details") ?? null) box.open = true;
    setTimeout(() => input.focus());
  }
  for (const one of [form, maybe("yard", HTMLFormElement)].flatMap((found) => found ?? []))
    one.addEventListener("submit", (event) => {
      if (event.defaultPrevented) return;
      event.preventDefault();
      const typed = new FormData(one);
      if (event.submitter instanceof HTMLButtonElement && event.submitter.name)
        typed.set(event.submitter.name, event.submitter.value);
      const answers = Object.fromEntries(
        [...typed].flatMap(([name, value]) => (typeof value === "string" ? [[name, value]] : [])),
      );
      send(rig, answers).catch((error) => words.append(make("p", String(error))));
    });
}

/** @type {(rig: Page.UnsentRig, answers: Record<string, string>) => Promise<void>} */
async function send(rig, answers) {
  const page = location.pathname;
  const { refused: _refused, faults: _faults, tries: _tries, ...same } = rig;
  const json = { ...answers, key: rig.key, on: rig.json.on },
    yard = await yardOf(page, answers);
  const [before, after] = [await planOf(rig.json, rig.yard), await planOf(json, yard)];
  const names = [Object.keys(before.vehicles), Object.keys(after.vehicles)];
  await putRight(
    { ...same, json, yard, title: after.title },
    new Map(names[0].map((name, at) => [name, names[1][at] ?? name])),
  );
  forgetFields("typed new rig");
  location.assign(rig.opens.replace("DAY", rig.day));
}
