// At the bench: the rules of the road that the day is judged by. The choice is kept, and the page shows what follows.

import { element, maybe, only } from "./dom.js";
import { Away, call, makeKey, wordsOf } from "./api.js";

const form = maybe("road-form", HTMLFormElement);

// The fields of the form as the station takes them; what is left empty is not said.
/** @type {(given: FormData) => Api.SentChoice} */
function choice(given) {
  /** @type {(name: string) => string} */
  const text = (name) => String(given.get(name) ?? "").trim();
  /** @type {Api.SentChoice} */
  const sent = { key: makeKey(), apply: given.getAll("apply").map(String), from_memory: given.has("from_memory") };
  const licence = text("licence"),
    use = text("use");
  if (text("where")) sent.where = text("where");
  if (use === "private" || use === "commerce") sent.use = use;
  if (licence)
    sent.licence =
      licence.toLowerCase() === "none"
        ? []
        : licence
            .split(",")
            .map((word) => word.trim())
            .filter(Boolean);
  return sent;
}

form?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const button = only(form, "button", HTMLButtonElement),
    fault = element("road-fault", HTMLParagraphElement);
  fault.textContent = "";
  button.disabled = true;
  try {
    await call("POST", form.dataset.choose ?? "", { json: choice(new FormData(form)) });
    location.assign(`${location.pathname}#road`);
    location.reload();
  } catch (error) {
    fault.textContent =
      error instanceof Away
        ? "The station does not answer; try again when it does."
        : `${wordsOf(error).replace(/apply\[\d+\]: /g, "")}.`;
    button.disabled = false;
  }
});
