// What is typed into the fields of a page and not used yet is back after a reload or a visit to another page. What was
// typed long ago says so beside its field, until somebody types there again.

import { isField, make } from "./dom.js";
import { OLD, Slate, ago } from "./slate.js";

/** @typedef {{ value: string | boolean, when: number }} Kept */

const TYPED = "input:not([type=file], [type=hidden], [type=range]), select, textarea";

export class Fields {
  // name: of this page and day on this device. roots: what holds the fields. before: where it is said what is back.
  /** @param {string} name @param {HTMLElement[]} roots @param {HTMLElement} before */
  constructor(name, roots, before) {
    /** @type {Slate<{ read: [string, Kept][] }>} */
    this.slate = new Slate(name);
    this.restoring = false;
    this.roots = roots;
    this.before = before;
    /** @type {HTMLElement | undefined} */
    this.note = undefined;
    this.typed = new Map(
      (this.slate.read()?.read ?? []).filter((item) => Array.isArray(item) && typeof item[0] === "string"),
    );
    this.waiting = new Set(this.typed.keys()); // fields that the page has not made yet
    this.slate.begin();
    for (const field of this.all()) if ("early" in field.dataset) this.heard(field);
    this.back();
    for (const root of this.roots) {
      for (const kind of ["input", "change"]) root.addEventListener(kind, ({ target }) => this.heard(target));
      new MutationObserver(() => this.back()).observe(root, { childList: true, subtree: true });
    }
  }

  /** @type {() => Page.Field[]} */
  all() {
    return this.roots.flatMap((root) => [...root.querySelectorAll(TYPED)].filter(isField));
  }

  /** @type {(field: EventTarget | null) => void} */
  heard(field) {
    if (this.restoring || !isField(field) || !field.matches(TYPED) || !key(field)) return;
    if (field.type === "radio")
      for (const other of this.all())
        if (other.type === "radio" && other.name === field.name) {
          this.typed.delete(key(other));
          this.waiting.delete(key(other));
        }
    this.waiting.delete(key(field));
    unmark(field);
    if (asMade(field)) this.typed.delete(key(field));
    else this.typed.set(key(field), { value: valueOf(field), when: Date.now() });
    this.write();
  }

  // What was typed, into the fields that are there by now.
  back() {
    if (!this.waiting.size) return;
    for (const name of [...this.waiting]) {
      // one field that comes back may make others anew: each is looked for when its turn comes
      const field = this.all().find((one) => key(one) === name),
        left = this.typed.get(name);
      if (!left || !field || "given" in field.dataset) continue; // what the page was opened with goes first
      this.waiting.delete(name);
      if (valueOf(field) === left.value) continue;
      if (!put(field, left.value)) {
        this.typed.delete(name);
        continue;
      }
      for (let box = field.closest("details"); box; box = box.parentElement?.closest("details") ?? null)
        box.open = true;
      if (Date.now() - left.when > OLD) mark(field, left.when);
      this.restoring = true;
      for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
      this.restoring = false;
      this.say();
    }
    this.write();
  }

  say() {
    const oldest = Math.min(...[...this.typed.values()].map((item) => item.when));
    this.note ??= Object.assign(make("div", "", "note"), { role: "status" });
    const count = this.typed.size - this.waiting.size,
      old = Date.now() - oldest > OLD;
    const words = `What was typed and not used is back: ${count} field${count === 1 ? "" : "s"}${old ? `, the oldest typed ${ago(oldest)}. Look whether it still holds` : ""}.`;
    const button = make("button", "Clear what is back", { type: "button" });
    button.onclick = () => {
      this.clear();
      this.before.focus();
    };
    const row = make("div", "", "row");
    row.append(button);
    this.note.classList.toggle("doubt", old);
    this.note.replaceChildren(make("p", words), row);
    if (!this.note.isConnected) this.before.before(this.note);
  }

  // These were used, or all where none are named: they need not come back.
  /** @type {(fields?: Page.Field[]) => void} */
  used(fields = this.all()) {
    for (const field of fields) {
      this.typed.delete(key(field));
      this.waiting.delete(key(field));
      unmark(field);
    }
    if (!this.typed.size) this.note?.remove();
    this.write();
  }

  clear() {
    const back = this.all().filter((field) => this.typed.has(key(field)));
    this.used();
    this.typed.clear();
    this.waiting.clear();
    this.note?.remove();
    this.write();
    this.restoring = true;
    for (const field of back) {
      remake(field);
      for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
    }
    this.restoring = false;
  }

  write() {
    this.slate.write(this.typed.size ? { read: [...this.typed] } : null);
  }
}

// The page that a form led to forgets what was typed into it.
/** @type {(name: string) => void} */
export function forgetFields(name) {
  const slate = new Slate(name);
  slate.begin();
  slate.written = "something";
  slate.write(null);
}

/** @type {(field: Page.Field) => field is HTMLInputElement} */
const ticks = (field) => field.type === "checkbox" || field.type === "radio";
/** @type {(field: Page.Field) => string} */
const key = (field) =>
  ticks(field) && !field.id ? field.name && `${field.name}=${field.value}` : field.id || field.name;
/** @type {(field: Page.Field) => string | boolean} */
const valueOf = (field) => (ticks(field) ? field.checked : field.value);
/** @type {(select: HTMLSelectElement) => HTMLOptionElement | undefined} */
const made = (select) => [...select.options].find((option) => option.defaultSelected) ?? select.options[0];

/** @type {(field: Page.Field) => boolean} */
function asMade(field) {
  if (ticks(field)) return field.checked === field.defaultChecked;
  return field instanceof HTMLSelectElement ? field.value === made(field)?.value : field.value === field.defaultValue;
}

/** @type {(field: Page.Field) => void} */
function remake(field) {
  if (ticks(field)) field.checked = field.defaultChecked;
  else field.value = field instanceof HTMLSelectElement ? (made(field)?.value ?? "") : field.defaultValue;
}

// Whether the field could take it: a choice may be gone.
/** @type {(field: Page.Field, value: string | boolean) => boolean} */
function put(field, value) {
  if (ticks(field)) field.checked = value === true;
  else if (
    typeof value !== "string" ||
    (field instanceof HTMLSelectElement && ![...field.options].some((option) => option.value === value))
  )
    return false;
  else field.value = value;
  return true;
}

// Beside the field, or with its hint where it has one: a field has room for one line under it.
/** @type {(field: Page.Field, when: number) => void} */
function mark(field, when) {
  unmark(field);
  const note = make("span", `typed ${ago(when)}`, "aged");
  const hint = hintOf(field);
  if (hint) hint.prepend(note, " ");
  else (ticks(field) ? (field.closest("label") ?? field) : field).after(note);
}

/** @type {(field: Page.Field) => void} */
function unmark(field) {
  const note =
    hintOf(field)?.querySelector(".aged") ??
    (ticks(field) ? (field.closest("label") ?? field) : field).nextElementSibling;
  if (!note || note.className !== "aged") return;
  if (note.nextSibling?.nodeValue === " ") note.nextSibling.remove();
  note.remove();
}

/** @type {(field: Page.Field) => Element | null | undefined} */
const hintOf = (field) => (ticks(field) ? null : field.closest(".field")?.querySelector(":scope > .hint"));
