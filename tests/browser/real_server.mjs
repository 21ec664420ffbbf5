// The real napped for the page's tests, where it is built: NAPPED names the program, NAPPE_CONFIG a kitchen's folder.
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { root } from "./browser.mjs";
import { skip, until } from "./harness.mjs";

const napped = process.env.NAPPED;
export const config = process.env.NAPPE_CONFIG;
export const why = skip || (napped && config && existsSync(napped) && existsSync(config) ? false : "napped is not built");

export class RealServer {
  constructor({ args = [], kitchen = config } = {}) {
    this.folder = mkdtempSync(join(tmpdir(), "nappe-browser-"));
    this.port = 0;
    this.args = args;
    this.kitchen = kitchen;
  }
  get journal() {
    return join(this.folder, "journal.db");
  }
  async start() {
    const port_file = join(this.folder, "port");
    rmSync(port_file, { force: true });
    const options = ["--journal", this.journal, "--listen", `127.0.0.1:${this.port}`];
    options.push("--port-file", port_file, "--open", "Friday", "--web", root, "--log-level", "warn", ...this.args);
    this.process = spawn(napped, [this.kitchen, ...options], { stdio: ["ignore", "ignore", "pipe"] });
    this.words = "";
    this.process.stderr.on("data", (data) => {
      this.words += data;
    });
    this.ended = new Promise((resolve) => this.process.on("exit", resolve));
    await until(() => {
      assert.equal(this.process.exitCode, null, this.words);
      return existsSync(port_file) && readFileSync(port_file, "utf8").trim() !== "";
    }, 20_000);
    this.port = Number(readFileSync(port_file, "utf8"));
    return this;
  }
  get address() {
    return `http://127.0.0.1:${this.port}/`;
  }
  async kill() {
    this.process.kill("SIGKILL");
    await this.ended;
  }
  async stop() {
    if (this.process.exitCode === null && this.process.signalCode === null) await this.kill();
    rmSync(this.folder, { recursive: true, force: true });
  }
  async ticket(line, key) {
    const answer = await fetch(`${this.address}tickets?by=floor`, {
      method: "POST",
      headers: { "Content-Type": "text/plain", "Idempotency-Key": key },
      body: line,
    });
    const body = await answer.json();
    assert.equal(answer.status, 201, JSON.stringify(body));
    return body.ticket;
  }
  async post(path, body) {
    return await fetch(`${this.address}${path}`, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
  }
  async command(action) {
    const { now_ms } = await this.json("clock");
    return await this.post("commands", { id: crypto.randomUUID(), by: "Mara", at_ms: Math.round(now_ms), do: action });
  }
  async json(path) {
    return await (await fetch(`${this.address}${path}`)).json();
  }
}
