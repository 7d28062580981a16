// What is typed and not kept yet, on this device at once: a reload, another page or a flat battery takes no figure away.

export const OLD = 15 * 60e3; // ms after which it is asked whether the figures still hold

/** @template {{ read: unknown[] }} T */
export class Slate {
  /** @param {string} name */
  constructor(name) {
    this.name = name;
    // null until the page has taken back what was there: before that nothing is written over it
    /** @type {string | null} */
    this.written = null;
    this.full = false; // whether this device has no room: only the page itself has what is typed then
  }

  // What was left, with its `when`; null where nothing was.
  /** @type {() => Page.Left<T> | null} */
  read() {
    try {
      const left = JSON.parse(localStorage.getItem(this.name) ?? "null");
      return left && typeof left === "object" && Array.isArray(left.read) ? left : null;
    } catch {
      return null;
    }
  }

  begin() {
    this.written = "";
  }

  // `data` as it stands now; null where nothing is typed.
  /** @type {(data: T | null) => void} */
  write(data) {
    if (this.written === null) return;
    const text = data === null ? "" : JSON.stringify(data);
    if (text === this.written) return;
    this.written = text;
    try {
      if (data === null) localStorage.removeItem(this.name);
      else localStorage.setItem(this.name, JSON.stringify({ ...data, when: Date.now() }));
      this.full = false;
    } catch {
      this.full = true;
      this.written = "not written"; // tried again with the next key
    }
  }
}

/** @type {(when: number) => string} */
export const ago = (when) => `${span(Date.now() - when)} ago`;

// How long that is, in minutes, hours or days [ms].
/** @type {(time: number) => string} */
export function span(time) {
  const minutes = Math.round(time / 60e3);
  if (minutes < 60) return `${minutes} minute${minutes === 1 ? "" : "s"}`;
  const hours = Math.round(minutes / 60);
  return hours < 48 ? `${hours} hour${hours === 1 ? "" : "s"}` : `${Math.round(hours / 24)} days`;
}
