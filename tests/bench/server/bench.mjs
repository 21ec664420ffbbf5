// Measures the real napped from outside and prints one table. Usage: NAPPED=... MAKE_JOURNAL=... node bench.mjs
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { Live } from "../../protocol/lib/live.mjs";
import { larkfold, Napped, sleep, until } from "../../protocol/lib/napped.mjs";

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

await pressToPaint();
await throughput();
await restart();
const width = Math.max(...rows.map(([what]) => what.length));
for (const [what, value] of rows) console.log(what.padEnd(width + 2) + value);
process.exit(0);
