// The plan of the day, walked at the pads: what comes next, what was done, also with the station gone.

import { element, make } from "./dom.js";
import { call } from "./api.js";
import { follow, safety } from "./plan-follow.js";
import { called, inWords, stateWords } from "./place-words.js";

export class Walk {
  /** @param {Page.Pads} day @param {Page.WalkHooks} hooks */
  constructor(day, hooks) {
    this.day = day;
    this.hooks = hooks;
    this.plan = day.plan;
    this.box = element("walk", HTMLDetailsElement);
    this.walking = new URLSearchParams(location.search).has("walk");
    this.box.open = this.walking;
    /** @type {Page.Draft[]} */
    this.drafts = [];
    this.started = false;
    this.asking = 0;
    /** @type {string | undefined} */
    this.last = undefined;
    /** @type {number | null} */
    this.at = null;
  }

  begin() {
    this.started = true;
    if (this.walking) this.go();
    this.show();
  }

  // Every draft that is known: of the page, on disk since, and those that wait on this device.
  /** @type {(old: Page.Draft[], since: Page.Draft[], waiting: Page.Waiting[]) => void} */
  look(old, since, waiting) {
    const kept = [...old, ...since].sort((a, b) => (a.number ?? 1e9) - (b.number ?? 1e9));
    const here = waiting.flatMap((item) =>
      item.what === "draft" && !item.refused ? [{ ...item.json, number: null }] : [],
    );
    this.drafts = [...kept, ...here.filter((draft) => !kept.some((one) => one.key === draft.key))];
    if (since.some((draft) => !draft.readings) && !this.asking) {
      this.asking = setTimeout(() => {
        this.asking = 0;
        this.hooks.refresh();
      }, 300);
    }
    this.show();
  }

  /** @returns {Page.Followed | null} */
  get state() {
    return this.plan && follow(this.plan, this.drafts);
  }

  go() {
    const state = this.state;
    return Boolean(this.plan && state && state.next !== null && this.hooks.go(this.plan.answer.drafts[state.next]));
  }

  // The planned draft that comes next, while the plan is walked.
  /** @returns {Api.PlannedDraft | null} */
  get next() {
    const state = this.walking ? this.state : null;
    return this.plan && state && state.next !== null ? this.plan.answer.drafts[state.next] : null;
  }

  // By place the pad that the plan puts under each wheel of the drawing that is shown; empty where no plan is walked.
  /** @returns {Map<string, string>} */
  placed() {
    const draft = this.next;
    if (!draft || draft.state !== this.hooks.state()) return new Map();
    const drawn = this.hooks.order();
    return new Map(drawn.flatMap((place) => (draft.placements[place] ? [[place, draft.placements[place]]] : [])));
  }

  // Its wheels, in the order in which a person walks along the rig.
  places() {
    return [...this.placed().keys()];
  }

  // Which wheels the plan has next, and the way there.
  /** @returns {{ words: string, run: () => void } | null} */
  nextInWords() {
    const { plan, state } = this;
    if (!plan || !state || state.next === null) return null;
    const draft = plan.answer.drafts[state.next];
    const wheels = Object.keys(draft.placements).map((place) => called(this.day.vehicles, place));
    const words = `Draft ${state.next + 1} of ${plan.answer.drafts.length} of the plan, ${stateWords(draft.state)}: ${wheels.join(", ")}.`;
    return { words, run: () => this.start() };
  }

  // The pads go where the plan has them, and the first wheel waits for its figure.
  start() {
    this.walking = true;
    history.replaceState(null, "", `${location.pathname}?walk=1`);
    if (!this.go()) this.hooks.announce("Keep or clear what stands on the wheels first.");
    else this.hooks.open(this.places()[0]);
    this.show();
  }

  // How the planned draft has the other wheels stand goes with the draft that is kept.
  /** @type {(body: Page.DraftBody) => Pick<Page.DraftBody, "unsupported" | "blocks">} */
  supports(body) {
    const state = this.state;
    if (!this.plan || !state || state.next === null || body.unsupported) return {};
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
      /** @type {Page.Answer<Page.KeptPlan>} */
      const { data } = await call("GET", this.day.links.plan);
      this.plan = data;
    } catch {
      return;
    }
    this.last = undefined;
    this.show();
    if (this.walking) this.go();
  }

  show() {
    const { plan, state } = this;
    this.box.hidden = !plan || !state || !this.started;
    if (!plan || !state || !this.started) return;
    const { drafts, steps } = plan.answer;
    const mark = JSON.stringify([plan.version, state.next, state.done.length, state.others.length, this.walking]);
    if (mark === this.last) return;
    const moved = this.last !== undefined && state.next !== this.at;
    this.last = mark;
    this.at = state.next;
    const { next } = state;
    const over = next === null;
    const head = make(
      "summary",
      over ? `Plan: all ${drafts.length} drafts taken` : `Plan: draft ${next + 1} of ${drafts.length}`,
    );
    /** @type {Node[]} */
    const parts = [head];
    const acts = make("div", "", "row");
    if (!over && this.day.mayWeigh) {
      acts.append(
        make("button", this.walking ? "Read its first wheel" : "Walk it", {
          type: "button",
          className: "main",
          onclick: () => this.start(),
        }),
      );
    }
    acts.append(
      make("a", over ? "Expected and reached" : "The whole plan", {
        className: "button",
        href: this.day.links.planned,
      }),
    );
    if (state.others.length)
      acts.append(make("a", "Plan the rest", { className: "button", href: `${this.day.links.planned}#rest` }));
    parts.push(acts);
    if (next === null) parts.push(make("p", "What it expected and what was reached stands with the plan."));
    else {
      parts.push(make("p", safety, "soft"));
      const list = make("ol", "", "todo");
      for (const step of steps.filter((one) => one.draft === next + 1))
        list.append(make("li", sentence(inWords(this.day.vehicles, step.text)), { dir: "auto" }));
      parts.push(list);
      if (drafts[next].unsupported === "ground" && this.walking)
        parts.push(make("p", "Wheels without a pad or a block stand on the ground: the draft is kept so.", "soft"));
    }
    if (state.others.length)
      parts.push(
        make(
          "p",
          `${state.others.length === 1 ? "One draft was" : `${state.others.length} drafts were`} taken that the plan did not have. They count: plan the rest.`,
          "note",
        ),
      );
    this.box.replaceChildren(...parts);
    if (moved && this.walking) {
      this.go();
      this.hooks.announce(
        over
          ? "That was the last planned draft."
          : `Next is draft ${next + 1} of the plan, in ${stateWords(drafts[next].state)}.`,
      );
    }
  }
}

/** @type {(words: string) => string} */
const sentence = (words) => `${words[0].toUpperCase()}${words.slice(1)}.`;
