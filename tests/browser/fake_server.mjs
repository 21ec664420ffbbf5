// A small server that speaks the protocol of tests/protocol/examples, for the page's tests: it can be cut, started again,
// made to refuse, and remembers every frame and command it was sent.

import { readFileSync, statSync } from "node:fs";
import { createServer } from "node:http";
import { extname, join, normalize } from "node:path";
import { WebSocketServer } from "ws";
import { difference } from "./difference.mjs";

const types = {
  ".html": "text/html; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".svg": "image/svg+xml",
  ".webmanifest": "application/manifest+json",
};

/** As strict as the real server's: nothing inline, nothing from elsewhere. */
export const policy =
  "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; " +
  "connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

const plain = (value) => JSON.parse(JSON.stringify(value));

export class FakeServer {
  /** `documents`: screen -> (now_ms) => document. `obey(action, now_ms)` answers a problem or nothing. */
  constructor({ root, start_ms, rate = 1, documents, obey = () => undefined, ask }) {
    Object.assign(this, { root, rate, documents, obey, ask });
    this.start_ms = start_ms;
    this.born = performance.now();
    this.epoch = "e1";
    this.screens = new Map();
    this.sockets = new Map();
    /** Every command frame as it came, repeats too; and the ids that were carried out. */
    this.frames = [];
    this.subscribed = [];
    this.commands = [];
    this.answers = new Map();
    this.accept = true;
    this.answering = true;
    this.skip_patches = 0;
  }

  now() {
    return this.start_ms + (performance.now() - this.born) * this.rate;
  }

  async listen(port = 0) {
    this.http = createServer((request, response) => this.serve(request, response));
    this.ws = new WebSocketServer({ noServer: true });
    this.http.on("upgrade", (request, socket, head) => {
      if (!this.accept || request.url !== "/live") return socket.destroy();
      this.ws.handleUpgrade(request, socket, head, (client) => this.welcome(client));
    });
    await new Promise((resolve) => this.http.listen(port, "127.0.0.1", resolve));
    this.port = this.http.address().port;
    this.timer = setInterval(() => this.publish(), 250);
    return this;
  }

  get address() {
    return `http://127.0.0.1:${this.port}/`;
  }

  /** The network is gone: every socket is cut and none comes up until restore(). */
  cut() {
    this.accept = false;
    for (const client of this.sockets.keys()) client.terminate();
  }

  restore() {
    this.accept = true;
  }

  /** Everything stops, also the page's own files. */
  async stop() {
    this.cut();
    clearInterval(this.timer);
    this.http.closeAllConnections();
    await new Promise((resolve) => this.http.close(resolve));
  }

  serve(request, response) {
    const path = new URL(request.url, "http://here").pathname;
    if (path === "/events") {
      const after = Number(new URL(request.url, "http://here").searchParams.get("after"));
      const events = (this.events ?? []).filter((event) => event.seq > after);
      response.writeHead(200, { "Content-Type": "application/json" }).end(JSON.stringify(events));
      return;
    }
    if (this.ask !== undefined && ["/card", "/draft"].includes(path)) return this.answer(request, response);
    const file = join(this.root, normalize(path === "/" ? "/index.html" : path));
    try {
      if (!file.startsWith(this.root) || !statSync(file).isFile()) throw new Error("no such file");
      response.writeHead(200, {
        "Content-Type": types[extname(file)] ?? "application/octet-stream",
        "Content-Security-Policy": policy,
        "X-Content-Type-Options": "nosniff",
        "Cache-Control": "no-cache",
      });
      response.end(readFileSync(file));
    } catch {
      response.writeHead(404).end();
    }
  }

  /** Questions beside the socket, answered by `ask(path, body, query)`: [status, document]. */
  answer(request, response) {
    let body = "";
    const url = new URL(request.url, "http://here");
    request.on("data", (data) => {
      body += data;
    });
    request.on("end", () => {
      const [status, document] = this.ask(url.pathname, body === "" ? undefined : JSON.parse(body), url.searchParams);
      response.writeHead(status, { "Content-Type": "application/json" }).end(JSON.stringify(document));
    });
  }

  welcome(client) {
    this.sockets.set(client, new Set());
    client.on("close", () => this.sockets.delete(client));
    client.on("message", (data) => this.hear(client, JSON.parse(String(data))));
  }

  say(client, message) {
    client.send(JSON.stringify(message));
  }

  hear(client, message) {
    const arrived = this.now();
    this.frames.push(message);
    switch (message.type) {
      case "hello":
        return this.say(client, { type: "welcome", version: "0.0.0", epoch: this.epoch, now_ms: Math.round(arrived), rate: this.rate });
      case "clock":
        return this.say(client, { type: "clock", t1: message.t1, t2: arrived, t3: this.now(), rate: this.rate });
      case "subscribe":
        return this.subscribe(client, message);
      case "unsubscribe":
        return this.sockets.get(client)?.delete(message.screen);
      case "command":
        return this.command(client, message.command);
      default:
        return this.say(client, { type: "error", problem: { type: "about:blank", title: "Bad frame", status: 400, code: "invalid", detail: "unknown type" } });
    }
  }

  screen(name) {
    if (!this.screens.has(name)) {
      this.screens.set(name, { number: 1, document: plain(this.documents[name](this.now())), patches: new Map() });
    }
    return this.screens.get(name);
  }

  subscribe(client, { screen, epoch, number }) {
    if (this.documents[screen] === undefined) return;
    this.subscribed.push({ screen, epoch, number });
    const held = this.screen(screen);
    this.sockets.get(client)?.add(screen);
    const missing = [];
    for (let n = (number ?? 0) + 1; n <= held.number; ++n) missing.push(held.patches.get(n));
    if (epoch === this.epoch && missing.every((patch) => patch !== undefined)) {
      missing.forEach((patch, i) => this.say(client, { type: "patch", screen, number: number + 1 + i, patch }));
      return;
    }
    this.say(client, { type: "document", screen, epoch: this.epoch, number: held.number, document: held.document });
  }

  /** Rebuilds every screen; what changed goes out as one patch. */
  publish() {
    for (const [name, held] of this.screens) {
      const document = plain(this.documents[name](this.now()));
      const patch = difference(held.document, document);
      if (patch === undefined) continue;
      held.document = document;
      held.patches.set(++held.number, patch);
      if (this.skip_patches > 0) {
        --this.skip_patches;
        continue;
      }
      for (const [client, screens] of this.sockets) {
        if (screens.has(name)) this.say(client, { type: "patch", screen: name, number: held.number, patch });
      }
    }
  }

  command(client, command) {
    if (!this.answering) return;
    if (!this.answers.has(command.id)) {
      this.commands.push(command);
      const problem = this.obey(command.do, this.now());
      this.answers.set(
        command.id,
        problem === undefined
          ? { type: "done", id: command.id, number: this.commands.length }
          : { type: "refused", id: command.id, problem: { type: "about:blank", title: "Refused", status: 409, ...problem } },
      );
    }
    this.say(client, this.answers.get(command.id));
    this.publish();
  }
}
