// Starts the real napped for one test and stops it by its process id.
import { spawn } from "node:child_process";
import { mkdtempSync, readFileSync, existsSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
export const source = join(here, "..", "..", "..");
export const program = process.env.NAPPED ?? join(source, "build", "debug", "bin", "napped");
export const stopwatch = join(here, "..", "kitchen");
export const larkfold = join(source, "config", "larkfold");

export const sleep = (ms) => new Promise((done) => setTimeout(done, ms));

/** Waits until `condition()` is truthy and answers it; throws after `ms`. */
export async function until(what, condition, ms = 10000) {
  const end = Date.now() + ms;
  for (;;) {
    const value = await condition();
    if (value) return value;
    if (Date.now() > end) throw new Error(`waited ${ms} ms for ${what}`);
    await sleep(5);
  }
}

export class Napped {
  constructor(options = {}) {
    this.folder = options.folder ?? mkdtempSync(join(tmpdir(), "napped-"));
    this.journal = join(this.folder, "journal.db");
    this.options = options;
    this.said = "";
    // Whoever ends in the middle of a test must not leave a server behind.
    this.onExit = () => this.child?.exitCode === null && this.child.kill("SIGKILL");
    process.on("exit", this.onExit);
  }

  async start() {
    const portFile = join(this.folder, "port");
    rmSync(portFile, { force: true });
    const { kitchen = stopwatch, open = "Test", args = [] } = this.options;
    const all = [kitchen, "--journal", this.journal, "--listen", "127.0.0.1:0", "--port-file", portFile];
    if (open) all.push("--open", open);
    this.killed = false;
    this.child = spawn(program, [...all, ...args], { stdio: ["ignore", "pipe", "pipe"] });
    this.child.stderr.on("data", (data) => (this.said += data));
    this.exited = new Promise((done) => this.child.on("exit", (code, signal) => done({ code, signal })));
    await until("the port file", () => {
      if (this.child.exitCode !== null) throw new Error(`napped ended with ${this.child.exitCode}: ${this.said}`);
      return existsSync(portFile);
    });
    this.port = Number(readFileSync(portFile, "utf8"));
    this.base = `http://127.0.0.1:${this.port}`;
    const console_file = join(this.folder, "devices.db.console");
    this.token = existsSync(console_file) ? readFileSync(console_file, "utf8").trim() : undefined;
    if (open) await until("the service to open", async () => (await this.json("/screens")).screens["station:" + (this.options.station ?? "stove")]);
    return this;
  }

  get url() {
    return `ws://127.0.0.1:${this.port}/live`;
  }

  fetch(path, options = {}) {
    const headers = { ...(this.token && { Authorization: `Bearer ${this.token}` }), ...options.headers };
    return fetch(this.base + path, { ...options, headers });
  }

  async json(path) {
    const response = await this.fetch(path);
    if (!response.ok) throw new Error(`GET ${path}: ${response.status} ${await response.text()}`);
    return response.json();
  }

  post(path, body, headers = {}) {
    const text = typeof body === "string" ? body : JSON.stringify(body);
    return this.fetch(path, { method: "POST", body: text, headers: { "Content-Type": "application/json", ...headers } });
  }

  ticket(line, key = crypto.randomUUID()) {
    return this.post("/tickets?sure=true", line, { "Content-Type": "text/plain", "Idempotency-Key": key });
  }

  command(action, by = "Ada", id = crypto.randomUUID()) {
    return this.post("/commands", { id, by, at_ms: Date.now(), do: action });
  }

  kill(signal = "SIGKILL") {
    this.killed = signal === "SIGKILL";
    this.child.kill(signal);
    return this.exited;
  }

  /** Ends the server and removes its folder. A server that ended by itself, or badly, fails the test. */
  async remove() {
    process.off("exit", this.onExit);
    if (this.child) {
      if (this.child.exitCode === null && this.child.signalCode === null) this.kill("SIGTERM");
      const { code, signal } = await this.exited;
      if (code !== 0 && !(this.killed && signal === "SIGKILL")) {
        throw new Error(`napped ended with ${code ?? signal}: ${this.said}`);
      }
    }
    rmSync(this.folder, { recursive: true, force: true });
  }
}

/** A started server that ends with the test, however that ends. */
export async function serving(t, options) {
  const napped = new Napped(options);
  t.after(() => napped.remove());
  return napped.start();
}
