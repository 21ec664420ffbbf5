// A device on the socket, as tests/protocol/examples/README.md asks for one. Shares no code with the server or the page.
import WebSocket from "ws";

/** MergePatch of RFC 7396, section 2. */
export function merge(target, patch) {
  if (patch === null || typeof patch !== "object" || Array.isArray(patch)) return patch;
  const out = target !== null && typeof target === "object" && !Array.isArray(target) ? { ...target } : {};
  for (const [name, value] of Object.entries(patch)) {
    if (value === null) delete out[name];
    else out[name] = merge(out[name], value);
  }
  return out;
}

export class Live {
  constructor(url, options = {}) {
    this.screens = {}; // name -> { epoch, number, document }
    this.messages = [];
    this.waiting = [];
    this.socket = new WebSocket(url, options);
    this.opened = new Promise((done, failed) => {
      this.socket.on("open", done);
      this.socket.on("error", failed);
    });
    this.opened.catch(() => {});
    this.closed = new Promise((done) => this.socket.on("close", (code, reason) => done({ code, reason: String(reason) })));
    this.socket.on("message", (data) => this.take(JSON.parse(data)));
  }

  take(message) {
    message.arrived = performance.now();
    if (message.type === "welcome") this.epoch = message.epoch;
    if (message.type === "document") {
      this.screens[message.screen] = { epoch: message.epoch, number: message.number, document: message.document };
    }
    if (message.type === "patch") {
      const screen = this.screens[message.screen];
      if (message.number !== screen.number + 1) throw new Error(`patch ${message.number} after ${screen.number}`);
      screen.document = merge(screen.document, message.patch);
      screen.number = message.number;
    }
    this.messages.push(message);
    this.waiting = this.waiting.filter(({ wanted, done }) => {
      if (!wanted(message)) return true;
      done(message);
      return false;
    });
  }

  send(message) {
    this.socket.send(typeof message === "string" ? message : JSON.stringify(message));
  }

  /** The first message, come or to come, that `wanted` says yes to. */
  next(wanted, ms = 10000) {
    const there = this.messages.find(wanted);
    if (there) return Promise.resolve(there);
    return this.later(wanted, ms);
  }

  /** The first message from now on. */
  later(wanted, ms = 10000) {
    return new Promise((done, failed) => {
      const timer = setTimeout(() => failed(new Error(`no such message in ${ms} ms; had ${JSON.stringify(this.messages.slice(-3))}`)), ms);
      this.waiting.push({ wanted, done: (message) => (clearTimeout(timer), done(message)) });
    });
  }

  async subscribe(screen, has = {}) {
    const come = this.later((m) => m.screen === screen && m.type === "document");
    this.send({ type: "subscribe", screen, ...has });
    return come;
  }

  async command(action, { by = "Ada", id = crypto.randomUUID(), at_ms = Date.now() } = {}) {
    const answer = this.later((m) => m.id === id);
    this.send({ type: "command", command: { id, by, at_ms, do: action } });
    return answer;
  }

  async close() {
    this.socket.close();
    return this.closed;
  }
}
