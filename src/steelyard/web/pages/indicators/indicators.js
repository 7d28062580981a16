// The indicators as they are by now: what each says, and its last lines. What is being typed is left alone.

import { $, every, first, maybe } from "./dom.js";
import { call } from "./api.js";
import { Fields, forgetFields } from "./fields.js";

const EVERY = 1000; // ms

const cards = every(document, "[data-indicator]", HTMLElement);
const edited = () =>
  document.activeElement?.matches("select, textarea, input") || first(document, "#lines", HTMLTextAreaElement)?.value;

/** @type {(card: HTMLElement, now: Api.IndicatorCard) => boolean} */
function show(card, now) {
  const said = new Map(now.channels.map((item) => [item.channel, item.said]));
  for (const place of every(card, "[data-said]", HTMLElement)) {
    const channel = place.dataset.said ?? "";
    const words = said.get(channel) ?? place.textContent;
    if (place.textContent !== words) place.textContent = words;
    said.delete(channel);
  }
  const lines = card.querySelector("[data-lines]");
  if (lines && now.lines.length) lines.textContent = now.lines.join("\n");
  return said.size === 0;
}

/** @type {Page.Answer<Api.Indicators | null>} */
const none = { status: 0, data: null };

async function ask() {
  if (document.hidden) return;
  /** @type {Page.Answer<Api.Indicators | null>} */
  const { data } = await call("GET", $("cards").dataset.now ?? "", { wait: 4000 }).catch(() => none);
  if (!data) return;
  const now = new Map(data.indicators.map((item) => [item.name, item]));
  const known = cards.map((card) => {
    const said = now.get(card.dataset.indicator ?? "");
    return said !== undefined && show(card, said);
  });
  if (!known.every(Boolean) && !edited()) location.reload(); // a channel that was never heard before
}

if (cards.length) setInterval(ask, EVERY);

const NAME = "typed indicators",
  asked = new URLSearchParams(location.search);
if (asked.has("taught")) {
  // the pattern was kept: what it was taught from was used
  forgetFields(NAME);
  history.replaceState(null, "", location.pathname + location.hash);
}
const teach = maybe("teaching", HTMLFormElement);
if (teach) new Fields(NAME, [teach], teach);
