// Talking with the station: one error shape, and no answer in time is the same as no station.

export class Away extends Error {}

export class Refused extends Error {
  constructor(status, error) {
    const faults = (error?.faults ?? []).map((fault) => [fault.path, fault.message].filter(Boolean).join(": "));
    super(faults.length ? faults.join("; ") : error?.message ?? `the station refused (${status})`);
    this.status = status;
  }
}

// Trouble that passes: the same request may be taken later.
const PASSING = new Set([401, 403, 408, 425, 429]);
export const passes = (error) => error instanceof Away || PASSING.has(error.status) || error.status >= 500;

export async function call(method, url, { json, body, type, wait = 8000 } = {}) {
  const headers = {};
  if (json !== undefined) headers["Content-Type"] = "application/json";
  else if (type) headers["Content-Type"] = type;
  let response;
  try {
    response = await fetch(url, {
      method, headers, body: json === undefined ? body : JSON.stringify(json),
      credentials: "same-origin", cache: "no-store", signal: AbortSignal.timeout(wait),
    });
  } catch {
    throw new Away("the station does not answer");
  }
  const text = await response.text().catch(() => { throw new Away("the answer broke off"); });
  let data = null;
  try { data = text ? JSON.parse(text) : null; } catch { data = text; }
  if (!response.ok) throw new Refused(response.status, data?.error);
  return { status: response.status, data };
}

// 128 random bits; crypto.randomUUID is not there over plain http.
export function makeKey() {
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
}
