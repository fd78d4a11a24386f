// The service worker: the pocket's own page and files, kept by edition, so that it opens without a signal.
// BASE, EDITION and FILES stand above. Nothing that the farm says is kept here: no page, no answer.

const CACHE = `browseline ${BASE}/ ${EDITION}`;
const SHELL = `${BASE}/pocket`;
const FIELD = ["today", "walk", "move", "look", "shut", "open", "count", "relief"];
const PATIENCE_MS = { field: 2000, other: 30000 };

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches.open(CACHE).then((cache) => cache.addAll(FILES.map((file) => new Request(file, { cache: "reload" })))).then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  const old = (names) => names.filter((name) => name.startsWith(`browseline ${BASE}/ `) && name !== CACHE);
  event.waitUntil(caches.keys().then((names) => Promise.all(old(names).map((name) => caches.delete(name)))).then(() => self.clients.claim()));
});

async function kept(request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(request, { ignoreSearch: true })) ?? fetch(request);
}

/** Whether a page of the history is asked for: the browser sends nothing again, so nothing can be lost. */
const wentBack = (request) => request.isHistoryNavigation || request.cache === "only-if-cached" || request.cache === "force-cache";

/** A page from the server; without a signal, or without patience, the pocket. */
async function page(request, path) {
  if (request.method !== "GET" && wentBack(request)) return Response.redirect(request.url, 303);
  const control = new AbortController();
  const screen = path ? path.split("/").reverse().find((part) => FIELD.includes(part)) : "today";
  const late = setTimeout(() => control.abort(), screen ? PATIENCE_MS.field : PATIENCE_MS.other);
  try {
    return await fetch(request, { signal: request.method === "GET" ? control.signal : undefined });
  } catch {
    if (request.method !== "GET") return Response.redirect(`${SHELL}#lost`);
    return Response.redirect(`${SHELL}#${screen ?? "away"}`);
  } finally {
    clearTimeout(late);
  }
}

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== location.origin || !url.pathname.startsWith(`${BASE}/`)) return;
  if (event.request.mode === "navigate") {
    const path = url.pathname.slice(BASE.length + 1);
    event.respondWith(event.request.method === "GET" && path === "pocket" ? kept(new Request(SHELL)) : page(event.request, path));
  } else if (event.request.method === "GET" && FILES.includes(url.pathname)) {
    event.respondWith(kept(event.request));
  }
});
