// The photos that go with the next draft: of a wheel's display, or of the whole draft. They stay on this device, over a
// reload too, until the queue has them.

import { $, element, make } from "./dom.js";
import { called } from "./at-the-pads.js";
import { makeKey, stationTime } from "./api.js";
import { keepPhotos, photosLeft } from "./photo.js";
import { OLD, ago } from "./slate.js";

const MOST = 5e6; // bytes, what the station takes
const KINDS = ["image/jpeg", "image/png", "image/webp"];

/** @type {(place: string | null) => string} */
const shows = (place) => (place === null ? "the whole draft" : called(place));

export class PhotoList {
  /** @param {Page.Pads} day @param {{ announce(words: string): void, changed(): void }} hooks */
  constructor(day, hooks) {
    this.day = day;
    this.hooks = hooks;
    /** @type {Page.TakenPhoto[]} */
    this.photos = [];
    this.place = ""; // the wheel whose keypad is open
    this.whole = element("photo", HTMLInputElement);
    const wheel = element("keypad-photo", HTMLInputElement);
    this.whole.addEventListener("change", () => this.take(null, this.whole, "photo-fault"));
    wheel.addEventListener("change", () => this.take(this.place, wheel, "keypad-photo-fault"));
  }

  // The keypad of a wheel opens: how many photos its display has.
  /** @type {(place: string) => void} */
  at(place) {
    this.place = place;
    $("keypad-photo-fault").textContent = "";
    this.paint();
  }

  /** @type {(place: string | null, input: HTMLInputElement, fault: string) => void} */
  take(place, input, fault) {
    const file = input.files?.[0];
    input.value = ""; // so that the next one may be taken at once
    if (!file) return;
    $(fault).textContent = wrong(file);
    if (wrong(file)) return;
    this.photos.push({ place, blob: file, when: Date.now() });
    this.changed();
  }

  // Those of a refused draft go along with what is made of it; the queue has them until then.
  /** @type {(photos: Page.TakenPhoto[]) => void} */
  carry(photos) {
    this.photos = [...this.photos.filter((one) => !one.refused), ...photos.map((one) => ({ ...one, refused: true }))];
    this.paint();
  }

  // Those of a draft that was taken back: they wait for the next one, on this device.
  /** @type {(photos: Page.TakenPhoto[]) => void} */
  restore(photos) {
    this.photos = [...this.photos, ...photos];
    this.changed();
  }

  // What was chosen before a reload.
  async back() {
    const left = await photosLeft(this.day.day);
    if (!left.length) return;
    this.photos = [...left, ...this.photos];
    this.paint();
    const when = Math.min(...left.map((one) => one.when));
    if (Date.now() - when > OLD)
      this.hooks.announce(
        `${counted(left.length)} chosen ${ago(when)} ${left.length === 1 ? "goes" : "go"} with the next draft. See Pads, note.`,
      );
  }

  // What goes with a draft of these places. The photo of a wheel that was not read waits for one.
  /** @type {(places: string[]) => Page.TakenPhoto[]} */
  going(places) {
    return this.photos.filter(({ place }) => place === null || places.includes(place));
  }

  /** @type {(draft: string, photos: Page.TakenPhoto[]) => Page.QueuedPhoto[]} */
  items(draft, photos) {
    return photos.map(({ place, blob, when }) => {
      const key = makeKey();
      const at = stationTime(when);
      const asked = new URLSearchParams({ key, draft, at, ...(place === null ? {} : { place }) });
      const url = `${this.day.links.photographs}?${asked}`;
      return { day: this.day.day, what: "photo", key, method: "POST", url, blob, after: draft, place, when };
    });
  }

  // These are in the queue now.
  /** @type {(photos: Page.TakenPhoto[]) => void} */
  went(photos) {
    this.photos = this.photos.filter((one) => !photos.includes(one)).map((one) => ({ ...one, refused: false }));
    this.changed();
    const [left] = this.photos;
    if (left) this.hooks.announce(`The photo of ${shows(left.place)} waits here: that was not read in this draft.`);
  }

  clear() {
    this.photos = [];
    this.changed();
  }

  // A photo is shown once the device has it: what the page shows is there after a reload.
  changed() {
    keepPhotos(
      this.day.day,
      this.photos.filter((one) => !one.refused),
    ).then(() => this.paint());
    this.hooks.changed();
  }

  paint() {
    const box = $("photo-carried");
    box.hidden = !this.photos.length;
    box.replaceChildren(...this.photos.map((one) => this.line(one)));
    const here = this.photos.filter(({ place }) => place === this.place).length;
    $("keypad-photo-says").textContent = here ? counted(here) : "Photo";
  }

  /** @type {(one: Page.TakenPhoto) => HTMLElement} */
  line(one) {
    const row = make("li", "", "row");
    const from = one.refused ? "from the refused draft" : `chosen ${ago(one.when)}`;
    row.append(make("span", `Photo of ${shows(one.place)}, ${from}`, "grow"));
    const drop = make("button", "Leave it out", { type: "button" });
    drop.append(make("span", ` photo of ${shows(one.place)}`, "unseen"));
    drop.onclick = () => {
      this.photos = this.photos.filter((other) => other !== one);
      this.changed();
      this.whole.focus();
    };
    row.append(drop);
    return row;
  }
}

/** @type {(count: number) => string} */
export const counted = (count) => (count === 1 ? "1 photo" : `${count} photos`);

/** @type {(file: File) => string} */
function wrong(file) {
  if (!file.size) return "That file is empty. Take the photo again.";
  if (!KINDS.includes(file.type)) return "A photo is a JPEG, PNG or WebP file.";
  return file.size > MOST ? `That photo has ${(file.size / 1e6).toFixed(1)} MB, over 5 MB. Take a smaller one.` : "";
}
