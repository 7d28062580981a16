// Put it right: what may be touched and set, the least to do in words and as arrows on the plan.

import { valued } from "./asking.js";
import { $, every } from "./dom.js";
import { readLength, readNumber } from "./number.js";

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
        label.append(input, `${item.title}${item.level ? ", a tank" : ""}`);
        return label;
      });
    const names = [...now.cargo].filter(([name, at]) => at.aboard && !now.first.has(name)).map(([name]) => name);
    for (const name of names) {
      const label = make("label");
      label.append(
        make("input", "", { type: "checkbox", value: name, checked: was.get(name) ?? true }),
        `${name}, new`,
      );
      rows.push(label);
    }
    settings();
    box.replaceChildren(...rows);
    $("right-none").hidden = rows.length > 0;
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
        make("li", `Set the ${setting.setting} of ${setting.trailer} to ${show(setting.value, 1)} ${setting.unit}`),
      );
    const row = make("div", "", "row");
    row.append(
      make("button", "Show it on the plan", {
        type: "button",
        onclick: () => {
          arrows(data.actions);
          $("plan").scrollIntoView({ block: "start" });
        },
      }),
      make("button", "Try it", {
        type: "button",
        onclick: () => {
          the.apply(data.actions);
          arrows([]);
          $("board").scrollIntoView({ block: "center" });
        },
      }),
    );
    box.append(list);
    if (data.settings.length)
      box.append(
        make(
          "p",
          "A setting is for your hands: the plan shows what is moved, not what is set. Weigh again when it is set.",
          "soft",
        ),
      );
    if (data.actions.length) box.append(row);
    return [box];
  }

  /** @type {(action: Api.RemedyAction) => string} */
  function act(action) {
    const name = the.titleOf(action.cargo),
      mass = `${show(action.mass, 0)} ${day.unit}`;
    const { to } = action;
    if (to)
      return `Move ${name} (${mass}) to ${show(to.x, 0)} ${day.length} back, ${to.y === 0 ? "in the middle" : `${show(Math.abs(to.y), 0)} ${day.length} ${to.y > 0 ? "left" : "right"}`}`;
    return action.action === "drain"
      ? `Drain ${show(Math.ceil(action.mass))} ${day.unit} of ${name}`
      : `Leave ${name} (${mass}) behind`;
  }

  /** @type {(actions: Api.RemedyAction[]) => void} */
  function arrows(actions) {
    plan.arrows(
      actions.flatMap(({ cargo, to }) => {
        const at = now.cargo.get(cargo);
        return at ? [{ on: at.on, from: [at.x, at.y], to: to && [to.x, to.y] }] : [];
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
