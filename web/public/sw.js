// Keeps the page itself, so that a reload works with the server away. Never keeps what the kitchen says: that comes over
// the socket. The build fills in its own name and the list of files.
const build = "nappe-__BUILD__";
const shell = __SHELL__;

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(build)
      .then((cache) => cache.addAll(shell))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((names) =>
        Promise.all(names.filter((name) => name.startsWith("nappe-") && name !== build).map((name) => caches.delete(name))),
      )
      .then(() => self.clients.claim()),
  );
});

/** The server's answer if it comes soon, else what was kept. */
async function soon(request) {
  const kept = () => caches.match(request, { ignoreSearch: true });
  const wait = new AbortController();
  const timer = setTimeout(() => wait.abort(), 2000);
  try {
    const answer = await fetch(request, { signal: wait.signal });
    return answer.ok ? answer : ((await kept()) ?? answer);
  } catch (failure) {
    const answer = await kept();
    if (answer) return answer;
    throw failure;
  } finally {
    clearTimeout(timer);
  }
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const here = new URL("./", self.location.href);
  const asked = new URL(request.url);
  if (request.method !== "GET" || asked.origin !== here.origin || !asked.pathname.startsWith(here.pathname)) return;
  const name = asked.pathname.slice(here.pathname.length);
  if (name !== "" && name !== "index.html" && !shell.includes(name)) return;
  // Files under assets/ are named by their content: what is kept is right.
  event.respondWith(
    name.startsWith("assets/") ? caches.match(request).then((kept) => kept ?? fetch(request)) : soon(request),
  );
});
