// The shell around the page: the real socket, clock, storage, screen lock and service worker.

import "./style.css";
import { render } from "preact";
import type { Socket, World } from "./connection.ts";
import { broughtSecret, type Door, redeem } from "./pairing.ts";
import { Store } from "./store.ts";
import { App } from "./view/app.tsx";
import { DevicesPage, PairPage } from "./view/pair.tsx";

const root = document.getElementById("app");

function socketAddress(): string {
  const address = new URL("live", document.baseURI);
  address.protocol = address.protocol === "https:" ? "wss:" : "ws:";
  address.search = address.hash = "";
  return address.href;
}

const door: Door = {
  fetch: (path, init) => fetch(new URL(path, document.baseURI), { cache: "no-store", ...init }),
  after: (ms, what) => window.setTimeout(what, ms),
  cancel: (timer) => window.clearTimeout(timer),
};

let asking = false;

/** Opened from a QR code: this device is let in by it, and goes to what it is. */
async function comeIn(secret: string): Promise<void> {
  asking = true;
  const found = await redeem(door, secret);
  if ("to" in found) {
    location.replace(found.to);
    location.reload();
    return;
  }
  if (root !== null) render(<PairPage door={door} before={found.trouble} onPaired={() => location.reload()} />, root);
}

/** A socket that was never let in, or whose pairing was ended: is this device known? */
async function askIfKnown(): Promise<void> {
  if (asking || root === null) return;
  asking = true;
  const me = await door.fetch("me").catch(() => undefined);
  if (me?.status === 401) render(<PairPage door={door} onPaired={() => location.reload()} />, root);
  else asking = false;
}

function openSocket(): WebSocket {
  const socket = new WebSocket(socketAddress());
  let heard = false;
  socket.addEventListener("message", () => {
    heard = true;
  });
  socket.addEventListener("close", (event) => {
    if (!heard || event.code === 1008) void askIfKnown();
  });
  return socket;
}

const world: World = {
  open: () => openSocket() as unknown as Socket,
  steady: () => performance.timeOrigin + performance.now(),
  random: Math.random,
  after: (ms, what) => window.setTimeout(what, ms),
  cancel: (timer) => window.clearTimeout(timer),
};

/** Storage that forgets, where the browser allows none. */
function storage(): Storage {
  try {
    localStorage.setItem("nappe.try", "1");
    localStorage.removeItem("nappe.try");
    return localStorage;
  } catch {
    const map = new Map<string, string>();
    return {
      get length() {
        return map.size;
      },
      key: (index) => [...map.keys()][index] ?? null,
      getItem: (key) => map.get(key) ?? null,
      setItem: (key, value) => void map.set(key, value),
      removeItem: (key) => void map.delete(key),
      clear: () => map.clear(),
    };
  }
}

/** The screen stays awake while it is looked at, where the browser allows it. */
async function stayAwake(): Promise<void> {
  if (document.visibilityState !== "visible" || !("wakeLock" in navigator)) return;
  try {
    await navigator.wakeLock.request("screen");
  } catch {
    // Battery low, or not allowed: the device's own setting decides.
  }
}

const store = new Store(world, storage(), (bytes) => crypto.getRandomValues(bytes));
const brought = broughtSecret(location.hash);
if (brought === undefined) store.connection.start();
else void comeIn(brought);

/** The list of devices has an address of its own: it is no part of the service. */
function show(): void {
  if (root === null || asking) return;
  if (location.hash === "#/devices") {
    const stations = Object.entries(store.pass?.stations ?? {}).sort(([, a], [, b]) => a.order - b.order);
    render(<DevicesPage door={door} stations={stations.map(([id]) => id)} />, root);
  } else {
    render(<App store={store} />, root);
  }
}
show();
window.addEventListener("hashchange", show);

window.addEventListener("online", () => store.connection.hurry());
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState !== "visible") return;
  store.connection.hurry();
  void stayAwake();
});
void stayAwake();

// Where the house serves the page without encryption the browser has no service worker; then a reload needs the server.
if ("serviceWorker" in navigator) {
  window.addEventListener("load", () => {
    navigator.serviceWorker.register("sw.js").catch(() => undefined);
  });
}
