// A real terminal (tmux) with the real client in it, and a real server beside it. Everything is ended by its own id.
import { execFileSync, spawn } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

export const root = join(dirname(fileURLToPath(import.meta.url)), "..", "..");
// ctest names the programs; run by hand, the debug build's are taken.
const napped = process.env.NAPPED ?? join(root, "build/debug/bin/napped");
export const nappe = process.env.NAPPE ?? join(root, "build/debug/bin/nappe");
export const sleep = (ms) => new Promise((done) => setTimeout(done, ms));

/** Waits until `look` answers something true; fails with what was last seen. */
export async function until(what, look, limit_ms = 15000) {
  const end = Date.now() + limit_ms;
  let seen;
  for (;;) {
    seen = await look();
    if (seen) return seen;
    if (Date.now() > end) throw new Error(`waited ${limit_ms} ms in vain for ${what}`);
    await sleep(50);
  }
}

export class Server {
  constructor(args = []) {
    this.args = args;
    this.folder = mkdtempSync(join(tmpdir(), "nappe-terminal-"));
    this.port = 0;
  }
  async start() {
    const port_file = join(this.folder, "port");
    rmSync(port_file, { force: true });
    this.process = spawn(
      napped,
      [
        join(root, "config/larkfold"), "--demo", "--journal", join(this.folder, "night.db"),
        "--listen", `127.0.0.1:${this.port}`, "--port-file", port_file, ...this.args,
      ],
      { stdio: ["ignore", "ignore", "inherit"] },
    );
    this.exited = new Promise((done) => this.process.once("exit", done));
    await until("the server's port", () => {
      try {
        this.port = Number(readFileSync(port_file, "utf8"));
        return this.port > 0;
      } catch {
        return false;
      }
    });
    this.address = `127.0.0.1:${this.port}`;
    this.token_file = join(this.folder, "devices.db.console");
    this.token = this.args.includes("--pairing") ? readFileSync(this.token_file, "utf8").trim() : undefined;
  }
  /** As a power cut would. */
  async kill() {
    this.process.kill("SIGKILL");
    await this.exited;
  }
  async stop() {
    this.process?.kill("SIGTERM");
    await this.exited;
    rmSync(this.folder, { recursive: true, force: true });
  }
  async ask(method, path, body, headers = {}) {
    const json = typeof body === "object";
    const answer = await fetch(`http://${this.address}${path}`, {
      method,
      body: json ? JSON.stringify(body) : body,
      headers: { ...(this.token && { Authorization: `Bearer ${this.token}` }), ...(json ? { "Content-Type": "application/json" } : {}), ...headers },
    });
    const text = await answer.text();
    if (!answer.ok) throw new Error(`${method} ${path}: ${answer.status} ${text}`);
    return JSON.parse(text);
  }
  async events(name) {
    const all = await this.ask("GET", "/events?limit=1000");
    return name ? all.filter((event) => event.name === name) : all;
  }
  /** One of the small commands; answers what it printed. */
  nappe(...words) {
    const token = this.token ? ["--token-file", this.token_file] : [];
    return execFileSync(nappe, [...words, "--server", this.address, ...token], { encoding: "utf8" });
  }
  /** Opens the service at 20:00 of a fixed day, the clock at the wall's speed. */
  async open(rate = 1) {
    const day = Math.ceil(Date.now() / 86400000) * 86400000;
    await this.ask("POST", "/demo/clock", { rate, at_ms: day + 20 * 3600000 });
    this.nappe("open", "Friday");
  }
}

let made = 0;

/** One tmux server with one window. */
export class Terminal {
  constructor(server, { columns = 80, rows = 24, env = {} } = {}) {
    this.server = server;
    this.socket = `nappe-${process.pid}-${++made}`;
    this.size = [columns, rows];
    this.env = { LC_ALL: "C.UTF-8", XDG_STATE_HOME: join(server.folder, "state"), ...env };
  }
  tmux(...words) {
    return execFileSync("tmux", ["-L", this.socket, "-f", "/dev/null", ...words], { encoding: "utf8" });
  }
  /** Runs the client; what it leaves behind stays to be read. */
  run(...words) {
    const settings = Object.entries(this.env).map(([name, value]) => `${name}='${value}'`);
    const client = `'${nappe}' ${words.join(" ")}${this.server.address ? ` --server ${this.server.address}` : ""}`;
    const line = `env ${settings.join(" ")} ${client}; echo "left with $?"; sleep 1000`;
    this.tmux("new-session", "-d", "-x", String(this.size[0]), "-y", String(this.size[1]), line);
  }
  resize(columns, rows) {
    this.tmux("resize-window", "-x", String(columns), "-y", String(rows));
  }
  text() {
    return this.tmux("capture-pane", "-p");
  }
  colours() {
    return this.tmux("capture-pane", "-p", "-e");
  }
  keys(...keys) {
    this.tmux("send-keys", ...keys);
  }
  async sees(what, limit_ms) {
    let text = "";
    const fits = typeof what === "string" ? () => text.includes(what) : () => what.test(text);
    try {
      await until(what, () => ((text = this.text()), fits()), limit_ms);
    } catch (error) {
      throw new Error(`${error.message}; the screen:\n${text}`);
    }
    return text;
  }
  close() {
    if (this.closed) return;
    this.closed = true;
    try {
      this.tmux("kill-server");
    } catch {
      // It has ended by itself.
    }
  }
}
