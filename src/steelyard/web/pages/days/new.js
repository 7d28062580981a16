// The fields of a trailer, a hitch and a platform appear with each of them. A number that could be either of two is asked
// before the form is sent; the station reads every field again.

import { $, element, every, first, make, only } from "./dom.js";
import { Fields } from "./fields.js";
import { readLength, readMass } from "./number.js";

const trailer = element("has-trailer", HTMLInputElement);
const hitch = element("has-hitch", HTMLInputElement);
const platform = element("has-platform", HTMLInputElement);
const show = () => {
  $("trailer-fields").hidden = !trailer.checked;
  $("hitch-alone").hidden = trailer.checked;
  $("hitch-fields").hidden = !trailer.checked && !hitch.checked;
  $("platform-fields").hidden = !platform.checked;
};
for (const box of [trailer, hitch, platform]) box.addEventListener("change", show);
show();

const form = $("new");
/** @type {Record<string, typeof readMass>} */
const read = { length: readLength, mass: readMass };
// The kind of quantity that a field takes, as its label says.
/** @type {(input: HTMLInputElement) => string | undefined} */
const unitOf = (input) => {
  const label = input.labels?.[0];
  return label && first(label, "[data-unit]", HTMLElement)?.dataset.unit;
};
const inputs = every(form, "input", HTMLInputElement).filter(unitOf);

/** @type {(input: HTMLInputElement) => boolean} */
function look(input) {
  const kind = unitOf(input) ?? "";
  const units = only(form, "[name=units]:checked", HTMLInputElement).value.split(" ");
  const { value, words, empty } = read[kind](
    input.value,
    units[kind === "mass" ? 0 : 1],
    `Type a number, or a ${kind} with its unit.`,
  );
  const wrong = value === null && !empty && !input.closest("[hidden]");
  let said = document.getElementById(`w-${input.name}`);
  if (wrong && !said) {
    said = make("p", "", { id: `w-${input.name}`, className: "fault" });
    said.setAttribute("role", "alert");
    input.after(said);
  }
  if (said) said.textContent = wrong ? words : "";
  if (wrong) input.setAttribute("aria-invalid", "true");
  else if (said) input.removeAttribute("aria-invalid");
  return !wrong;
}

for (const input of inputs) input.addEventListener("change", () => look(input));
form.addEventListener("submit", (event) => {
  const bad = inputs.filter((input) => !look(input));
  if (!bad.length) return;
  event.preventDefault();
  bad[0].focus();
});

// The page of the pads, where the rig leads to, forgets them.
new Fields("typed new rig", [form], form);
