// Moments by the clock of the device, with the name of its zone. Without this script they stand there in UTC.

import { every } from "./dom.js";

/** @type {(date: Date) => string} */
function zoneOf(date) {
  /** @type {(locale: string) => string} */
  const named = (locale) =>
    new Intl.DateTimeFormat(locale, { timeZoneName: "short" })
      .formatToParts(date)
      .find((part) => part.type === "timeZoneName")?.value ?? "";
  // each English knows the letters of the zones where it is spoken, and says the others as an offset
  const names = ["en-GB", "en-US", "en-AU"].map(named);
  return (names.find((name) => !/^GMT./.test(name)) ?? names[0]).replace(/^GMT(?=.)/, "UTC");
}

// `2026-11-30 22:17 CET`
/** @type {(date: Date, toTheSecond?: boolean) => string} */
export function localTime(date, toTheSecond = false) {
  /** @type {(value: number, width?: number) => string} */
  const two = (value, width = 2) => String(value).padStart(width, "0");
  const day = [two(date.getFullYear(), 4), two(date.getMonth() + 1), two(date.getDate())].join("-");
  const time = [date.getHours(), date.getMinutes(), ...(toTheSecond ? [date.getSeconds()] : [])].map((part) =>
    two(part),
  );
  return `${day} ${time.join(":")} ${zoneOf(date)}`;
}

const WRITTEN = /(\d{4}-\d\d-\d\d) (\d\d:\d\d)(:\d\d)? UTC(?![+-])/g;
/** @type {(text: string) => string} */
const turned = (text) =>
  text.replace(WRITTEN, (_, day, time, seconds) =>
    localTime(new Date(`${day}T${time}${seconds ?? ":00"}Z`), !!seconds),
  );

/** @type {(root: ParentNode) => void} */
export function showLocal(root) {
  for (const one of every(root, "time[data-local]", HTMLElement)) {
    const date = new Date(one.getAttribute("datetime") ?? "");
    if (!Number.isNaN(date.getTime())) one.textContent = localTime(date, one.dataset.local === "seconds");
  }
  for (const one of every(root, "[data-moments]", HTMLElement)) one.textContent = turned(one.textContent ?? "");
}
