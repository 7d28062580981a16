// "Same, with ...": a new state from the one that is chosen, in two taps.

import { $, element, first, make, only } from "./dom.js";
import { keep, onChange } from "./outbox.js";
import { makeKey } from "./api.js";
import { stateWords } from "./place-words.js";

/** @typedef {(state: Page.StateTable) => void} Change */

export class StateMaker {
  /** @param {Page.Pads} day @param {{ current: () => string, made: (id: string) => void, tab: (id: string) => void }} hooks */
  constructor(day, hooks) {
    this.day = day;
    this.hooks = hooks;
    this.dialog = element("state-maker", HTMLDialogElement);
    this.fault = $("maker-fault");
    this.own = new Set(); // keys of the states that were made here
    $("make-state").addEventListener("click", () => this.open());
    only(this.dialog, "[data-act=close]", HTMLElement).addEventListener("click", () => this.dialog.close());
    only(this.dialog, "[data-act=named]", HTMLElement).addEventListener("click", () => this.named());
    only(this.dialog, "form", HTMLFormElement).addEventListener("submit", (event) => {
      event.preventDefault();
      this.named();
    });
    onChange(({ items, sent }) => {
      for (const item of items)
        if (item.what === "state" && item.day === day.day && !this.day.states[item.shown])
          this.add(item.shown, item.like, item.json, item.key, item.said);
      if (sent?.answer && sent.item.what === "state" && this.day.states[sent.item.shown])
        this.day.states[sent.item.shown].made = undefined;
    });
  }

  open() {
    const id = this.hooks.current();
    $("maker-from").textContent = stateWords(id);
    element("maker-name", HTMLInputElement).value = "";
    this.fault.textContent = "";
    const choices = this.choices(id).map(({ words, name, change }) => {
      const button = make("button", words, { type: "button" });
      button.onclick = () => this.make(name, change, words);
      return button;
    });
    $("maker-choices").replaceChildren(...choices);
    this.dialog.showModal();
  }

  // What can be changed by one tap: bars, and each cargo on, off, full or empty.
  /** @type {(id: string) => { words: string, name: string, change: Change }[]} */
  choices(id) {
    const table = this.day.states[id].table;
    /** @type {{ words: string, name: string, change: Change }[]} */
    const found = [];
    const couple = Array.isArray(table.couple) ? null : table.couple;
    if (couple?.weight_distribution)
      found.push({
        words: "bars slack",
        name: `${id}_slack`,
        change: (state) => {
          state.couple = tensioned(couple, false);
        },
      });
    else if (couple)
      found.push({
        words: "bars tensioned",
        name: `${id}_bars`,
        change: (state) => {
          state.couple = tensioned(couple, true);
        },
      });
    const aboard = table.cargo ?? [];
    for (const [name, cargo] of Object.entries(this.day.cargo)) {
      if (!table.vehicles.includes(cargo.on)) continue;
      if (!aboard.includes(name))
        found.push({
          words: `${name} aboard`,
          name: `${id}_${name}`,
          change: (state) => {
            state.cargo = [...aboard, name];
          },
        });
      else {
        found.push({
          words: `no ${name}`,
          name: `${id}_no_${name}`,
          change: (state) => {
            state.cargo = aboard.filter((other) => other !== name);
            if (state.change) {
              delete state.change[name];
              if (!Object.keys(state.change).length) delete state.change;
            }
          },
        });
        if (cargo.tank) {
          for (const [word, level] of [
            ["full", "100 %"],
            ["empty", "0 %"],
          ]) {
            if (table.change?.[name]?.level === level) continue;
            found.push({
              words: `${name} ${word}`,
              name: `${id}_${name}_${word}`,
              change: (state) => {
                state.change = { ...state.change, [name]: { ...state.change?.[name], level } };
              },
            });
          }
        }
      }
    }
    return found;
  }

  named() {
    const name = element("maker-name", HTMLInputElement).value.trim();
    if (!/^[A-Za-z0-9_-]{1,40}$/.test(name)) {
      this.fault.textContent = "Give it a name of letters, digits, _ or -.";
      return;
    }
    if (this.day.states[name] || ["combination", "coupling", "cargo"].includes(name)) {
      this.fault.textContent = "That name is taken.";
      return;
    }
    this.make(name, () => {}, "the same");
  }

  /** @type {(wanted: string, change: Change, words: string) => Promise<void>} */
  async make(wanted, change, words) {
    const like = this.hooks.current();
    const table = structuredClone(this.day.states[like].table);
    change(table);
    let name = wanted.slice(0, 40);
    for (let count = 2; this.day.states[name]; count += 1) name = `${wanted.slice(0, 36)}_${count}`;
    const key = makeKey();
    const said = `${stateWords(like)}, with ${words}`;
    const json = { key, name, ...table };
    this.add(name, like, json, key, said);
    this.dialog.close();
    this.hooks.made(name);
    first(document, `#states [data-state="${name}"]`, HTMLElement)?.focus();
    await keep({
      day: this.day.day,
      what: "state",
      key,
      method: "POST",
      url: this.day.links.states,
      json,
      shown: name,
      like,
      said,
      after: this.day.states[like].made,
    });
  }

  /** @type {(name: string, like: string, json: Page.StateBody, key: string, said: string) => void} */
  add(name, like, json, key, said) {
    const { key: _key, name: _name, ...table } = json;
    const from = this.day.states[like];
    if (!from) return;
    this.day.states[name] = { ...from, table, said, made: key };
    this.own.add(key);
    this.hooks.tab(name);
  }
}

// A coupling with its bars tensioned, or slack.
/** @type {(couple: Page.Couple, bars: boolean) => Page.Couple} */
function tensioned(couple, bars) {
  const { weight_distribution: _bars, ...rest } = couple;
  return bars ? { ...rest, weight_distribution: true } : rest;
}
