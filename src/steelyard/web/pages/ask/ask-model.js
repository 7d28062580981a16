// What a state would weigh with its cargo changed, from the coefficients that the station sent: values, their doubt from
// the joint covariance, and verdicts. The station itself has the last word; this follows a finger until it comes.

import { idText, inState, ofWheel, parse, tail } from "./finding-id.js";
import { chanceMet, freedom } from "./ask-chance.js";
import { halfWidth } from "./number.js";
import { ofStation } from "./verdict.js";

/** @typedef {{ value: number, u: number }} Sum */
/** @typedef {{ load: number[], roots: Float64Array[], fresh: number[] }} Moments what is loaded: m, m x and m y, each with its root */
/** @typedef {Moments & { at: number }} Load the same on a vehicle, by the place of its terms */

/** @type {Page.Axis[]} */
const AXES = ["x", "y"];

// A figure that is not determined.
export const OPEN = Object.freeze({ value: null, u: null, half: null, low: null, high: null });

/** @type {(into: Float64Array, root: number[], factor: number) => void} */
const plus = (into, root, factor) => {
  for (let at = 1; at < root.length; at += 1) into[at - 1] += factor * root[at];
};

export class Model {
  /** @param {Api.Influence} data an answer of /influence @param {number} tape the doubt of a place that is newly taped */
  constructor(data, tape) {
    this.data = data;
    this.tape = tape;
    this.at = new Map(data.vehicles.map((name, place) => [name, 1 + 3 * place]));
    this.items = new Map(data.items.map((item) => [item.name, item]));
    const rows = [...data.quantities, ...data.limits].map((item) => item.row ?? []);
    /** @type {Model[]} */
    this.under = (data.under ?? []).map((other) => new Model({ ...data, ...other, under: [] }, tape));
    this.unit = data.units.mass;
    this.dofs = data.limits.map((item) => (item.quantile === null ? 0 : freedom(item.quantile)));
    /** @type {Map<Api.Influence["quantities"][number] | Api.Influence["limits"][number], number>} */
    this.before = new Map();
    this.width =
      Math.max(
        1,
        ...rows.flatMap((row) => row.map((term) => term.length)),
        ...data.items.flatMap((item) => [item.mass, item.x, item.y].map((root) => root.length)),
      ) - 1;
  }

  // The cargo as the state has it: by name { on, aboard, mass, x, y, level }.
  /** @type {() => Page.Cargo} */
  start() {
    /** @type {Page.Cargo} */
    const cargo = new Map();
    for (const item of this.data.items) {
      const level = item.level ? item.level[0] : null;
      cargo.set(item.name, {
        on: item.on,
        aboard: item.aboard,
        mass: item.mass[0] * (level ?? 1),
        x: item.x[0],
        y: item.y[0],
        level,
      });
    }
    return cargo;
  }

  // What was changed, as a change of load on each vehicle with its root and with what is newly uncertain.
  /** @type {(cargo: Page.Cargo) => Load[]} */
  changes(cargo) {
    /** @type {Load[]} */
    const found = [];
    for (const [name, now] of cargo) {
      const item = this.items.get(name),
        at = this.at.get(now.on);
      if (at === undefined) continue;
      const change = {
        at,
        load: [0, 0, 0],
        roots: [0, 1, 2].map(() => new Float64Array(this.width)),
        fresh: [0, 0],
      };
      const before = item && item.aboard ? this.standing(item, null) : null;
      if (before)
        for (let row = 0; row < 3; row += 1) {
          change.load[row] -= before.load[row];
          before.roots[row].forEach((value, at) => {
            change.roots[row][at] -= value;
          });
        }
      const after = now.aboard ? this.standing(item ?? null, now) : null;
      if (after) {
        for (let row = 0; row < 3; row += 1) {
          change.load[row] += after.load[row];
          after.roots[row].forEach((value, at) => {
            change.roots[row][at] += value;
          });
        }
        change.fresh = after.fresh;
      }
      if (change.load.some((value) => Math.abs(value) > 1e-9) || change.fresh.some(Boolean)) found.push(change);
    }
    return found;
  }

  // The load of an item where it stands now, or where it stood (now null).
  /** @type {(item: Api.InfluenceCargo | null, now: Page.Stowed | null) => Moments} */
  standing(item, now) {
    const none = [0];
    const full = item?.mass ?? [now?.mass ?? 0],
      tank = item?.level ?? null;
    const level = tank ? (now?.level ?? tank[0]) : 1;
    const refilled = tank && now && now.level !== null && Math.abs(now.level - tank[0]) > 1e-9;
    const mass = full[0] * level;
    const own = new Float64Array(this.width);
    plus(own, full, level);
    if (tank && !refilled) plus(own, tank, full[0]);
    const load = [mass, 0, 0],
      roots = [own],
      fresh = [0, 0];
    AXES.forEach((axis, row) => {
      const place = item?.[axis] ?? none;
      const to = now ? now[axis] : place[0];
      const moved = !item || (now !== null && Math.abs(to - place[0]) > 1e-9);
      const root = own.map((value) => value * to);
      if (moved) fresh[row] = (mass * this.tape) ** 2;
      else plus(root, place, mass);
      load[row + 1] = mass * to;
      roots.push(root);
    });
    return { load, roots, fresh };
  }

  // One row under some changes: value and standard uncertainty, and the root for whoever needs it together with another.
  /** @type {(terms: number[][], changes: Load[]) => Sum} */
  row(terms, changes) {
    let value = terms[0][0],
      more = 0;
    const root = new Float64Array(this.width);
    plus(root, terms[0], 1);
    for (const { at, load, roots, fresh } of changes) {
      for (let part = 0; part < 3; part += 1) {
        const term = terms[at + part];
        value += term[0] * load[part];
        plus(root, term, load[part]);
        for (let place = 0; place < root.length; place += 1) root[place] += term[0] * roots[part][place];
        if (part > 0) more += term[0] ** 2 * fresh[part - 1];
      }
    }
    return { value, u: Math.sqrt(root.reduce((sum, part) => sum + part * part, more)) };
  }

  // Everything at once. quantities: tail of the id to { label, value, u, half, low, high, contested }; verdicts by the tail
  // of theirs. Where readings contradict one another, an interval spans the answers, and a verdict is sure only if all agree.
  /** @type {(cargo: Page.Cargo) => Page.Prediction & { lifts: boolean }} */
  predict(cargo) {
    const found = this.alone(cargo);
    for (const other of this.under.map((model) => model.alone(cargo))) {
      for (const [id, item] of found.quantities) widen(item, other.quantities.get(id));
      for (const [id, item] of found.verdicts) {
        if (item.mark !== "open" && other.verdicts.get(id)?.mark !== item.mark)
          Object.assign(item, { mark: "undecided", contested: true });
      }
    }
    return found;
  }

  // The same as all readings together have it, or those that one explanation leaves.
  /** @type {(cargo: Page.Cargo) => Page.Prediction & { lifts: boolean }} */
  alone(cargo) {
    const changes = this.changes(cargo);
    const sums = this.data.quantities.map((item) => (item.row ? this.row(item.row, changes) : null));
    /** @type {Page.Prediction["quantities"]} */
    const quantities = new Map();
    this.data.quantities.forEach((item, place) => {
      const found = sums[place];
      /** @type {Page.Figure} */
      let figure = OPEN;
      if (found && item.quantile !== null) {
        const { value, u } = found,
          half = u * (this.quantile(item, u, TWO_SIDED) ?? 0);
        figure = { value, u, half, low: value - half, high: value + half };
      }
      quantities.set(tail(item.id, this.data.state), { label: words(item.label), contested: false, ...figure });
    });
    /** @type {Page.Prediction["verdicts"]} */
    const verdicts = new Map();
    this.data.limits.forEach((item, place) => {
      /** @type {Sum | null} */
      let slack = null;
      const sum = item.of === null ? null : sums[item.of],
        id = tail(item.id, this.data.state);
      if (sum) slack = { value: (item.sense === "max" ? 1 : -1) * (item.limit - sum.value), u: sum.u };
      else if (item.row) slack = this.row(item.row, changes);
      const of = item.of === null ? null : this.data.quantities[item.of];
      const half = of === null ? null : (this.quantile(of, slack?.u ?? 0, TWO_SIDED) ?? 0) * (slack?.u ?? 0);
      const value = sum ? sum.value : slack && this.share(id, quantities);
      verdicts.set(id, {
        label: item.label,
        mark: slack ? marked(slack, this.quantile(item, slack.u, ONE_SIDED)) : "open",
        met: slack && chanceMet(slack, this.dofs[place]),
        room: value === null ? null : (item.sense === "max" ? 1 : -1) * (item.limit - value),
        half,
        value,
        limit: item.limit,
        least: item.sense === "min",
        unit: sum ? this.unit : "%",
        contested: false,
      });
    });
    const lifts = [...quantities].some(([id, item]) => ofWheel(id) && item.value !== null && item.value < 0);
    return { quantities, verdicts, lifts };
  }

  // The quantile of a figure whose doubt has grown to `u`. What the station knew keeps its own; what was put on or moved
  // adds a doubt that is known, as a normal one. The squares of expanded uncertainties add up, as at the station.
  /** @type {(item: Api.Influence["quantities"][number] | Api.Influence["limits"][number], u: number, known: number) => number | null} */
  quantile(item, u, known) {
    if (item.quantile === null) return null;
    let before = this.before.get(item);
    if (before === undefined) {
      const row = "of" in item && item.of !== null ? this.data.quantities[item.of].row : item.row;
      before = row ? this.row(row, this.changes(this.start())).u : u;
      this.before.set(item, before);
    }
    if (!(u > before)) return item.quantile;
    const part = (before / u) ** 2;
    return Math.sqrt(part * item.quantile ** 2 + (1 - part) * known ** 2);
  }

  // What a limit on a share limits, in percent, from the loads that it is a share of; null where it is another one.
  /** @type {(id: string, quantities: Page.Prediction["quantities"]) => number | null} */
  share(id, quantities) {
    const { owner, kind, place } = parse(id);
    /** @type {(owner: string, kind: string, place?: string) => number | null | undefined} */
    const load = (owner, kind, place = "") => quantities.get(idText({ states: [""], owner, kind, place }))?.value;
    const trailer = this.data.vehicles[Number(place || 1)] ?? "";
    /** @type {Record<string, [part: number | null | undefined, whole: number | null | undefined]>} */
    const known = {
      share: [load("coupling", "load", place), load(trailer, "gross")],
      left_share: [load(owner, "side", "L"), load(owner, "gross")],
      front_share: [load(owner, "axle", "1"), load(owner, "gross")],
    };
    const [part, whole] = known[kind] ?? [];
    return part == null || !whole ? null : (100 * part) / whole;
  }
}

// The normal quantiles of an interval of 95 %, and of 95 % on one side.
const TWO_SIDED = 1.959964;
const ONE_SIDED = 1.644854;

// How a limit is kept: `slack` is the room under it, `quantile` that of 95 % on one side.
/** @type {(slack: Sum, quantile: number | null) => Page.Mark} */
const marked = ({ value, u }, quantile) => {
  if (quantile === null) return "open";
  if (value >= quantile * u) return "within";
  return value <= -quantile * u ? "outside" : "undecided";
};

// An answer that lies off by more than a quarter of the half width, or reaches further by it, contests a quantity.
const PULLED = 0.25;
/** @type {(item: Page.Predicted, other: Page.Predicted | undefined) => void} */
function widen(item, other) {
  if (item.value === null || !other || other.value === null) return;
  const apart = Math.abs(other.value - item.value);
  if (!(apart > PULLED * item.half || apart + other.half > (1 + PULLED) * item.half)) return;
  Object.assign(item, { contested: true, low: Math.min(item.low, other.low), high: Math.max(item.high, other.high) });
}

/** @type {(label: string) => string} */
const words = (label) => label.slice(label.indexOf(": ") + 2);

/** @type {(item: Api.Finding) => Page.Figure} */
const told = ({ value, u, low, high }) =>
  value === null || u === null || low === null || high === null
    ? OPEN
    : { value, u, low, high, half: halfWidth({ value, low, high }) };

// The station's own answer in the same shape; what it does not say is left out.
/** @type {(data: Pick<Api.Findings, "findings" | "verdicts" | "cautions">, state: string) => Page.Answered} */
export function answered(data, state) {
  /** @type {Page.Answered} */
  const { quantities, verdicts, cautions } = { quantities: new Map(), verdicts: new Map(), cautions: data.cautions };
  for (const item of data.findings) {
    const id = tail(item.id, state);
    if (inState(id, "")) quantities.set(id, { label: words(item.label), contested: item.contested, ...told(item) });
  }
  const known = new Map(data.findings.map((item) => [item.id, item]));
  for (const item of data.verdicts) verdicts.set(tail(item.id, state), ofStation(item, known.get(item.finding)));
  return { quantities, verdicts, cautions };
}
