// Probes over MQTT: a real mosquitto on a free port of this machine, a publisher of our own few bytes (MQTT 3.1.1).
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { connect, createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { test } from "node:test";
import { serving, sleep, until } from "./lib/napped.mjs";

const freePort = () =>
  new Promise((done) => {
    const server = createServer().listen(0, "127.0.0.1", () => {
      const { port } = server.address();
      server.close(() => done(port));
    });
  });

const reachable = (port) =>
  new Promise((done) => {
    const socket = connect(port, "127.0.0.1", () => (socket.destroy(), done(true)));
    socket.on("error", () => done(false));
  });

class Broker {
  constructor(t, port) {
    this.port = port;
    this.folder = mkdtempSync(join(tmpdir(), "broker-"));
    writeFileSync(join(this.folder, "conf"), `listener ${port} 127.0.0.1\nallow_anonymous true\n`);
    t.after(() => {
      this.stop();
      rmSync(this.folder, { recursive: true, force: true });
    });
  }
  async start() {
    this.process = spawn("mosquitto", ["-c", join(this.folder, "conf")], { stdio: "ignore", env: { ...process.env, PATH: `${process.env.PATH}:/usr/sbin` } });
    for (let n = 0; n < 100 && !(await reachable(this.port)); ++n) await sleep(50);
    return this;
  }
  stop() {
    this.process?.kill();
  }
}

const utf8 = (text) => {
  const bytes = Buffer.from(text);
  return Buffer.concat([Buffer.from([bytes.length >> 8, bytes.length & 255]), bytes]);
};
const packet = (first, body) => Buffer.concat([Buffer.from(body.length < 128 ? [first, body.length] : [first, (body.length & 127) | 128, body.length >> 7]), body]);

/** CONNECT, PUBLISH with quality 0, DISCONNECT. */
const publish = (port, topic, message) =>
  new Promise((done, failed) => {
    const socket = connect(port, "127.0.0.1");
    socket.on("error", failed);
    socket.on("connect", () => socket.write(packet(0x10, Buffer.concat([utf8("MQTT"), Buffer.from([4, 2, 0, 30]), utf8(`test-${Math.random()}`)]))));
    socket.on("data", () => {
      const text = typeof message === "string" ? message : JSON.stringify(message);
      socket.write(packet(0x30, Buffer.concat([utf8(topic), Buffer.from(text)])));
      socket.end(Buffer.from([0xe0, 0]));
    });
    socket.on("close", done);
  });

const readings = async (napped) => (await napped.json("/events?limit=1000")).filter((event) => event.name === "reading_taken");

test("readings come from the broker with name, probe, place and time; what is wrong is left out; the broker may go and come", async (t) => {
  const port = await freePort();
  const broker = await new Broker(t, port).start();
  const napped = await serving(t, { args: ["--mqtt", `127.0.0.1:${port}`] });
  // Subscribed when a message arrives: it may take a moment.
  const first = await until("the first reading", async () => {
    await publish(port, "nappe/probes/walk-in-left", { place: "walk-in", celsius: 4.25 });
    await sleep(100);
    return (await readings(napped))[0];
  });
  assert.equal(first.body.place, "walk-in");
  assert.equal(first.body.probe, "walk-in-left");
  assert.equal(first.body.celsius, 4.25);
  assert.equal(first.body.by, "probe walk-in-left");
  assert.equal(first.body.entered_later, false);

  const before = (await readings(napped)).length;
  for (const wrong of ["nonsense", "[1]", { celsius: 4 }, { place: "walk-in", celsius: "cold" }, { place: "walk-in", celsius: 4000 }])
    await publish(port, "nappe/probes/blue", wrong);
  const taken = Date.now() - 3600e3;
  for (let n = 0; n < 2; ++n) await publish(port, "nappe/probes/blue", { place: "walk-in", celsius: 5, taken_ms: taken });
  const late = await until("the late one", async () => (await readings(napped)).find((one) => one.body.probe === "blue"));
  await sleep(200);
  assert.equal((await readings(napped)).length, before + 1, "delivered twice, taken once; nothing of what was wrong");
  assert.equal(late.body.taken_ms, taken);
  assert.equal(late.body.entered_later, true);

  broker.stop();
  await sleep(300);
  await broker.start();
  await until("a reading after the broker came back", async () => {
    await publish(port, "nappe/probes/red", { place: "larder fridge", celsius: 3 });
    await sleep(200);
    return (await readings(napped)).find((one) => one.body.probe === "red");
  });
});
