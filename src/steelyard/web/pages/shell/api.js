// Talking with the station: one error shape, and no answer in time is the same as no station.

export class Away extends Error {}

export class Refused extends Error {
  /** @param {number} status @param {Partial<Api.Refusal>} [error] what the station says about it */
  constructor(status, error) {
    const faults = (error?.faults ?? []).map(said);
    super(faults.length ? faults.join("; ") : (error?.message ?? `the station refused (${status})`));
    this.status = status;
    this.code = error?.code ?? "";
    this.faults = error?.faults ?? [];
  }
}

// A fault as a person at the pads reads it: the wheel, what was typed, what would be right.
/** @type {(fault: Partial<Api.Fault>) => string} */
function said({ path = "", value = "", message = "" }) {
  const where = /^readings\."([^"]+)"/.exec(path)?.[1] ?? path;
  const words = value && /^(is|are|stands|carries|has|was|excludes) /.test(message) ? `${value} ${message}` : message;
  return [where, words].filter(Boolean).join(": ");
}

// Trouble that passes: the same request may be taken later.
const PASSING = new Set([401, 403, 408, 425, 429]);
/** @type {(error: unknown) => boolean} */
export const passes = (error) =>
  error instanceof Away || (error instanceof Refused && (PASSING.has(error.status) || error.status >= 500));

// What went wrong, in words.
/** @type {(error: unknown) => string} */
export const wordsOf = (error) => (error instanceof Error ? error.message : String(error));

// Why the station does not take what waits: a word for the lamp, and what to do about it.
/** @type {(error: unknown) => Page.Hindrance} */
export function hindrance(error) {
  if (error instanceof Away)
    return {
      kind: "no answer",
      short: "No station",
      words: "The station does not answer. Go on; findings come when it does.",
    };
  const { status, code } = error instanceof Refused ? error : { status: 0, code: "" };
  if (status === 401)
    return {
      kind: "not paired",
      short: "Not paired",
      words: "The station does not know this device any more. Pair it again; nothing is lost by that.",
    };
  if (status === 403 && code === "role_may_not")
    return {
      kind: "cannot",
      short: "May not keep",
      words: `The station answers but may not keep anything: ${wordsOf(error)}. Go on; what waits here stays on this device, and goes by itself once the owner has allowed it.`,
    };
  if (status === 403)
    return {
      kind: "not paired",
      short: "May not weigh",
      words: `The station says: ${wordsOf(error)}. Pair this device again to weigh.`,
    };
  if (status === 507)
    return {
      kind: "full",
      short: "Disk full",
      words:
        "The disk of the station is full. Free some space on the machine that runs it; nothing needs to be done here. Do not clear this browser's data before that.",
    };
  if (status === 503 && code === "unreachable")
    return {
      kind: "cannot",
      short: "Database away",
      words: `The station answers, but its database does not: ${wordsOf(error)}. Go on; what waits here goes by itself once the database is back.`,
    };
  if (status === 503 && code !== "busy")
    return {
      kind: "cannot",
      short: "Station cannot keep",
      words: `The station answers but cannot keep anything: ${wordsOf(error)}. Put that right on the machine that runs it; nothing needs to be done here.`,
    };
  return {
    kind: "busy",
    short: "Station busy",
    words: `The station says: ${wordsOf(error)}. It is asked again by itself.`,
  };
}

const WRONG = 90e3; // ms by which a clock is off before anybody minds; the station tells whole seconds
const KEPT = "station clock"; // by how much, from the last time that the station answered

// By how much the clock of this device is behind the station's [ms], below zero where it is ahead; 0 where it is right.
let behind = 0;
try {
  behind = Number(localStorage.getItem(KEPT)) || 0;
} catch {
  /* the next answer tells */
}

/** @type {(date: string | null) => void} */
function look(date) {
  const found = date === null ? Number.NaN : Date.parse(date) - Date.now();
  if (!Number.isFinite(found)) return;
  const before = behind;
  behind = Math.abs(found) > WRONG ? found : 0;
  if (Math.abs(behind - before) < 2000) return;
  try {
    if (behind) localStorage.setItem(KEPT, String(behind));
    else localStorage.removeItem(KEPT);
  } catch {
    /* it holds for this page */
  }
}

export const clockBehind = () => behind;

// A moment of this device by the station's clock, as it goes over the wire.
/** @type {(when: number) => string} */
export const stationTime = (when) => new Date(when + behind).toISOString().replace(/\.\d+Z$/, "Z");

/**
 * Asks the station; the caller says which answer its address gives.
 * @template T
 * @param {string} method
 * @param {string} url
 * @param {{ json?: unknown, body?: BodyInit, type?: string, wait?: number }} sent wait: ms until the station counts as away
 * @returns {Promise<Page.Answer<T>>}
 */
export async function call(method, url, { json, body, type, wait = 8000 } = {}) {
  /** @type {Record<string, string>} */
  const headers = {};
  if (json !== undefined) headers["Content-Type"] = "application/json";
  else if (type) headers["Content-Type"] = type;
  let response;
  try {
    response = await fetch(url, {
      method,
      headers,
      body: json === undefined ? body : JSON.stringify(json),
      credentials: "same-origin",
      cache: "no-store",
      signal: AbortSignal.timeout(wait),
    });
  } catch {
    throw new Away("the station does not answer");
  }
  look(response.headers.get("Date"));
  if (response.status === 401) document.dispatchEvent(new Event("notpaired"));
  const text = await response.text().catch(() => {
    throw new Away("the answer broke off");
  });
  let data = null;
  try {
    data = text ? JSON.parse(text) : null;
  } catch {
    data = text;
  }
  if (!response.ok) throw new Refused(response.status, data?.error);
  return { status: response.status, data };
}

// 128 random bits; crypto.randomUUID is not there over plain http.
export function makeKey() {
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
}
