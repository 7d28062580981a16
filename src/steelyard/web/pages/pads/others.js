// The day as others change it, and the live loads: the stream of the station, and the page fetched anew.

import { announce, called, day, now, paint, places, rigs, shown } from "./at-the-pads.js";
import { $, element } from "./dom.js";
import { fetchDay } from "./fresh.js";
import { Live } from "./live.js";
import { flush } from "./outbox.js";
import { byVehicle } from "./place-words.js";

/**
 * @typedef {object} OthersHooks
 * @property {Map<string, Page.OnDisk>} onDisk
 * @property {import("./bench-of-draft.js").Bench} bench
 * @property {import("./plan-walk.js").Walk} walk
 * @property {(box: HTMLElement) => void} takeRig
 * @property {(id: string, how?: { quiet?: boolean }) => void} setState
 * @property {(id: string) => void} addTab
 * @property {() => void} listDrafts
 * @property {() => void} lamp
 * @property {(key: string) => boolean} isOwn
 */

/** @type {(hooks: OthersHooks) => { live: Live, refresh: () => Promise<Page.Pads | null> }} */
export function listen(hooks) {
  const { onDisk, bench, walk, listDrafts, lamp } = hooks;
  element("also-seen", HTMLButtonElement).addEventListener("click", () => {
    $("also").hidden = true;
  });

  // What another device made: states, cargo, drafts that the stream did not tell of. Resolves to the day as it is there.
  /** @type {() => Promise<Page.Pads | null>} */
  async function refresh() {
    /** @type {{ day: Page.Pads, rigs: HTMLElement[] } | null} */
    const found = await fetchDay().catch(() => null);
    if (!found) return null;
    for (const box of found.rigs)
      if (!rigs.has(box.dataset.rig ?? "")) hooks.takeRig($("plan").appendChild(document.adoptNode(box)));
    for (const [id, state] of Object.entries(found.day.states)) {
      if (!day.states[id]) hooks.addTab(id);
      if (!day.states[id]?.made) day.states[id] = state;
    }
    Object.assign(day.instruments, found.day.instruments);
    Object.assign(day.ratings, found.day.ratings);
    Object.assign(day.cargo, found.day.cargo);
    Object.assign(day.vehicles, found.day.vehicles);
    for (const draft of found.day.drafts) {
      onDisk.delete(draft.key);
      const at = day.drafts.findIndex((one) => one.number === draft.number);
      if (at < 0) day.drafts.push(draft);
      else day.drafts[at] = draft;
    }
    live.knows(found.day.seq);
    for (const [key, { box }] of rigs) box.hidden = key !== day.states[now.state]?.rig;
    if (!now.rig) hooks.setState(found.day.state, { quiet: true }); // the day had no state before
    listDrafts();
    paint();
    return found.day;
  }

  const live = new Live(day.links, day.seq, {
    loads({ channels }) {
      now.silent = false;
      const here = Date.now();
      for (const [name, one] of Object.entries(channels)) {
        if (day.instruments[name]) day.live = true;
        now.live.set(name, { ...one, at: here - 1000 * (one.age ?? 0) });
      }
      paint();
    },
    stance(data) {
      // The simulated rig says how it stands; whoever is typing is left alone.
      now.follows = true;
      if (data.number !== null && data.state !== null && day.states[data.state] && !now.read.size) {
        if (data.state !== now.state) hooks.setState(data.state, { quiet: true });
        places.follow(data.places, shown());
        $("state-is").textContent = `Simulated: ${data.label}. ${day.states[now.state].said}`;
      }
      paint();
    },
    draft(data) {
      // Our own come back too, sometimes before the answer to the request that kept them.
      if (onDisk.has(data.key) || day.drafts.some((draft) => draft.key === data.key) || hooks.isOwn(data.key)) return;
      onDisk.set(data.key, {
        number: data.number,
        json: { label: data.title === data.key ? "" : data.title, state: data.state },
      });
      bench.elsewhere();
      listDrafts();
      compare(data);
    },
    entry(data) {
      if (data.kind === "corrections") bench.elsewhere();
      if (data.kind !== "photographs" && !hooks.isOwn(data.key)) refresh();
    },
    findings() {
      bench.ready();
    },
    plan() {
      walk.renew();
    },
    store({ there, error }) {
      now.storeAway = there ? null : (error ?? "");
      lamp();
      paint();
      if (there) flush();
    },
    missed() {
      refresh();
      bench.elsewhere();
    },
    silent() {
      if (day.live) {
        now.silent = true;
        paint();
      }
    },
    gone() {
      now.gone = true;
      lamp();
      paint();
    },
    back() {
      now.gone = false;
      lamp();
      paint();
      flush();
    },
  });

  // Another device kept a draft: where it reads a wheel that this one read or is typing, both are told. Both stand.
  /** @type {(data: { key: string, number: number, state: string, device?: string }) => Promise<void>} */
  async function compare({ key, number, state, device }) {
    const mine = [...onDisk.values()].filter(({ json }) => json.readings && json.state === state);
    await refresh();
    const theirs = day.drafts.find((draft) => draft.key === key);
    if (!theirs) return;
    const also = Object.keys(theirs.readings).filter(
      (place) =>
        (now.state === state && now.read.has(place)) || mine.some(({ json }) => json.readings?.[place] !== undefined),
    );
    if (!also.length) return;
    const who = device && device !== "this device" ? device : "Another device";
    const shown = byVehicle(
      day.vehicles,
      also.map((place) => [place, String(theirs.readings[place][1])]),
    );
    $("also-says").textContent =
      `${who} kept draft ${number} of wheels that this device read too: ${shown}. Both are kept. If it is the same weighing twice, put one away.`;
    $("also").hidden = false;
    announce(`Draft ${number} reads ${called(also[0])} too. Both are kept.`);
  }

  return { live, refresh };
}
