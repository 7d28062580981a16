// The day as the station has it now, without a reload: the page is fetched again and what is new in it taken over.

import { every } from "./dom.js";

/**
 * The data of the page and its drawings; null where the station has none to give.
 * @template T
 * @returns {Promise<{ day: T, rigs: HTMLElement[] } | null>}
 */
export async function fetchDay() {
  const response = await fetch(location.pathname, {
    credentials: "same-origin",
    cache: "no-store",
    signal: AbortSignal.timeout(8000),
  });
  if (!response.ok) return null;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  const data = page.getElementById("page-data");
  return data && { day: JSON.parse(data.textContent ?? ""), rigs: every(page, "[data-rig]", HTMLElement) };
}
