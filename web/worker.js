// The script beside the pages. It keeps the files that pages are made of, and the runs' pages that were opened today, for where
// there is no signal. Whatever the server answers comes first; nothing else is kept: no feed, no list, no answer to programs.
const ours = "ventdue " + house.root + " ";
const shellName = ours + "shell " + house.version;
const pagesName = ours + "pages";
const waiting = house.root + "/waiting";
const runPage = /^\/runs\/[0-9a-f-]{36}(\/visit)?$/;
const longest = 10000; // ms to wait for an answer where the page is kept
const mostPages = 80;

self.addEventListener("install", (e) => e.waitUntil((async () => {
  const shell = await caches.open(shellName);
  await shell.addAll(house.shell.map((u) => new Request(u, { cache: "reload" })));
  await self.skipWaiting();
})()));

self.addEventListener("activate", (e) => e.waitUntil((async () => {
  for (const name of await caches.keys()) {
    if (name.startsWith(ours + "shell ") && name !== shellName) await caches.delete(name);
  }
  await self.clients.claim();
})()));

self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== self.location.origin || !url.pathname.startsWith(house.root + "/")) return;
  const path = url.pathname.slice(house.root.length);
  if (path.startsWith("/static/")) e.respondWith(file(e.request));
  else if (e.request.mode === "navigate") e.respondWith(page(e, url, path));
});

// A page asks to have others kept: those that its reader will need next.
self.addEventListener("message", (e) => e.waitUntil((async () => {
  for (const link of (e.data && e.data.keep) || []) {
    const url = new URL(link, self.location.href);
    if (url.origin !== self.location.origin || url.search || !runPage.test(url.pathname.slice(house.root.length))) continue;
    try {
      await keep(url, await fetch(url.pathname, { headers: { Accept: "text/html" }, redirect: "manual" }));
    } catch {
      return; // no signal
    }
  }
})()));

async function file(request) {
  return (await caches.match(request, { cacheName: shellName })) || fetch(request);
}

async function page(e, url, path) {
  const answer = fetch(e.request);
  // A correction begins with what is recorded: the kept page of the run does not have it.
  const kept = runPage.test(path) && !url.searchParams.has("correct") ? await keptPage(url) : null;
  try {
    const got = await (kept ? Promise.race([answer, late()]) : answer);
    if (path === "/waiting" && got.ok) e.waitUntil(put(shellName, waiting, got.clone()));
    if (runPage.test(path) && !url.search) e.waitUntil(keep(url, got.clone()));
    return got;
  } catch {
    return kept || (await nobodys()) || Response.error();
  }
}

// nobodys gives the kept page of the visits that wait, without whose it was.
async function nobodys() {
  const kept = await caches.match(waiting, { cacheName: shellName });
  if (!kept) return null;
  return new Response((await kept.text()).replace(/data-mark="[^"]*"/, 'data-mark="?"'), { headers: kept.headers });
}

const late = () => new Promise((_, no) => setTimeout(no, longest));

async function put(cache, key, answer) {
  await (await caches.open(cache)).put(key, answer);
}

// keep keeps a run's page with its time; a page that is no longer there, or no longer for its reader, goes.
async function keep(url, answer) {
  const pages = await caches.open(pagesName);
  if (!answer.ok || answer.redirected) {
    if (answer.type === "opaqueredirect" || [401, 403, 404].includes(answer.status)) await pages.delete(url.pathname);
    return;
  }
  const headers = new Headers(answer.headers);
  headers.set("Ventdue-Kept", new Date().toISOString());
  await pages.put(url.pathname, new Response(await answer.blob(), { headers }));
  const all = await pages.keys();
  for (const old of all.slice(0, Math.max(0, all.length - mostPages))) await pages.delete(old);
}

// keptPage gives a page that was kept today, marked with its time; null where there is none.
async function keptPage(url) {
  const pages = await caches.open(pagesName);
  const kept = await pages.match(url.pathname);
  if (!kept) return null;
  const at = kept.headers.get("Ventdue-Kept");
  if (new Date(at).toDateString() !== new Date().toDateString()) {
    await pages.delete(url.pathname);
    return null;
  }
  const text = (await kept.text()).replace("<body ", `<body data-asof="${at}" `);
  return new Response(text, { headers: kept.headers });
}
