// Friday's twelve events (config/larkfold/events.json) over the network: the real napped, the demo's people through the
// terminals' connection layer and a cable that is pulled out at 20:19, the server killed at 20:40, the power gone from
// 21:20 to 21:26. And a station in a real terminal whose cable is out for four minutes of the kitchen.
import assert from "node:assert/strict";
import { execFileSync, spawn, spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { Live } from "../protocol/lib/live.mjs";
import { Cable } from "./lib/cable.mjs";
import { fold, whole } from "./lib/fold.mjs";
import { larkfold, program, serving, sleep, until } from "../protocol/lib/napped.mjs";

const nappe = process.env.NAPPE;
const speed = Number(process.env.SPEED ?? 100);

async function all_events(napped) {
  const events = [];
  for (;;) {
    const page = await napped.json(`/events?limit=1000&after=${events.length}`);
    events.push(...page);
    if (page.length < 1000) return events;
  }
}

/** The components of a dish, and the last step of a component. */
async function kitchen_of(napped) {
  const kitchen = await napped.json("/kitchen");
  const dishes = new Map(kitchen.dishes.map((dish) => [dish.id, dish.parts.map((part) => part.component ?? part)]));
  const last = new Map(kitchen.components.map((component) => [component.id, component.steps.at(-1).id]));
  return { parts: (dish) => dishes.get(dish), last: (component) => last.get(component) };
}

/** Milliseconds since midnight at the kitchen. */
const time = (text) => text.split(":").reduce((sum, part, n) => sum + Number(part) * [3600000, 60000, 1000][n], 0);
const day_ms = 86400000;

test("rows 57, 59: the twelve events over the network: no orphan move, no plate without a component, nothing lost", { timeout: 400000, skip: !nappe }, async (t) => {
  const napped = await serving(t, { kitchen: larkfold, open: null, args: ["--demo"] });
  const cable = await new Cable(() => napped.port).listen();
  t.after(() => cable.close());
  const people = spawn(nappe, ["play", larkfold, "--speed", String(speed), "--from", "20:00", "--server", cable.address], { stdio: ["ignore", "pipe", "pipe"] });
  t.after(() => people.exitCode === null && people.kill("SIGKILL"));
  let told = "";
  for (const stream of [people.stdout, people.stderr]) stream.on("data", (data) => (told += data));
  const left = new Promise((done) => people.on("exit", done));

  let known = { at: 0, steady: 0 };
  const now = async () => {
    const { now_ms } = await napped.json("/clock");
    known = { at: now_ms % day_ms, steady: performance.now() };
    return known.at;
  };
  const reaches = (text) => until(text, async () => people.exitCode !== null || (await now()) >= time(text), 300000);

  // A hand at the pass on the same cable: four minutes of this clock are two seconds, in which the cooks may all be busy.
  const hand = new Live(`ws://${cable.address}/live`);
  await hand.opened;
  hand.socket.on("error", () => {});
  // Until the demo's people have set it the server's clock is the machine's, whatever the hour.
  await until("the demo's evening", async () => people.exitCode !== null || (await now()) < time("20:00"), 20000);
  await reaches("20:19");
  assert.equal(people.exitCode, null, told);
  const cut_at = await now();
  cable.cut();
  const pressed = { id: "out", by: "Mara", at_ms: Math.round((await napped.json("/clock")).now_ms), do: { set_left: { dish: "pear", left: 40 } } };
  hand.send({ type: "command", command: pressed });
  await reaches("20:23");
  const plugged_at = await now();
  cable.plug();

  await reaches("20:40");
  const before_kill = await napped.json("/record");
  await napped.kill("SIGKILL");
  await napped.start();
  assert.ok((await napped.json("/record")).events >= before_kill.events, "everything that was shown is there");

  await reaches("21:20");
  await napped.kill("SIGKILL");
  await sleep((6 * 60000) / speed);
  const began = performance.now();
  await napped.start();
  assert.ok(performance.now() - began < 10000, "row 57: back within ten seconds");

  assert.equal(await left, 0, told);
  assert.match(told, /the link is down/);
  assert.ok(!told.includes("nothing could be ordered"), told);

  const events = await all_events(napped);
  const { parts, last } = await kitchen_of(napped);
  const night = fold(events, last);
  whole(night, parts);
  // Everybody who came has eaten: fifteen parties, and no plate of theirs is still in the kitchen.
  assert.equal(night.tickets.size, 15);
  const kept = [...night.wanted.keys()].filter((plate) => !night.tickets.get(Number(plate.split(" ")[0])).cancelled);
  assert.deepEqual(kept.filter((plate) => !night.gone.has(plate)), []);
  // No hand list asks for anything any more.
  const { screens } = await napped.json("/screens");
  for (const name of Object.keys(screens).filter((screen) => screen.startsWith("station:"))) {
    const { document } = await napped.json(`/screens/${name}`);
    assert.deepEqual([name, Object.keys(document.list), Object.keys(document.heat)], [name, [], []]);
  }

  // What happened is what the sheet says.
  const named = (name) => events.filter((event) => event.name === name).map((event) => event.body);
  const ticket_at = (table) => [...night.tickets].filter(([, ticket]) => ticket.table === table).map(([id]) => id);
  assert.equal(ticket_at("4").length, 0, "table 4 cancelled");
  assert.ok(named("left_set").some((b) => b.dish === "pollack" && b.left === 5), "five pollack are left");
  assert.ok(named("allergy_told").some((b) => ticket_at("8").includes(b.ticket) && b.position === 4 && b.allergies.includes("gluten")));
  assert.ok(named("plate_blocked").some((b) => ticket_at("8").includes(b.plate.ticket) && b.plate.position === 4));
  assert.ok(named("refire_ordered").some((b) => ticket_at("5").includes(b.plate.ticket) && b.plate.position === 2));
  const six = events.find((e) => e.name === "ticket_sent" && e.body.order.table === "6");
  assert.ok(six.at_ms % day_ms >= time("20:10"), "table 6 came 25 minutes late");
  const tom = named("hands_set").filter((b) => b.person === "tom").map((b) => b.present);
  assert.deepEqual(tom, [false, true]);

  // Presses made while the cable was out came afterwards, dated when they were made, each once.
  const sql = `SELECT c.id, c.at_ms, e.at_ms FROM commands c JOIN events e ON e.seq = c.seq_first
    WHERE c.at_ms % ${day_ms} BETWEEN ${cut_at} AND ${plugged_at} AND e.at_ms % ${day_ms} >= ${plugged_at}`;
  const late = execFileSync("sqlite3", [napped.journal, sql], { encoding: "utf8" }).trim().split("\n").filter(Boolean);
  assert.ok(late.length > 0, "some press waited for the cable");
  t.diagnostic(`${events.length} events, ${late.length} presses waited for the cable; ${told.trim().split("\n").at(-1)}`);
  await napped.kill("SIGTERM");
  const verified = spawnSync(program, ["--verify", napped.journal], { encoding: "utf8" });
  assert.equal(verified.status, 0, verified.stderr);
});

test("row 56: a station's cable is out for four minutes: it shows its list, takes nineteen presses, none lost or doubled", { timeout: 120000, skip: !nappe }, async (t) => {
  const napped = await serving(t, { kitchen: larkfold, station: "garnish", args: ["--demo"] });
  const tables = ["5: 1e 2e 3e 4e", "7: 1e 2e 3k 4k", "8: 1k 2k 3e 4e", "11: 1k 2k 3k 4k", "12: 1e 2k 3e 4k"];
  for (const line of tables) {
    const { ticket } = await (await napped.ticket(line)).json();
    assert.equal((await napped.command({ fire: { ticket, course: "starters" } })).status, 200);
  }
  await napped.post("/demo/clock", { rate: 8 });
  const cable = await new Cable(() => napped.port).listen();
  t.after(() => cable.close());
  const socket = `nappe-cable-${process.pid}`;
  const tmux = (...words) => execFileSync("tmux", ["-L", socket, "-f", "/dev/null", ...words], { encoding: "utf8" });
  t.after(() => spawnSync("tmux", ["-L", socket, "kill-server"]));
  tmux("new-session", "-d", "-x", "80", "-y", "24", `env LC_ALL=C.UTF-8 XDG_STATE_HOME='${join(napped.folder, "state")}' '${nappe}' station garnish --server ${cable.address}; sleep 1000`);
  const sees = (what) => until(String(what), () => what.test(tmux("capture-pane", "-p")), 15000);
  await sees(/emmer, pan/);
  const pressed = async () => (await all_events(napped)).filter((event) => event.name === "pressed");
  const before = (await pressed()).length;

  cable.cut();
  const since = await napped.json("/clock");
  // Two keys in turn, so that none takes the one before it back; some are refused later, because another is not done.
  let presses = 0;
  const kept = () => {
    const file = join(napped.folder, "state", "nappe");
    return execFileSync("sh", ["-c", `cat ${file}/*.presses 2>/dev/null || true`], { encoding: "utf8" }).trim().split("\n").filter(Boolean).map((line) => JSON.parse(line));
  };
  for (; presses < 19; ++presses) {
    const had = presses;
    tmux("send-keys", presses % 2 === 0 ? "Space" : "Enter");
    await until("the press in the file", () => kept().length > had, 5000);
    await sleep(900);
  }
  assert.equal(kept().length, 19, "all nineteen are kept on the disk");
  await sees(/19/);
  await until("four minutes", async () => (await napped.json("/clock")).now_ms - since.now_ms >= 240000, 60000);
  const out = kept();
  assert.equal((await pressed()).length, before, "nothing came through");
  const shown = tmux("capture-pane", "-p");
  assert.match(shown, /GARNISH/, shown);

  cable.plug();
  await until("all answered", () => kept().length === 0, 30000);
  // Each was decided once: its command is in the journal, and what it did is there once.
  const ids = out.map((press) => press.id);
  const rows = JSON.parse(execFileSync("sqlite3", ["-json", napped.journal, `SELECT id, at_ms, seq_first FROM commands WHERE id IN (${ids.map((id) => `'${id}'`).join(",")})`], { encoding: "utf8" }));
  assert.equal(rows.length, 19);
  const events = await all_events(napped);
  const by_command = events.filter((event) => event.name === "pressed" && ids.includes(event.command_id)).map((event) => event.command_id);
  assert.equal(new Set(by_command).size, by_command.length, "no press was done twice");
  assert.equal(by_command.length, rows.filter((row) => row.seq_first !== null).length);
  assert.ok(by_command.length >= 5, `${by_command.length} of the nineteen fitted`);
  for (const row of rows) assert.equal(row.at_ms, out.find((press) => press.id === row.id).at_ms, "dated when it was made");
  fold(events);
  t.diagnostic(`${by_command.length} of 19 did something, ${19 - by_command.length} no longer fitted`);
  assert.ok(readFileSync(napped.journal).length > 0);
});
