// On a page that only shows: whether the station and its database are there, in the words that the pads use.

import { $ } from "./dom.js";

const PATIENCE = 4000; // ms that a broken line may take to come back before a person is told

/** @type {(source: EventSource) => void} */
export function watchStation(source) {
  /** @type {string | null} */
  let store = null;
  let gone = false,
    timer = 0;
  const show = () => {
    const words =
      store !== null
        ? "Database away. What you see is from before; the page goes on by itself."
        : gone
          ? "No station. What you see is from before; the page goes on by itself."
          : "";
    const box = $("net");
    box.hidden = !words;
    box.classList.toggle("away", Boolean(words));
    if ($("net-says").textContent !== words) $("net-says").textContent = words;
  };
  source.addEventListener("store", (event) => {
    store = JSON.parse(event.data).error;
    show();
  });
  source.addEventListener("open", () => {
    clearTimeout(timer);
    gone = false;
    show();
  });
  source.addEventListener("error", () => {
    clearTimeout(timer);
    timer = setTimeout(() => {
      gone = true;
      show();
    }, PATIENCE);
  });
}
