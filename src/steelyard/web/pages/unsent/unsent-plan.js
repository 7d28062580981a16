// What the station will make of the answers about a new rig: its vehicles, states, wheels and pads, as its own page of the
// pads has them. A test holds this to pages/pads/page.py for many rigs.

import { readLength, readMass, UNITS } from "./number.js";

/** @typedef {{ id: string, title: string, tows: boolean, axles: { x: number, rating: number | null }[], couplings: Page.YardCoupling[] }} Vehicle */

const KINDS = ["ball", "pintle", "gooseneck", "fifth_wheel"];
/** @type {Record<string, [where: string, part: string]>} */
const UNDER = {
  ball: ["on the hitch", "coupler"],
  pintle: ["on the hitch", "eye"],
  gooseneck: ["in the bed", "ball"],
  fifth_wheel: ["in the bed", "pin"],
};
const USUAL = {
  lb: { spacing: 34, division: 20, capacity: 15000, most: 3000, step: 2 },
  kg: { spacing: 860, division: 10, capacity: 7000, most: 1500, step: 1 },
};
const RESERVED = ["cargo", "combination", "coupling"];

/** @type {(answers: Record<string, string>, yard: Page.YardForPlan) => Promise<Page.UnsentPlan>} */
export async function planOf(answers, yard) {
  const found = answers.from_yard ? ofYard(answers, yard) : await ofAnswers(answers, yard);
  const { vehicles, states } = found;
  const byId = new Map(vehicles.map((one) => [one.id, one]));
  /** @type {Map<string, Page.UnsentRigDrawn>} */
  const rigs = new Map();
  /** @type {Record<string, number>} */
  const ratings = {};
  /** @type {Record<string, Page.State>} */
  const described = {};
  for (const [id, table] of Object.entries(states)) {
    const stood = table.vehicles.flatMap((name) => byId.get(name) ?? []);
    const link = /** @type {Page.UnsentLink | undefined} */ (table.couple);
    const rig = [table.vehicles.join("+"), ...(link ? [`${link.towing}.${link.at}.${link.trailer}.none`] : [])].join(
      "|",
    );
    const said = link
      ? `${byId.get(link.trailer)?.title} on ${byId.get(link.towing)?.title}`
      : stood.map((one) => one.title).join("; ");
    described[id] = { rig, said: `${said}; no cargo named`, table };
    const stations = stationsOf(stood, link);
    for (const { place, rating } of stations) if (rating !== null) ratings[place] = rating;
    if (!rigs.has(rig)) rigs.set(rig, { key: rig, title: stood.map((one) => one.title).join(" and "), stations });
  }
  return {
    title: found.title,
    unit: found.unit,
    vehicles: Object.fromEntries(vehicles.map(({ id, title }) => [id, title])),
    instruments: found.instruments,
    states: described,
    state: Object.keys(described)[0] ?? "",
    ratings,
    rigs: [...rigs.values()],
  };
}

// -- where a pad can stand, in the order in which a person walks along -------------------------------------------------

/** @type {(stood: Vehicle[], link?: Page.UnsentLink) => Page.UnsentStation[]} */
function stationsOf(stood, link) {
  const towing = stood.find((one) => one.id === link?.towing),
    coupling = towing?.couplings.find((one) => one.id === link?.at);
  /** @type {Page.UnsentStation[]} */
  const wheels = [];
  /** @type {Page.UnsentStation[]} */
  const others = [];
  for (const vehicle of stood) {
    const from = !vehicle.tows && coupling ? coupling.x : 0;
    vehicle.axles.forEach(({ x, rating }, at) => {
      for (const [side, word] of /** @type {const} */ ([
        ["L", "left"],
        ["R", "right"],
      ]))
        wheels.push({
          place: `${vehicle.id}/${at + 1}${side}`,
          name: `${at + 1}${side}`,
          spoken: `${vehicle.title}, axle ${at + 1} ${word}`,
          of: vehicle.id,
          side,
          x: from + x,
          rating,
          aboard: false,
        });
    });
    if (vehicle.tows) continue;
    const [where, part] = UNDER[coupling?.type ?? "ball"];
    others.push({
      place: `${vehicle.id}/coupling`,
      name: coupling ? `under ${part}` : "stand",
      spoken: coupling
        ? `Platform ${where} of ${towing?.title}, under the ${part} of ${vehicle.title}`
        : `${vehicle.id}, stand at the coupling`,
      of: vehicle.id,
      side: "L",
      x: from,
      rating: coupling?.vertical ?? null,
      aboard: coupling !== undefined,
    });
  }
  return [...wheels, ...others].sort((a, b) => a.x - b.x || a.side.localeCompare(b.side));
}

// -- a rig that was described ------------------------------------------------------------------------------------------

/** @type {(answers: Record<string, string>, yard: Page.YardForPlan) => Promise<Page.Stood<Vehicle>>} */
async function ofAnswers(answers, yard) {
  const unit = answers.units === "kg mm" ? "kg" : "lb",
    length = unit === "kg" ? "mm" : "in",
    usual = USUAL[unit];
  /** @type {(name: string) => number | null} */
  const mass = (name) => ten(readMass(answers[name] ?? "", unit).value);
  /** @type {(name: string) => number} */
  const far = (name) => readLength(answers[name] ?? "", length).value ?? 0;
  const kind = ["hitch", "trailer", ...KINDS].find((one) => one === answers.stands) ?? "alone",
    hitch = kind === "hitch" ? answers.coupling : kind,
    tows = kind !== "trailer",
    hauls = kind !== "alone" && kind !== "hitch",
    names = { tow: line(answers.name), trailer: line(answers.trailer_name) };
  const tow = await idOf(names.tow, "tow"),
    trailer = await idOf(names.trailer, "trailer", tow);
  /** @type {(axle: string, tyre: string, dual: boolean) => number | null} */
  const wheel = (axle, tyre, dual) => {
    const [whole, one] = [mass(axle), mass(tyre)];
    return ten(one !== null ? one * (dual ? 2 : 1) : whole === null ? null : whole / 2);
  };
  const type = KINDS.find((one) => one === hitch) ?? "ball";
  /** @type {Vehicle[]} */
  const vehicles = [];
  if (tows)
    vehicles.push({
      id: tow,
      title: names.tow || tow,
      tows: true,
      axles: [0, far("wheelbase"), ...(line(answers.more_axles) ? [far("more_axles")] : [])].map((x, at) => ({
        x,
        rating: at ? wheel("rear", "rear_tyre", Boolean(answers.dual)) : wheel("front", "front_tyre", false),
      })),
      couplings: kind === "alone" ? [] : [{ id: type, type, x: far("coupling_x"), vertical: mass("vertical") }],
    });
  if (hauls)
    vehicles.push({
      id: trailer,
      title: names.trailer || trailer,
      tows: false,
      axles: Array.from({ length: { 1: 1, 3: 3 }[answers.trailer_axles] ?? 2 }, (_, at) => ({
        x: far("trailer_x") + at * (far("trailer_spacing") || usual.spacing),
        rating: wheel("trailer_rating", "trailer_tyre", Boolean(answers.trailer_dual)),
      })),
      couplings: [],
    });
  /** @type {Record<string, Page.StateTable>} */
  const states = tows ? { solo: { vehicles: [tow] } } : { alone: { vehicles: [trailer] } };
  if (tows && hauls)
    states.hitched = {
      vehicles: [tow, trailer],
      couple: /** @type {Page.UnsentLink} */ ({ towing: tow, at: type, trailer }),
    };
  const called = vehicles.flatMap((one) => names[one.tows ? "tow" : "trailer"] || []).join(" and ");
  return {
    title: line(answers.title) || `${called || "New rig"}, ${dated(answers.on)}`,
    unit,
    vehicles,
    states,
    instruments: padsOf(answers, yard, unit),
  };
}

/** @type {(answers: Record<string, string>, yard: Page.YardForPlan, unit: "lb" | "kg") => Record<string, Page.Instrument>} */
function padsOf(answers, yard, unit) {
  const usual = USUAL[unit];
  /** @type {(name: string, otherwise: number) => number} */
  const mass = (name, otherwise) => ten(readMass(answers[name] ?? "", unit).value) ?? otherwise;
  const found = Object.fromEntries(
    Object.entries(yard.instruments).flatMap(([name, one]) =>
      answers[`instrument.${name}`] ? [[name, inUnit(one, unit)]] : [],
    ),
  );
  const known = new Set(Object.keys(found)),
    free = freeName(known);
  const typed = answers.pads ?? (Object.keys(yard.instruments).length ? "0" : "4"),
    count = /^[0-9]+$/.test(typed) && Number(typed) <= 24 ? Number(typed) : 4;
  for (let made = 0, number = 1; made < count; number++) {
    if (known.has(`p${number}`)) continue;
    made++;
    found[`p${number}`] = {
      division: mass("division", usual.division),
      capacity: mass("capacity", usual.capacity),
      kind: "pad",
    };
  }
  if (answers.platform)
    found[free("platform")] = {
      division: mass("platform_division", usual.step),
      capacity: mass("platform_capacity", usual.most),
      kind: "platform",
    };
  return found;
}

/** @type {(taken: Set<string>) => (name: string) => string} */
const freeName = (taken) => (name) => {
  let free = name;
  for (let count = 2; taken.has(free); count++) free = `${name}_${count}`;
  return free;
};

// The same letters as the station takes of a name, or a mark of it.
/** @type {(name: string, otherwise: string, taken?: string) => Promise<string>} */
async function idOf(name, otherwise, taken = "") {
  if (!name) return otherwise;
  const plain = [...name.normalize("NFKD")].filter((letter) => letter.charCodeAt(0) < 128).join("");
  /** @type {(text: string) => string} */
  const bare = (text) => text.replace(/^_+|_+$/g, "");
  let word = bare(bare(plain.toLowerCase().replace(/[^a-z0-9]+/g, "_")).slice(0, 30));
  if (!/[a-z]/.test(word)) {
    const mark = new Uint8Array(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(name)));
    word = `${otherwise}_${[...mark.slice(0, 3)].map((byte) => byte.toString(16).padStart(2, "0")).join("")}`;
  }
  return [word, `${word}_2`, `${word}_3`].find((one) => one !== taken && !RESERVED.includes(one)) ?? word;
}

// -- a rig of the yard -------------------------------------------------------------------------------------------------

/** @type {(answers: Record<string, string>, yard: Page.YardForPlan) => Page.Stood<Vehicle>} */
function ofYard(answers, yard) {
  const names = Object.keys(yard.vehicles),
    first = answers.from_yard,
    chosen = [first, ...names.filter((name) => name !== first && answers[`with.${name}`])].map(
      (name) => yard.vehicles[name],
    );
  const unit = chosen[0]?.unit ?? "lb";
  const vehicles = chosen.map((one) => ({
    ...one,
    axles: one.axles.map(({ x, rating }) => ({ x, rating: ofKg(rating, unit) })),
    couplings: one.couplings.map((link) => ({ ...link, vertical: ofKg(link.vertical, unit) })),
  }));
  const trailers = vehicles.filter((one) => !one.tows),
    towing = vehicles.filter((one) => one.tows),
    pairs = trailers.length * towing.filter((one) => one.couplings.length).length;
  /** @type {Record<string, Page.StateTable>} */
  const states = {};
  for (const tow of towing) {
    states[`${tow.id}_solo`] = { vehicles: [tow.id] };
    for (const trailer of tow.couplings.length ? trailers : [])
      states[pairs === 1 ? "hitched" : `${tow.id}_${trailer.id}`] = {
        vehicles: [tow.id, trailer.id],
        couple: /** @type {Page.UnsentLink} */ ({ towing: tow.id, at: tow.couplings[0].id, trailer: trailer.id }),
      };
  }
  if (!towing.length) for (const { id } of trailers) states[`${id}_alone`] = { vehicles: [id] };
  const title = `${vehicles.map((one) => one.title).join(" and ")}, ${dated(answers.on)}`;
  const instruments = Object.entries(yard.instruments).map(([name, one]) => [name, inUnit(one, unit)]);
  return {
    title: title.replaceAll("\\", "").replaceAll('"', "'"),
    unit,
    vehicles,
    states,
    instruments: Object.fromEntries(instruments),
  };
}

/** @type {(one: Page.Instrument, unit: "lb" | "kg") => Page.Instrument} */
const inUnit = (one, unit) => ({
  ...one,
  division: ofKg(one.division, unit) ?? 0,
  capacity: ofKg(one.capacity, unit),
});
/** @type {(mass: number | null, unit: "lb" | "kg") => number | null} */
const ofKg = (mass, unit) => ten(mass === null ? null : mass / UNITS.mass[unit]);

// -- words and figures -------------------------------------------------------------------------------------------------

/** @type {(text?: string) => string} */
const line = (text = "") => text.trim().split(/\s+/).filter(Boolean).join(" ");
/** @type {(value: number | null) => number | null} */
const ten = (value) => (value === null ? null : Number(value.toPrecision(10)));
/** @type {(on: string) => string} */
const dated = (on) =>
  new Date(`${on}T00:00Z`).toLocaleDateString("en-GB", {
    day: "2-digit",
    month: "long",
    year: "numeric",
    timeZone: "UTC",
  });
