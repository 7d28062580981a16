// What is aboard and what is not, as lists, and the editor of the thing that is chosen.

import { AXES, called, chosen, day, differs, fixed, massOf, now, placed, saidOf, titleOf } from "./ask-now.js";
import { $, closest, element, every, first, make } from "./dom.js";
import { readLength, formatNumber as show, written } from "./number.js";

const level = element("level", HTMLInputElement),
  nameField = element("editor-name", HTMLInputElement);

/** @type {(words: string) => HTMLElement} */
const title = (words) => make("b", words, { dir: "auto" });

export class Aboard {
  /** @param {import("./ask-plan.js").Plan} plan @param {(done: boolean) => void} changed */
  constructor(plan, changed) {
    this.plan = plan;
    this.changed = changed;
    this.placeFields();
    for (const button of every(document, "[data-nudge]", HTMLElement)) {
      button.addEventListener("click", () => {
        const [dx, dy] = (button.dataset.nudge ?? "").split(" ").map(Number),
          at = chosen();
        if (!at) return;
        [at.x, at.y] = plan.within(at.on, at.x + dx * day.step, at.y + dy * day.step);
        changed(true);
      });
    }
    level.addEventListener("input", () => {
      const at = chosen();
      if (at) at.level = Number(level.value) / 100;
      changed(false);
    });
    level.addEventListener("change", () => changed(true));
    nameField.addEventListener("input", () => this.rename());
    nameField.addEventListener("change", () => changed(true));
    $("take-off").addEventListener("click", () => {
      if (now.chosen !== null) this.take(now.chosen, false);
    });
    $("editor-done").addEventListener("click", () => {
      const name = now.chosen;
      this.choose(null);
      if (name !== null) first($("aboard"), `[data-name="${CSS.escape(name)}"] button`, HTMLElement)?.focus();
    });
  }

  // A place is used while it is typed, as far as it can be read; what cannot is said when the field is left.
  placeFields() {
    for (const axis of AXES) {
      const field = element(`editor-${axis}`, HTMLInputElement);
      /** @type {(done: boolean) => void} */
      const read = (done) => {
        const { value, words } = readLength(field.value, day.length, "A place is a number, as in 62 or −14.5."),
          at = chosen();
        if (value === null || !at) {
          if (!done) return;
          field.setAttribute("aria-invalid", "true");
          $("editor-what").textContent = words;
          return;
        }
        field.removeAttribute("aria-invalid");
        at[axis] = value;
        this.changed(done);
      };
      field.addEventListener("input", () => read(false));
      field.addEventListener("change", () => read(true));
    }
  }

  // What was put on here may be called otherwise; what the day has keeps its name.
  rename() {
    const at = chosen(),
      words = nameField.value.trim();
    if (!at || now.chosen === null) return;
    const taken = called(words, now.chosen);
    if (taken) nameField.setAttribute("aria-invalid", "true");
    else nameField.removeAttribute("aria-invalid");
    $("editor-fault").textContent = taken ? "Something else is called so." : "";
    if (taken) return;
    if (words) at.title = words;
    else delete at.title;
    this.changed(false);
  }

  /** @type {(name: string | null) => void} */
  choose(name) {
    now.chosen = name;
    this.show();
  }

  /** @type {(name: string, aboard: boolean) => void} */
  take(name, aboard) {
    const at = now.cargo.get(name);
    if (!at) return;
    at.aboard = aboard;
    if (!aboard && !now.first.has(name)) now.cargo.delete(name);
    now.chosen = aboard ? name : null;
    this.changed(true);
    if (!aboard) $("aboard-head").focus();
  }

  show() {
    const aboard = [...now.cargo].filter(([, at]) => at.aboard).map(([name]) => name);
    this.plan.items(
      [...now.cargo]
        .filter(([name, at]) => at.aboard && placed(name))
        .map(([name, at]) => ({
          ...at,
          name,
          title: titleOf(name),
          said: saidOf(name),
          moved: differs(name),
          fixed: fixed(name),
        })),
      now.chosen,
    );
    list($("aboard"), aboard, (name) => {
      const button = make("button", "", {
        type: "button",
        className: "thing",
        onclick: () => this.choose(name === now.chosen ? null : name),
      });
      button.setAttribute("aria-expanded", String(name === now.chosen));
      button.append(title(titleOf(name)), make("span", saidOf(name)));
      return [button];
    });
    $("none-aboard").hidden = aboard.length > 0;
    const tray = [...now.cargo].filter(([, at]) => !at.aboard).map(([name]) => name);
    $("tray-part").hidden = tray.length === 0;
    list($("tray"), tray, (name) => {
      const chip = make("span", "", "chip");
      chip.append(title(titleOf(name)), make("span", saidOf(name)));
      if (!fixed(name)) {
        chip.classList.add("grip");
        chip.dataset.item = name;
      }
      const button = make("button", "Put on", { type: "button", onclick: () => this.take(name, true) });
      button.append(make("span", ` ${titleOf(name)}`, "unseen"));
      return [chip, button];
    });
    this.editor();
  }

  editor() {
    const name = now.chosen,
      box = $("editor");
    const at = chosen();
    box.hidden = !name || !at;
    if (!name || !at) return;
    const item = now.model.items.get(name);
    $("editor-head").textContent = titleOf(name);
    // What is wrong with a place that was typed stands until it is right, or something else is chosen.
    if (box.dataset.name !== name)
      for (const field of every(box, "[aria-invalid]", HTMLElement)) field.removeAttribute("aria-invalid");
    if (box.dataset.name !== name) $("editor-fault").textContent = "";
    box.dataset.name = name;
    if (!box.querySelector("[aria-invalid]")) $("editor-what").textContent = `${saidOf(name)}, on ${day.titles[at.on]}`;
    $("editor-named").hidden = now.first.has(name) || now.ours.has(name);
    if (document.activeElement !== nameField && !nameField.hasAttribute("aria-invalid"))
      nameField.value = at.title ?? "";
    $("editor-place").hidden = fixed(name);
    for (const axis of AXES) {
      const field = element(`editor-${axis}`, HTMLInputElement);
      if (document.activeElement !== field && !field.hasAttribute("aria-invalid")) field.value = written(at[axis]);
    }
    $("editor-level").hidden = !item?.level;
    if (item?.level) {
      const full = at.level ?? 0;
      if (document.activeElement !== level) level.value = String(Math.round(1000 * full) / 10);
      $("level-says").textContent = `${show(100 * full, 1)} %, ${show(massOf(name), 0)} ${day.unit}`;
    }
  }
}

// A list is only made anew where it changed: a button that has the focus stays.
/** @type {(node: HTMLElement, names: string[], fill: (name: string) => Node[]) => void} */
function list(node, names, fill) {
  const made = names.map((name) => {
    const row = make("li");
    row.dataset.name = name;
    row.append(...fill(name));
    return row;
  });
  const old = every(node, ":scope > li", HTMLLIElement);
  const focus = document.activeElement,
    active = node.contains(focus) ? closest(focus, "li")?.dataset.name : null;
  made.forEach((row, place) => {
    const before = old[place];
    if (before && before.dataset.name === row.dataset.name && before.innerHTML === row.innerHTML) made[place] = before;
  });
  if (made.length === old.length && made.every((row, place) => row === old[place])) return;
  node.replaceChildren(...made);
  if (active)
    made
      .find((row) => row.dataset.name === active)
      ?.querySelector("button")
      ?.focus({ preventScroll: true });
}
