// Tabs of a page: without this script they are links, and the address shows one sheet; with it they are tabs as WAI-ARIA
// has them, chosen by arrow keys too, and the address keeps the one that is shown.

import { every, only } from "./dom.js";

/** @type {(strip: HTMLElement) => void} */
function make(strip) {
  const box = /** @type {HTMLElement} */ (strip.nextElementSibling);
  const tabs = every(strip, "a", HTMLAnchorElement);
  const sheets = tabs.map((tab) => only(box, `[id="${CSS.escape(tab.hash.slice(1))}"]`, HTMLElement));
  strip.setAttribute("role", "tablist");
  box.classList.add("live");
  tabs.forEach((tab, place) => {
    const sheet = sheets[place];
    tab.setAttribute("role", "tab");
    tab.id = `tab-${sheet.id}`;
    tab.setAttribute("aria-controls", sheet.id);
    sheet.setAttribute("role", "tabpanel");
  });

  /** @type {(chosen: number) => void} */
  function show(chosen) {
    tabs.forEach((tab, place) => {
      const here = place === chosen;
      tab.setAttribute("aria-selected", String(here));
      tab.removeAttribute("aria-current");
      tab.tabIndex = here ? 0 : -1;
      sheets[place].hidden = !here;
    });
    const { offsetLeft, offsetWidth } = tabs[chosen];
    strip.scrollTo({ left: offsetLeft - strip.offsetLeft - (strip.clientWidth - offsetWidth) / 2 });
  }
  /** @type {(chosen: number) => void} */
  function choose(chosen) {
    show(chosen);
    history.replaceState(history.state, "", tabs[chosen].hash);
  }
  // the sheet that the address names, or the one that holds what it names
  const asked = () => {
    const target =
      location.hash.length > 1 ? document.getElementById(decodeURIComponent(location.hash.slice(1))) : null;
    return target ? sheets.findIndex((sheet) => sheet.contains(target)) : -1;
  };
  const first = Math.max(
    0,
    sheets.findIndex((sheet) => sheet.classList.contains("first")),
  );
  show(asked() < 0 ? first : asked());
  addEventListener("hashchange", () => {
    if (asked() >= 0) show(asked());
  });
  strip.addEventListener("click", (event) => {
    const place = tabs.findIndex((tab) => tab.contains(/** @type {Node} */ (event.target)));
    if (place < 0 || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    choose(place);
  });
  strip.addEventListener("keydown", (event) => {
    const at = tabs.indexOf(/** @type {HTMLAnchorElement} */ (document.activeElement));
    /** @type {Record<string, number>} */
    const goes = { ArrowLeft: at - 1, ArrowRight: at + 1, Home: 0, End: tabs.length - 1, " ": at };
    if (at < 0 || !(event.key in goes)) return;
    event.preventDefault();
    const place = (goes[event.key] + tabs.length) % tabs.length;
    choose(place);
    tabs[place].focus();
  });
}

// What the address names may lie in a part that is closed.
function openNamed() {
  const target = location.hash.length > 1 ? document.getElementById(decodeURIComponent(location.hash.slice(1))) : null;
  for (let part = target?.closest("details"); part; part = part.parentElement?.closest("details")) part.open = true;
}

every(document, ".tabs", HTMLElement).forEach(make);
openNamed();
addEventListener("hashchange", openNamed);
