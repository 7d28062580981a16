// What a state would weigh with its cargo changed, from the coefficients that the station sent: values, their doubt from
// the joint covariance, and verdicts. The station itself has the last word; this follows a finger until it comes.

import { inState, isLoad, ofWheel, tail } from "./finding-id.js";

const plus = (into, root, factor) => {
  for (let at = 1; at < root.length; at += 1) into[at - 1] += factor * root[at];
};

export class Model {
  // data: an answer of /influence. tape: the doubt of a place that is newly taped.
  constructor(data, tape) {
    this.data = data;
    this.tape = tape;
    this.at = new Map(data.vehicles.map((name, place) => [name, 1 + 3 * place]));
    this.items = new Map(data.items.map((item) => [item.name, item]));
    const rows = [...data.quantities, ...data.limits].map((item) => item.row).filter(Boolean);
    this.under = (data.under ?? []).map((other) => new Model({ ...data, ...other, under: [] }, tape));
    this.width =
      Math.max(
        1,
        ...rows.flatMap((row) => row.map((term) => term.length)),
        ...data.items.flatMap((item) => ["mass", "x", "y"].map((key) => item[key].length)),
      ) - 1;
  }

  // The cargo as the state has it: by name { on, aboard, mass, x, y, level }.
  start() {
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
  changes(cargo) {
    const found = [];
    for (const [name, now] of cargo) {
      const item = this.items.get(name);
      const change = {
        at: this.at.get(now.on),
        load: [0, 0, 0],
        roots: [0, 1, 2].map(() => new Float64Array(this.width)),
        fresh: [0, 0],
      };
      if (change.at === undefined) continue;
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
  standing(item, now) {
    const none = [0];
    const full = item?.mass ?? [now.mass],
      tank = item?.level ?? null;
    const level = tank ? (now?.level ?? tank[0]) : 1;
    const refilled = tank && now && Math.abs(now.level - tank[0]) > 1e-9;
    const mass = full[0] * level;
    const own = new Float64Array(this.width);
    plus(own, full, level);
    if (tank && !refilled) plus(own, tank, full[0]);
    const load = [mass, 0, 0],
      roots = [own],
      fresh = [0, 0];
    ["x", "y"].forEach((axis, row) => {
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
  alone(cargo) {
    const changes = this.changes(cargo);
    const sums = this.data.quantities.map((item) => (item.row ? this.row(item.row, changes) : null));
    const quantities = new Map();
    this.data.quantities.forEach((item, place) => {
      const found = sums[place];
      const half = found ? found.u * item.quantile : null;
      const ends = found ? { low: found.value - half, high: found.value + half } : { low: null, high: null };
      quantities.set(tail(item.id, this.data.state), {
        label: words(item.label),
        value: found?.value ?? null,
        u: found?.u ?? null,
        half,
        ...ends,
        contested: false,
      });
    });
    const verdicts = new Map();
    for (const item of this.data.limits) {
      let slack = null;
      if (item.of !== null && sums[item.of])
        slack = { value: (item.sense === "max" ? 1 : -1) * (item.limit - sums[item.of].value), u: sums[item.of].u };
      else if (item.row) slack = this.row(item.row, changes);
      const mark =
        slack === null
          ? "open"
          : slack.value >= item.quantile * slack.u
            ? "within"
            : slack.value <= -item.quantile * slack.u
              ? "outside"
              : "undecided";
      verdicts.set(tail(item.id, this.data.state), {
        label: item.label,
        mark,
        room: slack?.value ?? null,
        u: slack?.u ?? null,
        share: item.of === null,
        order: slack ? slack.value / Math.max(slack.u, 1e-9) : 1e9,
      });
    }
    const lifts = [...quantities].some(([id, item]) => ofWheel(id) && item.value !== null && item.value < 0);
    return { quantities, verdicts, lifts };
  }
}

// An answer that lies off by more than a quarter of the half width, or reaches further by it, contests a quantity.
const PULLED = 0.25;
function widen(item, other) {
  if (item.half === null || !other || other.half === null) return;
  const apart = Math.abs(other.value - item.value);
  if (!(apart > PULLED * item.half || apart + other.half > (1 + PULLED) * item.half)) return;
  Object.assign(item, { contested: true, low: Math.min(item.low, other.low), high: Math.max(item.high, other.high) });
}

const words = (label) => label.slice(label.indexOf(": ") + 2);

// The station's own answer in the same shape; what it does not say is left out.
export function answered(data, state) {
  const quantities = new Map(),
    verdicts = new Map();
  for (const item of data.findings) {
    const id = tail(item.id, state);
    if (inState(id, ""))
      quantities.set(id, {
        label: words(item.label),
        value: item.value,
        u: item.u,
        half: item.value === null ? null : (item.high - item.low) / 2,
        low: item.low,
        high: item.high,
        contested: item.contested,
        unit: item.unit,
      });
  }
  for (const item of data.verdicts) {
    const order = item.margin === null ? 1e9 : item.margin / Math.max(item.u ?? 0, 1e-9);
    verdicts.set(tail(item.id, state), {
      label: item.label,
      mark: item.verdict ?? "open",
      room: item.margin,
      u: item.u,
      share: item.limit < 1.5 || !isLoad(item.id),
      order,
      advice: item.advice,
      contested: item.contested,
    });
  }
  return { quantities, verdicts, cautions: data.cautions };
}
