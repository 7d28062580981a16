// At the bench: the day is sealed as it stands, with a key on the machine that runs the station.

import { element, maybe, only } from "./dom.js";
import { Away, call, wordsOf } from "./api.js";

const form = maybe("seal-form", HTMLFormElement);
const NOTES = "steelyard-seal-notes";

// What the weigher should read of a seal that was just given: the page is another one by then.
const notes = sessionStorage.getItem(NOTES);
if (notes) {
  sessionStorage.removeItem(NOTES);
  const place = maybe("seal-notes", HTMLParagraphElement);
  if (place) place.textContent = notes;
}

form?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const button = only(form, "button", HTMLButtonElement),
    fault = element("seal-fault", HTMLParagraphElement),
    phrase = element("seal-phrase", HTMLInputElement),
    person = maybe("seal-person", HTMLSelectElement);
  fault.textContent = "";
  button.disabled = true;
  try {
    /** @type {Page.Answer<Api.SealGiven>} */
    const { data } = await call("POST", form.dataset.seal ?? "", {
      json: { person: person?.value ?? "", pass_phrase: phrase.value },
      wait: 30000,
    });
    const said = [data.replay ? "The day had this very seal before." : "Sealed.", ...data.notes];
    sessionStorage.setItem(NOTES, said.join(" "));
    location.assign(`${location.pathname}#seal`);
    location.reload();
  } catch (error) {
    fault.textContent =
      error instanceof Away ? "The station does not answer; try again when it does." : `${wordsOf(error)}.`;
    button.disabled = false;
  }
});
