// Live loads over server-sent events, and whether the station is there at all. The browser connects again by itself;
// a line that is merely silent is told from a station that is gone by asking it.

import { Away, Refused, call } from "./api.js";

const SILENCE = 6000; // ms without loads, where there were some, after which they are live no more
const BEAT = 2500; // ms without a word after which it is asked whether the station is there
const TICK = 1500; // ms between two looks at that
const WAIT = 2500; // ms that the answer may take

/** @type {Page.LiveKind[]} */
const KINDS = ["loads", "draft", "stance", "entry", "findings", "plan", "store"];

export class Live {
  // links: { events, history }; seq: of the last addition that the page knows.
  // hooks: loads(data), stance(data), draft(data), entry(data), findings(), store(data), missed(), silent(), gone(), back()
  /** @param {Page.Links} links @param {number} seq @param {Page.LiveHooks} hooks */
  constructor(links, seq, hooks) {
    this.links = links;
    this.seq = seq;
    this.hooks = hooks;
    this.there = true;
    this.heard = performance.now();
    this.asking = false;
    this.away = false;
    this.source = this.connect();
    this.beating = setInterval(() => this.beat(), TICK);
    document.addEventListener("visibilitychange", () => {
      if (document.hidden) return;
      if (this.source.readyState === EventSource.CLOSED) this.start();
      this.beat({ now: true });
    });
    addEventListener("offline", () => this.beat({ now: true }));
    addEventListener("online", () => this.beat({ now: true }));
    addEventListener("pagehide", () => {
      this.source.close();
      clearInterval(this.beating);
    });
    addEventListener("pageshow", (event) => {
      if (event.persisted) {
        this.start();
        this.beating = setInterval(() => this.beat(), TICK);
      }
    });
  }

  /** @type {() => void} */
  start() {
    clearTimeout(this.again);
    this.source.close();
    this.source = this.connect();
  }

  /** @type {() => EventSource} */
  connect() {
    const source = new EventSource(`${this.links.events}?after=${this.seq}`);
    source.addEventListener("open", () => this.alive());
    source.addEventListener("error", () => {
      this.hooks.silent(); // whatever was shown is not live any more
      this.beat({ now: true });
      // A refused stream is closed for good; ask again later.
      if (this.source.readyState === EventSource.CLOSED) this.again = setTimeout(() => this.start(), 3000);
    });
    for (const kind of KINDS) {
      source.addEventListener(kind, (event) => {
        this.alive();
        if (kind === "loads") this.listen();
        const data = JSON.parse(event.data);
        if (data.seq) this.knows(data.seq);
        if (kind === "store") this.answers(data.error);
        else this.hooks[kind]?.(data);
      });
    }
    return source;
  }

  /** @type {(seq: number) => void} */
  knows(seq) {
    this.seq = Math.max(this.seq, seq);
  }

  alive() {
    this.heard = performance.now();
    if (this.there) return;
    this.there = true;
    this.hooks.back();
  }

  // Whether the station has its database, said once each time that this changes; the stream says it sooner.
  /** @type {(error: string | null) => void} */
  answers(error) {
    if (this.away === (error !== null)) return;
    this.away = error !== null;
    this.hooks.store?.({ there: !this.away, error });
  }

  /** @type {() => void} */
  listen() {
    clearTimeout(this.silence);
    this.silence = setTimeout(() => this.hooks.silent(), SILENCE);
  }

  // What was added since, which is next to nothing: it tells that the station is there, and what the stream did not.
  /** @type {(given?: { now?: boolean }) => Promise<void>} */
  async beat({ now = false } = {}) {
    if (this.asking || document.hidden || (!now && this.there && performance.now() - this.heard < BEAT)) return;
    this.asking = true;
    const before = this.seq;
    try {
      /** @type {Page.Answer<Api.History>} */
      const { data } = await call("GET", `${this.links.history}?after=${before}`, { wait: WAIT });
      this.alive();
      this.answers(null);
      const last = data.entries.at(-1)?.seq ?? 0;
      if (last > this.seq) {
        this.knows(last);
        this.hooks.missed();
      }
    } catch (error) {
      if (!(error instanceof Away)) {
        this.alive();
        if (error instanceof Refused && error.code === "unreachable") this.answers(error.message);
        return;
      } // an answer, whatever it says
      if (this.there) {
        this.there = false;
        this.hooks.gone();
      }
    } finally {
      this.asking = false;
    }
  }
}
