// The plan of the day, walked at the pads: what comes next, what was done, also with the station gone.

import { element } from "./dom.js";
import { call } from "./api.js";
import { follow, safety } from "./plan-follow.js";

export class Walk {
  // hooks: go(draft) -> whether state and pads are as planned now, announce(words), refresh()
  constructor(day, hooks) {
    this.day = day;
    this.hooks = hooks;
    this.plan = day.plan;
    this.box = element("walk", HTMLDetailsElement);
    this.walking = new URLSearchParams(location.search).has("walk");
    this.box.open = this.walking;
    this.drafts = [];
  }

  begin() {
    this.started = true;
    if (this.walking) this.go();
    this.show();
  }

  // Every draft that is known: of the page, on disk since, and those that wait on this device.
  look(old, since, waiting) {
    const kept = [...old, ...since].sort((a, b) => (a.number ?? 1e9) - (b.number ?? 1e9));
    const here = waiting
      .filter((item) => item.what === "draft" && !item.refused)
      .map((item) => ({ key: item.key, number: null, ...item.json }));
    this.drafts = [...kept, ...here.filter((draft) => !kept.some((one) => one.key === draft.key))];
    if (since.some((draft) => !draft.readings) && !this.asking) {
      this.asking = setTimeout(() => {
        this.asking = 0;
        this.hooks.refresh();
      }, 300);
    }
    this.show();
  }

  get state() {
    return this.plan && follow(this.plan, this.drafts);
  }

  go() {
    const state = this.state;
    if (state && state.next !== null) return this.hooks.go(this.plan.answer.drafts[state.next]);
    return false;
  }

  // How the planned draft has the other wheels stand goes with the draft that is kept.
  supports(body) {
    const state = this.state;
    if (!state || state.next === null || body.unsupported) return {};
    const draft = this.plan.answer.drafts[state.next];
    const places = Object.keys(draft.placements);
    if (
      !this.walking ||
      draft.state !== body.state ||
      places.length !== Object.keys(body.readings).length ||
      !places.every((place) => body.readings[place])
    )
      return {};
    // With planks every wheel stands as high as the pads, which a draft need not say.
    if (!draft.unsupported) return {};
    return { unsupported: draft.unsupported, ...(draft.blocks.length ? { blocks: draft.blocks } : {}) };
  }

  // Another device planned anew.
  async renew() {
    try {
      this.plan = (await call("GET", `/api/v1/days/${this.day.day}/plan`)).data;
    } catch {
      return;
    }
    this.last = undefined;
    this.show();
    if (this.walking) this.go();
  }

  show() {
    const state = this.state;
    this.box.hidden = !state || !this.started;
    if (this.box.hidden) return;
    const { drafts, steps } = this.plan.answer;
    const mark = JSON.stringify([this.plan.version, state.next, state.done.length, state.others.length, this.walking]);
    if (mark === this.last) return;
    const moved = this.last !== undefined && state.next !== this.at;
    this.last = mark;
    this.at = state.next;
    const over = state.next === null;
    const head = make(
      "summary",
      over ? `Plan: all ${drafts.length} drafts taken` : `Plan: draft ${state.next + 1} of ${drafts.length}`,
    );
    const parts = [head];
    if (over) parts.push(make("p", "What it expected and what was reached stands with the plan."));
    else {
      const list = make("ol", "", "todo");
      for (const step of steps.filter((one) => one.draft === state.next + 1))
        list.append(make("li", `${step.text[0].toUpperCase()}${step.text.slice(1)}.`));
      parts.push(list);
      if (drafts[state.next].unsupported === "ground" && this.walking)
        parts.push(make("p", "Wheels without a pad or a block stand on the ground: the draft is kept so.", "soft"));
      parts.push(make("p", safety, "soft"));
    }
    if (state.others.length)
      parts.push(
        make(
          "p",
          `${state.others.length === 1 ? "One draft was" : `${state.others.length} drafts were`} taken that the plan did not have. They count: plan the rest.`,
          "note",
        ),
      );
    const acts = make("div", "", "row");
    if (!over && this.day.mayWeigh) {
      const button = Object.assign(make("button", this.walking ? "Put the pads there" : "Walk it"), { type: "button" });
      button.onclick = () => {
        this.walking = true;
        history.replaceState(null, "", `${location.pathname}?walk=1`);
        if (!this.go()) this.hooks.announce("Keep or clear what stands on the wheels first.");
        this.show();
      };
      acts.append(button);
    }
    acts.append(
      Object.assign(make("a", over ? "Expected and reached" : "The whole plan", "button"), {
        href: `/days/${this.day.day}/plan`,
      }),
    );
    if (state.others.length)
      acts.append(Object.assign(make("a", "Plan the rest", "button"), { href: `/days/${this.day.day}/plan#rest` }));
    parts.push(acts);
    this.box.replaceChildren(...parts);
    if (moved && this.walking) {
      this.go();
      this.hooks.announce(
        over
          ? "That was the last planned draft."
          : `Next is draft ${state.next + 1} of the plan, in ${drafts[state.next].state}.`,
      );
    }
  }
}

const make = (tag, words, kind = "") =>
  Object.assign(document.createElement(tag), { textContent: words, className: kind });
