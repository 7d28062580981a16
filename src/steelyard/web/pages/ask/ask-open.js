// Questions are closed until somebody opens one; each has an address, so that a link or a reload leads to it open.

import { closest, every } from "./dom.js";

/** @type {(fragment: string) => void} */
function open(fragment) {
  const part = fragment && document.getElementById(decodeURIComponent(fragment));
  if (!part) return;
  for (let box = closest(part, "details"); box; box = closest(box.parentElement, "details"))
    if (box instanceof HTMLDetailsElement) box.open = true;
  part.scrollIntoView({ block: "start" });
}

export function questions() {
  for (const part of every(document, "details[id]", HTMLDetailsElement)) {
    part.addEventListener("toggle", () => {
      const here = location.hash === `#${part.id}`;
      if (part.open === here) return;
      if (part.open) history.replaceState(null, "", `#${part.id}`);
      else history.replaceState(null, "", location.pathname + location.search);
    });
  }
  addEventListener("hashchange", () => open(location.hash.slice(1)));
  open(location.hash.slice(1));
}
