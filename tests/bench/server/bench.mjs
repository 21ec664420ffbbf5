// Measures the real napped from outside and prints one table. Usage: NAPPED=... MAKE_JOURNAL=... node bench.mjs
// ONLY=press, throughput, fan or restart: one part of it; PRESSES=...: so many for each number of screens.
import { execFileSync, spawn } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { connect } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Live } from "../../protocol/lib/live.mjs";
import { larkfold, Napped, sleep, until } from "../../protocol/lib/napped.mjs";

import { Mqtt } from "./mqtt.mjs";

const { WebSocket } = createRequire(new URL("../../protocol/", import.meta.url))("ws");

const rows = [];
const row = (what, value) => rows.push([what, value]);
const share = (sorted, part) => sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * part))];
const resident = async (napped) => Number(/^process_resident_memory_bytes (\S+)/m.exec(await (await napped.fetch("/metrics")).text())[1]) / 1e6;

const orders = ["3: 1e 2m / 1h 2p / 1d 2r", "7: 1m 2m 3e 4k / 1h 2h 3p 4u / 1d 2d 3d 4r", "1: 1k 2m / 1p 2p / 1d 2r",
  "5: 1e 2m 3m 4k / 1h 2h 3p 4u / 1d 2d 3r 4r", "9: 1e 2k / 1h 2u / 1d 2d", "2: 1m 2m / 1h 2p / 1r",
  "8: 1e 2e 3e 4m 5m 6k / 1h 2h 3h 4p 5p 6u / 1d 2d 3d 4d 5r", "4: 1e 2m / 1h 2u / 1d 2r"];

/** Sends the tables' tickets; answers their numbers. */
async function sendTickets(napped) {
  const tickets = [];
  for (const line of orders) tickets.push((await (await napped.ticket(line)).json()).ticket);
  return tickets;
}

/** A press on one station until the merged patch is there on another screen. Kitchen time runs 60 times as fast, so that
 * waits and rests pass; a course is fired every few minutes of it. */
async function pressToPaint() {
  const napped = await new Napped({ kitchen: larkfold, station: "garnish", args: ["--demo"] }).start();
  const tickets = await sendTickets(napped);
  const rate = 60;
  await napped.post("/demo/clock", { rate });
  const start = await napped.json("/clock");
  const at = performance.now();
  const kitchen = () => Math.round(start.now_ms + (performance.now() - at) * rate);
  const names = Object.keys((await napped.json("/screens")).screens);
  const watchers = [];
  for (let n = 0; n < 50; ++n) {
    const live = new Live(napped.url);
    await live.opened;
    await live.subscribe(n === 0 ? "pass" : names[n % names.length]);
    watchers.push(live);
  }
  const cook = new Live(napped.url);
  await cook.opened;
  const stations = names.filter((n) => n.startsWith("station:"));
  for (const station of stations) await cook.subscribe(station);
  const pass = watchers[0];
  const times = [];
  const acks = [];
  const courses = ["starters", "mains"].flatMap((course) => tickets.map((ticket) => ({ ticket, course })));
  let fired = 0;
  for (let n = 0; times.length < 400 && n < 3000; ++n) {
    if (n % 25 === 0 && fired < courses.length) await cook.command({ fire: courses[fired++] }, { at_ms: kitchen() });
    // The next move of whichever station has one; its change shows on the pass.
    const station = stations[n % stations.length];
    const item = Object.values(cook.screens[station].document.list ?? {}).find((i) => i.state !== "coming");
    if (!item) {
      await sleep(2);
      continue;
    }
    const number = pass.screens.pass.number;
    const id = crypto.randomUUID();
    const answered = cook.later((m) => m.id === id);
    const painted = pass.later((m) => m.type === "patch" && m.screen === "pass" && m.number > number, 3000).catch(() => null);
    const began = performance.now();
    cook.send({ type: "command", command: { id, by: "Ines", at_ms: kitchen(), do: { finish_step: { pan: item.pan, step: item.step, round: item.round, sure: true } } } });
    const answer = await answered;
    if (answer.type !== "done") continue;
    acks.push(answer.arrived - began);
    const patch = await painted;
    if (patch) times.push(patch.arrived - began);
    await sleep(10);
  }
  times.sort((x, y) => x - y);
  acks.sort((x, y) => x - y);
  row("press to durable answer, p50 / p99", `${share(acks, 0.5).toFixed(1)} / ${share(acks, 0.99).toFixed(1)} ms (n=${acks.length})`);
  row("press to paint on the pass, 51 devices, p50 / p99", `${share(times, 0.5).toFixed(1)} / ${share(times, 0.99).toFixed(1)} ms (n=${times.length})`);
  const metrics = await (await napped.fetch("/metrics")).text();
  for (const part of ["plan", "screens", "commit"]) {
    const sum = Number(new RegExp(`^napped_${part}_seconds_sum (\\S+)`, "m").exec(metrics)[1]);
    const count = Number(new RegExp(`^napped_${part}_seconds_count (\\S+)`, "m").exec(metrics)[1]);
    row(`  of it ${part}, mean`, `${((1000 * sum) / count).toFixed(2)} ms`);
  }
  row(`resident, ${fired} courses fired, 51 devices`, `${(await resident(napped)).toFixed(0)} MB`);
  for (const live of [...watchers, cook]) live.socket.terminate();
  await napped.remove();
}

/** Many devices at once, each with a queue of presses: how many become durable in a second. */
async function throughput() {
  const napped = await new Napped({ kitchen: larkfold, station: "garnish" }).start();
  for (const ticket of await sendTickets(napped)) await napped.command({ fire: { ticket, course: "starters" } });
  const watch = new Live(napped.url);
  await watch.opened;
  await watch.subscribe("pass");
  const devices = [];
  for (let n = 0; n < 20; ++n) devices.push(new Live(napped.url));
  await Promise.all(devices.map((d) => d.opened));
  const each = 450;
  const began = performance.now();
  await Promise.all(devices.map(async (device, d) => {
    let left = each;
    const all = new Promise((done) => device.socket.on("message", () => --left === 0 && done()));
    for (let n = 0; n < each; ++n) {
      device.send({ type: "command", command: { id: `d${d}n${n}`, by: "Ines", at_ms: Date.now(), do: { set_left: { dish: "pear", left: n } } } });
    }
    await all;
  }));
  const seconds = (performance.now() - began) / 1000;
  row("durable commands a second, 20 devices", `${((devices.length * each) / seconds).toFixed(0)}`);
  const metrics = await (await napped.fetch("/metrics")).text();
  const commits = Number(/^napped_commit_seconds_count (\S+)/m.exec(metrics)[1]);
  row("  commands in one commit, mean", `${((devices.length * each) / commits).toFixed(0)}`);
  // One at a time: what one fsync costs.
  const one = performance.now();
  for (let n = 0; n < 200; ++n) await devices[0].command({ set_left: { dish: "pear", left: n } }).catch(() => null);
  row("durable commands a second, one after the other", `${(200 / ((performance.now() - one) / 1000)).toFixed(0)}`);
  for (const live of [...devices, watch]) live.socket.terminate();
  await napped.remove();
}

async function restart() {
  const napped = new Napped({ kitchen: larkfold, open: null });
  const made = execFileSync(process.env.MAKE_JOURNAL, [join(napped.folder, "journal.db"), "100000"]).toString();
  for (const line of made.trim().split("\n")) row("  " + line.split(": ")[0], line.split(": ")[1]);
  const times = [];
  for (let n = 0; n < 5; ++n) {
    const began = performance.now();
    await napped.start();
    times.push(performance.now() - began);
    if (n === 4) row("resident after that start", `${(await resident(napped)).toFixed(0)} MB`);
    await napped.kill("SIGKILL");
  }
  times.sort((a, b) => a - b);
  row("start on 100,000 events, until it answers, median of 5", `${share(times, 0.5).toFixed(0)} ms`);
  await napped.remove();
}

/** Resolves when every watcher has had its message; answers how long each took. */
function all_hear(watchers, began, limit_ms = 3000) {
  return new Promise((done) => {
    const took = [];
    const timer = setTimeout(() => done(took), limit_ms);
    for (const watcher of watchers) {
      watcher.hear = () => {
        watcher.hear = undefined;
        took.push(performance.now() - began());
        if (took.length === watchers.length) {
          clearTimeout(timer);
          done(took);
        }
      };
    }
  });
}

const percentiles = (all) => {
  all.sort((x, y) => x - y);
  return `${share(all, 0.5).toFixed(2)} / ${share(all, 0.99).toFixed(2)} ms`;
};

/** One press to the paint of every one of n screens; and, in the same run, the same bytes by a broker (Debian's
 * mosquitto, QoS 0 and 1) to n subscribers. The broker only hands on: it makes nothing durable and plans nothing. */
async function fanOut(n, presses) {
  const napped = await new Napped({ kitchen: larkfold, station: "garnish", args: ["--demo"] }).start();
  const tickets = await sendTickets(napped);
  for (const ticket of tickets) await napped.command({ fire: { ticket, course: "starters" } });
  const rate = 60;
  await napped.post("/demo/clock", { rate });
  const port = 18830 + (process.pid % 100);
  const folder = mkdtempSync(join(tmpdir(), "bench-mosquitto-"));
  writeFileSync(join(folder, "conf"), `listener ${port} 127.0.0.1\nallow_anonymous true\nmax_queued_messages 0\n`);
  const broker = spawn("mosquitto", ["-c", join(folder, "conf")], { stdio: "ignore" });
  try {
    const reachable = () => new Promise((done) => {
      const probe = connect(port, "127.0.0.1", () => (probe.destroy(), done(true)));
      probe.on("error", () => done(false));
    });
    await until("mosquitto", reachable);
    const screens = [];
    const subscribers = { 0: [], 1: [] };
    for (let at = 0; at < n; ++at) {
      const screen = { socket: new WebSocket(napped.url) };
      await new Promise((done) => screen.socket.on("open", done));
      screen.socket.on("message", (data) => {
        if (data.length > 16 && data.subarray(0, 40).includes("patch")) {
          screen.frame = data;
          screen.hear?.();
        }
      });
      screen.socket.send(JSON.stringify({ type: "subscribe", screen: "pass" }));
      screens.push(screen);
      for (const qos of [0, 1]) {
        const subscriber = { mqtt: new Mqtt(port, `s${qos}n${at}`) };
        await subscriber.mqtt.connected;
        await subscriber.mqtt.subscribe(`pass${qos}`, qos);
        subscriber.mqtt.onMessage = () => subscriber.hear?.();
        subscribers[qos].push(subscriber);
      }
    }
    const publisher = new Mqtt(port, "publisher");
    await publisher.connected;
    const cook = new Live(napped.url);
    await cook.opened;
    const stations = Object.keys((await napped.json("/screens")).screens).filter((name) => name.startsWith("station:"));
    for (const station of stations) await cook.subscribe(station);
    const took = { durable: [], napped: [], 0: [], 1: [] };
    const bytes = { asked: [], answered: [], patch: [] };
    let id = 0;
    for (let tries = 0; bytes.patch.length < presses && tries < 40 * presses; ++tries) {
      if (tries % (8 * stations.length) === 0) for (const ticket of tickets) await napped.command({ fire: { ticket, course: "mains" } });
      const item = Object.values(cook.screens[stations[tries % stations.length]].document.list ?? {}).find((i) => i.state !== "coming");
      if (!item) {
        await sleep(3);
        continue;
      }
      const { now_ms } = await napped.json("/clock");
      const name = crypto.randomUUID();
      const answered = cook.later((m) => m.id === name);
      const frame = JSON.stringify({ type: "command", command: { id: name, by: "Ines", at_ms: now_ms, do: { finish_step: { pan: item.pan, step: item.step, round: item.round, sure: true } } } });
      let began = 0;
      const heard = all_hear(screens, () => began, 1000);
      began = performance.now();
      cook.send(frame);
      const answer = await answered;
      if (answer.type !== "done") {
        for (const screen of screens) screen.hear = undefined;
        continue;
      }
      const painted = await heard;
      if (painted.length < n) continue; // nothing on the pass changed by this press
      took.napped.push(...painted);
      took.durable.push(answer.arrived - began);
      delete answer.arrived;
      bytes.asked.push(frame.length);
      bytes.answered.push(JSON.stringify(answer).length);
      bytes.patch.push(screens[0].frame.length);
      for (const qos of [0, 1]) {
        let sent = 0;
        const all = all_hear(subscribers[qos], () => sent);
        sent = performance.now();
        publisher.publish(`pass${qos}`, screens[0].frame, qos, (++id % 65535) + 1);
        took[qos].push(...(await all));
      }
      await sleep(15);
    }
    const mean = (all) => (all.reduce((sum, one) => sum + one, 0) / all.length).toFixed(0);
    row(`${n} screens: press to paint (durable, planned, handed on), p50 / p99`, `${percentiles(took.napped)} (n=${took.napped.length})`);
    row(`${n} screens: of it until the press is durable, p50 / p99`, percentiles(took.durable));
    row(`${n} subscribers: mosquitto, the same bytes, QoS 0, p50 / p99`, percentiles(took[0]));
    row(`${n} subscribers: mosquitto, the same bytes, QoS 1, p50 / p99`, percentiles(took[1]));
    row(`  bytes of a press: asked, answered, patch to each screen, mean`, `${mean(bytes.asked)}, ${mean(bytes.answered)}, ${mean(bytes.patch)}`);
    for (const { socket } of screens) socket.terminate();
    for (const { mqtt } of [...subscribers[0], ...subscribers[1], { mqtt: publisher }]) mqtt.close();
    cook.socket.terminate();
  } finally {
    broker.kill("SIGTERM");
    rmSync(folder, { recursive: true, force: true });
    await napped.remove();
  }
}

const only = process.env.ONLY ?? "";
if (only === "" || only === "press") await pressToPaint();
if (only === "" || only === "throughput") await throughput();
if (only === "" || only === "fan") for (const n of [10, 50, 200]) await fanOut(n, Number(process.env.PRESSES ?? 100));
if (only === "" || only === "restart") await restart();
const width = Math.max(...rows.map(([what]) => what.length));
for (const [what, value] of rows) console.log(what.padEnd(width + 2) + value);
process.exit(0);
