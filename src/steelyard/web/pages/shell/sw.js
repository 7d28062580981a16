// The service worker: pages from the station while it answers, else as they were last seen. The station's data under
// /api is never answered from here.

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const CACHE = "station-VERSION";
const SHELL = SHELL_FILES;
const PAGES = STATION_PAGES;
const PATIENCE = 4000; // ms after which a page that was opened before is shown as it was then
const LONGEST = 30e3; // ms that a page which was not opened before may take
const OLD = 300e3; // ms after which a page that a day is begun from is fetched anew
const UNSENT = /^(.*)-[^/]+(\/[^/]+)$/; // the address of a day that is on this device alone

worker.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(CACHE)
      .then((cache) => cache.addAll(SHELL.map((path) => new Request(path, { cache: "reload" }))))
      .then(() => worker.skipWaiting()),
  );
});

worker.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      const fresh = await caches.open(CACHE);
      for (const name of await caches.keys()) {
        if (name === CACHE) continue;
        // Pages seen with an older program stay readable; its style and scripts go along.
        const old = await caches.open(name);
        for (const request of await old.keys()) {
          const seen = await old.match(request);
          if (seen && !(await fresh.match(request))) await fresh.put(request, seen);
        }
        await caches.delete(name);
      }
      await worker.clients.claim();
    })(),
  );
});

worker.addEventListener("message", (event) => {
  if (typeof event.data?.keep !== "string") return;
  event.waitUntil(
    caches.open(CACHE).then(async (cache) => {
      await anew(cache, event.data.keep);
      for (const path of event.data.along ?? []) await anew(cache, path);
      event.source?.postMessage({ kept: event.data.keep });
      for (const path of [PAGES.home, PAGES.new]) await fresh(cache, path);
    }),
  );
});

// The pages that a day is begun from, whether this device ever opened them or not.
/** @type {(cache: Cache, path: string) => Promise<void>} */
async function fresh(cache, path) {
  const kept = await cache.match(path);
  if (kept && Date.now() - Date.parse(kept.headers.get("Date") ?? "") < OLD) return;
  await anew(cache, path);
}

/** @type {(cache: Cache, path: string) => Promise<void>} */
async function anew(cache, path) {
  const response = await fetch(path, { credentials: "same-origin" }).catch(() => null);
  // an answer that broke off is none
  if (response?.ok && !response.redirected) await cache.put(path, response).catch(() => {});
}

worker.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.mode === "navigate" && event.request.method === "POST" && url.pathname === PAGES.new)
    return event.respondWith(begun(event.request));
  if (event.request.method !== "GET" || url.origin !== location.origin || url.pathname.startsWith("/api/")) return;
  if (event.request.mode === "navigate") event.respondWith(page(event.request));
  else if (url.pathname.startsWith("/static/")) event.respondWith(part(event.request));
});

/** @type {(request: Request) => Promise<Response>} */
async function page(request) {
  const cache = await caches.open(CACHE);
  const answer = fetched(request, cache);
  const soon = await Promise.race([answer, patience()]);
  if (soon) return soon;
  const { pathname } = new URL(request.url);
  const instead = pathname.replace(UNSENT, "$1$2") === PAGES.unsent ? PAGES.unsent : PAGES.offline;
  return (
    (await cache.match(request)) ??
    (await cache.match(request, { ignoreSearch: true })) ??
    (await answer) ?? // the page was not opened before, and a station that is slow may still be there
    (await cache.match(instead)) ??
    Response.error()
  );
}

// The page from the station, kept for later; null where the station does not answer.
/** @type {(request: Request, cache: Cache) => Promise<Response | null>} */
async function fetched(request, cache) {
  try {
    const response = await fetch(request, { signal: AbortSignal.timeout(LONGEST) });
    if (response.ok && !response.redirected && response.headers.get("Content-Type")?.startsWith("text/html"))
      await cache.put(request, response.clone());
    return response;
  } catch {
    return null;
  }
}

/** @type {() => Promise<null>} */
const patience = () =>
  new Promise((resolve) => {
    setTimeout(resolve, PATIENCE, null);
  });

// The answers about a new rig, from the station's own page. The page of the day that they make is fetched with them and kept, so
// that it opens though the station goes away in between. Where the station cannot take them, they lie beside the page that keeps
// them on this device, which no other site can put there; whatever did arrive is the same day, for they have a key.
/** @type {(request: Request) => Promise<Response>} */
async function begun(request) {
  const typed = await request.clone().text(),
    cache = await caches.open(CACHE);
  const response = await Promise.race([made(request, typed, cache).catch(() => null), patience()]);
  if (response && response.status < 500) return response;
  if (!request.referrer.startsWith(`${location.origin}/`)) return response ?? Response.error();
  const name = crypto.randomUUID();
  await cache.put(`${PAGES.unsent}/${name}`, new Response(typed));
  return Response.redirect(`${PAGES.unsent}#${name}`, 303);
}

/** @type {(request: Request, body: string, cache: Cache) => Promise<Response>} */
async function made(request, body, cache) {
  const headers = { "Content-Type": request.headers.get("Content-Type") ?? "application/x-www-form-urlencoded" };
  const response = await fetch(request.url, { method: "POST", headers, body, credentials: "same-origin" });
  if (!response.ok || !response.redirected) return response;
  await cache.put(response.url, response);
  return Response.redirect(`${response.url}#first`, 303);
}

/** @type {(request: Request) => Promise<Response>} */
async function part(request) {
  const cache = await caches.open(CACHE);
  const known = await cache.match(request);
  if (known) return known;
  const response = await fetch(request);
  if (response.ok) await cache.put(request, response.clone());
  return response;
}
