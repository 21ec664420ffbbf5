// Encrypted, with a certificate made as README says, asked by Node's own TLS.
import assert from "node:assert/strict";
import { execFileSync, spawn, spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { Agent, request } from "node:https";
import { connect as connectPlain } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { connect } from "node:tls";
import { Live } from "./lib/live.mjs";
import { Napped, program, stopwatch, until } from "./lib/napped.mjs";

const client = process.env.NAPPE;
let napped;
let folder;
let ca;

function certificate(name, days = "2") {
  execFileSync("openssl", ["req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", days,
    "-subj", "/CN=kitchen.local", "-addext", "subjectAltName=DNS:kitchen.local,DNS:localhost,IP:127.0.0.1",
    "-keyout", join(folder, `${name}.key`), "-out", join(folder, `${name}.pem`)], { stdio: "ignore" });
}

/** A server that encrypts; its start looks at the port file only, because its pages want TLS. */
class Encrypted extends Napped {
  async start() {
    this.options.open = null;
    await super.start();
    this.base = this.base.replace("http:", "https:");
    return this;
  }
}

function ask(method, path, { token, body, server = napped } = {}) {
  return new Promise((done, failed) => {
    const asked = request(server.base + path, { method, ca, agent: new Agent(), headers: { ...(token && { Authorization: `Bearer ${token}` }), ...(body && { "Content-Type": "application/json" }) } }, (response) => {
      let text = "";
      response.on("data", (data) => (text += data));
      response.on("end", () => done({ status: response.statusCode, headers: response.headers, text, body: /json/.test(response.headers["content-type"]) ? JSON.parse(text) : null }));
    });
    asked.on("error", failed);
    asked.end(body && JSON.stringify(body));
  });
}

before(async () => {
  folder = mkdtempSync(join(tmpdir(), "napped-tls-"));
  certificate("kitchen");
  ca = readFileSync(join(folder, "kitchen.pem"));
  napped = await new Encrypted({ args: ["--pairing", "--tls-cert", join(folder, "kitchen.pem"), "--tls-key", join(folder, "kitchen.key")] }).start();
  assert.equal((await ask("POST", "/commands", { token: napped.token, body: { id: "open", by: "t", at_ms: Date.now(), do: { open_service: { name: "T", document: "" } } } })).status, 200);
});
after(async () => {
  await napped.remove();
  rmSync(folder, { recursive: true, force: true });
});

test("the page, its headers and a device's socket, encrypted", async () => {
  assert.equal((await ask("GET", "/healthz")).body.status, "ok");
  assert.equal((await ask("GET", "/screens")).status, 401);
  const asked = (await ask("POST", "/pair")).body;
  assert.equal((await ask("POST", "/devices", { token: napped.token, body: { word: asked.word, role: "pass" } })).status, 201);
  const fetched = await ask("GET", "/pair", { token: asked.secret });
  assert.match(fetched.headers["set-cookie"][0], /HttpOnly; SameSite=Strict; Secure$/);
  const options = { ca, headers: { Authorization: `Bearer ${fetched.body.token}`, Origin: napped.base } };
  const live = new Live(napped.base.replace("https", "wss") + "/live", options);
  await live.opened;
  await live.subscribe("pass");
  const told = await live.command({ set_left: { dish: "egg", left: 3 } });
  assert.equal(told.type, "done");
  // Many frames, and one larger than a TLS record.
  for (let n = 0; n < 50; ++n) live.send({ type: "clock", t1: n });
  await live.next((m) => m.type === "clock" && m.t1 === 49);
  live.send({ type: "subscribe", screen: "x".repeat(60000) });
  assert.match((await live.next((m) => m.type === "error")).problem.detail, /at most/);
  await live.close();
});

test("an http origin is another origin", async () => {
  const live = new Live(napped.base.replace("https", "wss") + "/live", { ca, headers: { Origin: napped.base.replace("https", "http"), Authorization: `Bearer ${napped.token}` } });
  await assert.rejects(live.opened, /403/);
});

test("a client that speaks no TLS, or stops in the middle of it, gets nothing and holds nothing up", async () => {
  const plain = connectPlain(napped.port, "127.0.0.1");
  let heard = "";
  plain.on("data", (data) => (heard += data.toString("latin1")));
  plain.on("error", () => {});
  plain.write("GET /healthz HTTP/1.1\r\nHost: x\r\n\r\n");
  await new Promise((done) => plain.on("close", done));
  assert.ok(!heard.includes("HTTP/1.1"));
  const idle = Array.from({ length: 20 }, () => connectPlain(napped.port, "127.0.0.1"));
  idle.forEach((socket) => socket.on("error", () => {}));
  assert.equal((await ask("GET", "/healthz")).status, 200);
  idle.forEach((socket) => socket.destroy());
});

test("TLS 1.1 is not spoken; 1.2 and 1.3 are", async () => {
  const speak = (version) => new Promise((done) => {
    const socket = connect({ port: napped.port, host: "127.0.0.1", ca, minVersion: version, maxVersion: version, ciphers: "DEFAULT@SECLEVEL=0" }, () => {
      done(socket.getProtocol());
      socket.destroy();
    });
    socket.on("error", () => done(null));
  });
  assert.equal(await speak("TLSv1.1"), null);
  assert.equal(await speak("TLSv1.2"), "TLSv1.2");
  assert.equal(await speak("TLSv1.3"), "TLSv1.3");
});

test("beyond this machine: not without TLS or a word of one's own, and never without pairing", async () => {
  const run = (...args) => spawnSync(program, [stopwatch, "--journal", join(folder, "j.db"), ...args], { encoding: "utf8", timeout: 10000 });
  const refused = run("--listen", "0.0.0.0:0");
  assert.equal(refused.status, 1);
  assert.match(refused.stderr, /--tls-cert and --tls-key, or say --open-to-network/);
  assert.match(run("--tls-cert", join(folder, "kitchen.pem")).stderr, /go together/);
  assert.match(run("--tls-cert", join(folder, "none.pem"), "--tls-key", join(folder, "kitchen.key")).stderr, /none\.pem: no certificate/);
  certificate("other");
  assert.match(run("--tls-cert", join(folder, "kitchen.pem"), "--tls-key", join(folder, "other.key")).stderr, /not the key of/);
  for (const args of [["--open-to-network"], ["--tls-cert", join(folder, "kitchen.pem"), "--tls-key", join(folder, "kitchen.key")]]) {
    const port_file = join(folder, "port");
    rmSync(port_file, { force: true });
    const child = spawn(program, [stopwatch, "--journal", join(folder, "n.db"), "--listen", "0.0.0.0:0", "--port-file", port_file, ...args]);
    let said = "";
    child.stdout.on("data", (data) => (said += data));
    try {
      const port = await until("the port", () => {
        try {
          return Number(readFileSync(port_file, "utf8"));
        } catch {
          return 0;
        }
      });
      const scheme = args.length > 1 ? "https" : "http";
      const me = scheme === "https" ? await ask("GET", "/me", { server: { base: `https://127.0.0.1:${port}` } }) : await fetch(`http://127.0.0.1:${port}/me`);
      assert.equal(me.status, 401, "also from this machine");
      assert.match(said, /devices must be paired; from here: nappe pair WORD as pass --token-file/);
      if (scheme === "https") assert.match(said, /certificate SHA-256 [0-9a-f]{64}/);
    } finally {
      child.kill("SIGTERM");
      await new Promise((done) => child.on("exit", done));
    }
  }
});

test("the terminal's commands over TLS: trusted by a file, or the first certificate is kept", { skip: !client }, async () => {
  const state = join(folder, "state");
  const run = (...args) => spawnSync(client, args, { encoding: "utf8", timeout: 20000, env: { ...process.env, XDG_STATE_HOME: state } });
  const server = ["--server", napped.base];
  const token_file = ["--token-file", join(napped.folder, "devices.db.console")];
  const trusted = run("devices", ...server, ...token_file, "--ca", join(folder, "kitchen.pem"));
  assert.equal(trusted.status, 0, trusted.stderr);
  certificate("other");
  const wrong = run("devices", ...server, ...token_file, "--ca", join(folder, "other.pem"));
  assert.equal(wrong.status, 1);
  assert.match(wrong.stderr, /certificate verify failed/);
  assert.equal(run("devices", ...server, ...token_file).status, 0, "met first, kept");
  assert.equal(run("devices", ...server, ...token_file).status, 0);
  const pin = join(state, "nappe", `127.0.0.1_${napped.port}_certificate.sha256`);
  writeFileSync(pin, `${"0".repeat(64)}\n`);
  const changed = run("devices", ...server, ...token_file);
  assert.equal(changed.status, 1);
  assert.match(changed.stderr, /shows another certificate than before \(SHA-256 [0-9a-f]{64}\)/);
});
