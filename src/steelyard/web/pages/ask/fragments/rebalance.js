// Put it right: what may be touched and set, the least to do in words and as arrows on the plan.

import { valued } from "./asking.js";
import { $, every } from "./dom.js";
import { readLength, readNumber } from "./number.js";
import { byTrouble, ofStation, signLine } from "./verdict.js";

/** @type {(the: Page.Asker) => Page.AskScript} */
export default function rebalance(the) {
  const { day, plan, now, show, make } = the;

  function movables() {
    const box = $("right-items"),
      was = new Map(every(box, "input", HTMLInputElement).map((input) => [input.value, input.checked]));
    const rows = now.model.data.items
      .filter((item) => now.cargo.get(item.name)?.aboard && !the.fixed(item.name))
      .map((item) => {
        const input = make("input", "", {
          type: "checkbox",
          value: item.name,
          checked: was.get(item.name) ?? (item.movable || Boolean(item.level)),
        });
        const label = make("label");
        label.append(input, called(item.title, item.level ? ", a tank" : ""));
        return label;
      });
    const names = [...now.cargo].filter(([name, at]) => at.aboard && !now.first.has(name)).map(([name]) => name);
    for (const name of names) {
      const label = make("label");
      label.append(
        make("input", "", { type: "checkbox", value: name, checked: was.get(name) ?? true }),
        called(the.titleOf(name), ", new"),
      );
      rows.push(label);
    }
    settings();
    box.replaceChildren(...rows);
    $("right-none").hidden = rows.length > 0;
  }

  /** @type {(title: string, more: string) => HTMLElement} */
  function called(title, more) {
    const words = make("span");
    words.append(make("bdi", title), more);
    return words;
  }

  // What may be set rather than lifted, for each trailer that is hitched.
  function settings() {
    const box = $("right-settings"),
      names = the.hitched();
    $("right-set").hidden = names.length === 0;
    if (box.dataset.of === names.join("|")) return;
    box.dataset.of = names.join("|");
    box.replaceChildren(
      ...names.flatMap((name) => [
        field(`couple-${name}`, `Couple of the bars of ${day.titles[name]}, from none to`, day.couple, {
          couple: name,
        }),
        field(`shift-${name}`, `Coupling of ${day.titles[name]}, either way by`, day.length, { shift: name }),
      ]),
    );
  }

  /** @type {(id: string, words: string, unit: string, data: Record<string, string>) => HTMLElement} */
  function field(id, words, unit, data) {
    const box = make("div", "", "field"),
      label = make("label", `${words} `, { htmlFor: id }),
      input = make("input", "", { id, inputMode: "decimal", autocomplete: "off" });
    label.append(make("span", unit, "soft"));
    Object.assign(input.dataset, data);
    box.append(label, input);
    return box;
  }

  function ranges() {
    /** @type {{ couple: Record<string, [string, string]>, shift: Record<string, [number, number]> }} */
    const found = { couple: {}, shift: {} };
    for (const input of every($("right-settings"), "input", HTMLInputElement)) {
      const { couple, shift } = input.dataset;
      /** @type {(words?: string) => Page.Typed} */
      const read = (words) => (couple ? readNumber(input.value, words) : readLength(input.value, day.length, words));
      const words = `${input.labels?.[0].textContent}: a number above zero, or nothing.`,
        value = valued(input, read, words);
      if (value === undefined) continue;
      if (!(value > 0)) {
        input.focus();
        throw new Error(words);
      }
      if (couple) found.couple[couple] = [`0 ${day.couple}`, `${value} ${day.couple}`];
      else if (shift) found.shift[shift] = [-value, value];
    }
    return found;
  }

  /** @type {(title: string, data: Api.Remedy) => Node[]} */
  function remedy(title, data) {
    const box = make("div", "", `note ${data.status === "impossible" ? "alarm" : ""}`);
    if (data.status === "impossible") {
      box.append(make("h3", "Impossible with these"), make("p", data.reason.replace(/[\w-]+\/\S+:\w+/g, the.labelOf)));
      return [box];
    }
    box.append(
      make(
        "h3",
        `${title}: ${data.actions.length ? `${show(data.moved_mass ?? 0)} ${day.unit}` : data.settings.length ? "nothing to lift" : "nothing to do"}`,
      ),
    );
    if (data.contested)
      box.append(
        make(
          "p",
          "Contested: the readings of this day contradict one another. This brings every limit within whichever of them is right.",
        ),
      );
    if (data.status === "feasible") box.append(make("p", "Found, not proved to be the least."));
    if (!data.actions.length && !data.settings.length) {
      box.append(
        make(
          "p",
          data.verdicts.some((one) => one.verdict === null)
            ? "Every limit that is judged is kept at 95 % as it is."
            : "Every limit is kept at 95 % as it is.",
        ),
      );
      return [box];
    }
    const list = make("ol", "", "steps");
    list.append(...data.actions.map((action) => make("li", act(action))));
    for (const setting of data.settings)
      list.append(
        make(
          "li",
          `Set the ${setting.setting === "shift" ? "shift of the coupling" : "couple of the bars"} of ${day.titles[setting.trailer]} to ${show(setting.value, 1)} ${setting.unit}`,
        ),
      );
    box.append(list, ...compared(data));
    if (data.settings.length)
      box.append(
        make(
          "p",
          "A setting is for your hands: the plan shows what is moved, not what is set. Weigh again when it is set.",
          "soft",
        ),
      );
    if (data.actions.length) box.append(buttons(data.actions));
    return [box];
  }

  // The worst limit as it is, and as it would be.
  /** @type {(data: Api.Remedy) => Node[]} */
  function compared(data) {
    const known = new Map(data.findings.map((item) => [item.id, item]));
    const [after] = data.verdicts.map((one) => ofStation(one, known.get(one.finding))).sort(byTrouble),
      before = the.worst();
    return [
      ...(before ? [make("h4", "Now"), signLine(before)] : []),
      ...(after ? [make("h4", "Then"), signLine(after)] : []),
    ];
  }

  /** @type {(actions: Api.RemedyAction[]) => HTMLElement} */
  function buttons(actions) {
    const row = make("div", "", "row");
    /** @type {(words: string, className: string, onclick: () => void) => HTMLElement} */
    const button = (words, className, onclick) => make("button", words, { type: "button", className, onclick });
    row.append(
      button("Do it", "main", () => {
        arrows(actions);
        the.apply(actions);
        $("plan").scrollIntoView({ block: "start" });
      }),
      button("Show it on the plan", "", () => {
        arrows(actions);
        $("plan").scrollIntoView({ block: "start" });
      }),
    );
    return row;
  }

  // A length in the reader's units, without a tail of digits that nobody measures.
  /** @type {(value: number) => string} */
  const length = (value) => `${show(Math.abs(value), day.length === "mm" ? 0 : 2)} ${day.length}`;
  /** @type {(mass: number) => string} */
  const drained = (mass) => `${show(Math.ceil(mass - 1e-6))} ${day.unit}`;

  // How far a thing is moved: along the vehicle, then across it.
  /** @type {(action: Api.RemedyAction) => string} */
  function way({ cargo, to }) {
    const at = now.cargo.get(cargo);
    if (!to || !at) return "";
    const [along, across] = [to.x - at.x, to.y - at.y];
    return [
      Math.abs(along) > 1e-6 && `${length(along)} ${along > 0 ? "back" : "forward"}`,
      Math.abs(across) > 1e-6 && `${length(across)} ${across > 0 ? "to the left" : "to the right"}`,
    ]
      .filter(Boolean)
      .join(", ");
  }

  /** @type {(action: Api.RemedyAction) => string} */
  function act(action) {
    const name = the.titleOf(action.cargo),
      mass = `${show(action.mass, 0)} ${day.unit}`;
    const { to } = action;
    if (to) {
      const across = Math.abs(to.y) < 0.005 ? "in the middle" : `${length(to.y)} ${to.y > 0 ? "left" : "right"}`;
      return `Move ${name} (${mass}) ${way(action)}: to ${to.x < 0 ? "−" : ""}${length(to.x)} back, ${across}`;
    }
    if (action.action === "drain")
      return `Drain ${drained(action.mass)} of ${name}${action.level === null ? "" : `, to ${show(action.level, 1)} %`}`;
    return `Leave ${name} (${mass}) behind`;
  }

  /** @type {(actions: Api.RemedyAction[]) => void} */
  function arrows(actions) {
    plan.arrows(
      actions.flatMap((action) => {
        const { cargo, to } = action,
          at = now.cargo.get(cargo);
        if (!at) return [];
        const words = to ? way(action) : action.action === "drain" ? `drain ${drained(action.mass)}` : "left behind";
        return [{ on: at.on, from: /** @type {[number, number]} */ ([at.x, at.y]), to: to && [to.x, to.y], words }];
      }),
    );
  }

  return {
    waits: "Looking for the least …",
    wait: 90000,
    body(given) {
      movables();
      const boxes = every($("right-items"), "input", HTMLInputElement);
      /** @type {(some: HTMLInputElement[]) => string[]} */
      const named = (some) => some.map((box) => box.value);
      return {
        ...given,
        move: named(boxes.filter((box) => box.checked && !now.model.items.get(box.value)?.level)),
        keep: named(boxes.filter((box) => !box.checked)),
        ...ranges(),
      };
    },
    /** @type {(data: Api.Rebalance) => Node[]} */
    show(data) {
      const fewest = data.fewest_items;
      /** @type {(found: Api.Remedy) => string} */
      const done = (found) => JSON.stringify([found.actions, found.settings]);
      if (data.status === "impossible") return remedy("Least mass", data);
      arrows(data.actions);
      return done(data) === done(fewest)
        ? remedy("Least mass, and fewest items", data)
        : [...remedy("Least mass", data), ...remedy("Fewest items", fewest)];
    },
    begin: movables,
    settled: movables,
  };
}
