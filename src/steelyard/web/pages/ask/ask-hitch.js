// How the rig is coupled as it is asked: what can be hitched, unhitched and tensioned, each by one button.

import { day, now } from "./ask-now.js";
import { $, make } from "./dom.js";

// Trailers that hang on something as it is asked.
export function hitched() {
  const { hitch, unhitch } = now.coupled;
  return [
    ...day.states[now.state].hitched.filter((name) => !unhitch.includes(name)),
    ...hitch.map((item) => item.trailer),
  ];
}

/** @typedef {{ words: string, coupled: Partial<Page.Coupled> }} Offer */
/** @type {(bars: Page.Coupled["bars"], name: string) => Page.Coupled["bars"]} */
const without = (bars, name) => Object.fromEntries(Object.entries(bars).filter(([trailer]) => trailer !== name));

// What can be done with a trailer that hangs there.
/** @type {(name: string) => Offer[]} */
function loosened(name) {
  const state = day.states[now.state],
    { hitch, unhitch, bars } = now.coupled,
    own = hitch.some((item) => item.trailer === name),
    title = day.titles[name];
  /** @type {Partial<Page.Coupled>} */
  const off = own ? { hitch: hitch.filter((item) => item.trailer !== name) } : { unhitch: [...unhitch, name] };
  /** @type {Offer[]} */
  const found = [{ words: `Unhitch ${title}`, coupled: { ...off, bars: without(bars, name) } }];
  const tensioned = bars[name] ? bars[name] !== "none" : state.bars.includes(name);
  /** @type {Page.Coupled["bars"]} */
  const slack = !own && !state.bars.includes(name) ? without(bars, name) : { ...bars, [name]: "none" };
  if (tensioned) return [...found, { words: `${title} without its bars`, coupled: { bars: slack } }];
  for (const [other, { bars: there, weighed }] of Object.entries(day.states))
    if (weighed && there.includes(name))
      found.push({
        words: `${title} with its bars as in ${other}`,
        coupled: { bars: { ...bars, [name]: { as: other } } },
      });
  return found;
}

// What can be hitched to something that is there.
/** @type {() => Offer[]} */
function hitching() {
  const state = day.states[now.state],
    { hitch, unhitch } = now.coupled,
    hanging = hitched(),
    present = new Set([...state.vehicles, ...hitch.map((item) => item.trailer)]);
  /** @type {(towing: string, at: string) => boolean} */
  const taken = (towing, at) =>
    state.taken.includes(`${towing}/${at}`) || hitch.some((item) => item.towing === towing && item.at === at);
  return Object.entries(day.trailers)
    .filter(([trailer]) => !hanging.includes(trailer) && !unhitch.includes(trailer))
    .flatMap(([trailer, title]) =>
      day.couplings
        .filter(({ towing, at }) => present.has(towing) && towing !== trailer && !taken(towing, at))
        .map(({ towing, at }) => ({
          words: `Hitch ${title} to the ${at.replace("_", " ")} of ${day.titles[towing]}`,
          coupled: { hitch: [...hitch, { towing, at, trailer }] },
        })),
    );
}

// What was changed aboard stays as it is changed.
/** @type {(couple: (coupled: Page.Coupled) => unknown) => void} */
export function offerHitches(couple) {
  const { unhitch } = now.coupled;
  const again = unhitch.map((name) => ({
    words: `Hitch ${day.titles[name]} again`,
    coupled: { unhitch: unhitch.filter((item) => item !== name) },
  }));
  $("hitches").replaceChildren(
    ...[...hitched().flatMap(loosened), ...again, ...hitching()].map(({ words, coupled }) =>
      make("button", words, { type: "button", onclick: () => couple({ ...now.coupled, ...coupled }) }),
    ),
  );
}
