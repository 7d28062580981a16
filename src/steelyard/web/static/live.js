// Live loads over server-sent events. The browser connects again by itself; after silence we say so.

const SILENCE = 6000;

export class Live {
  // hooks: loads(data), draft(data), gone(words), back()
  constructor(url, hooks) {
    this.url = url;
    this.hooks = hooks;
    this.start();
    document.addEventListener("visibilitychange", () => { if (!document.hidden && this.source?.readyState === EventSource.CLOSED) this.start(); });
  }

  start() {
    this.source?.close();
    this.source = new EventSource(this.url);
    this.source.addEventListener("open", () => { this.alive(); this.hooks.back(); });
    this.source.addEventListener("error", () => {
      this.hooks.gone("No connection to the station: loads are not live.");
      // A refused stream is closed for good; ask again later.
      if (this.source.readyState === EventSource.CLOSED) setTimeout(() => this.start(), 3000);
    });
    for (const kind of ["loads", "draft", "stance", "entry"]) {
      this.source.addEventListener(kind, (event) => {
        this.alive();
        this.hooks[kind]?.(JSON.parse(event.data));
      });
    }
  }

  alive() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.hooks.silent?.(), SILENCE);
  }
}
