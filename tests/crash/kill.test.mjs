// kill -9 in the middle of a burst, again and again on one journal: every acknowledged command is there, none is there
// twice, and what comes back is the fold of what was written.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { copyFileSync, existsSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { Live } from "../protocol/lib/live.mjs";
import { program, serving, sleep, until } from "../protocol/lib/napped.mjs";

const rounds = Number(process.env.ROUNDS ?? 50);

/** SplitMix64's little brother (mulberry32): the same kills from the same seed. */
function random(seed) {
  return () => {
    seed = (seed + 0x6d2b79f5) | 0;
    let t = Math.imul(seed ^ (seed >>> 15), 1 | seed);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

function verify(journal) {
  const ran = spawnSync(program, ["--verify", journal], { encoding: "utf8" });
  assert.equal(ran.status, 0, ran.stderr);
  return { events: Number(/events=(\d+)/.exec(ran.stdout)[1]), fingerprint: /fingerprint=(\S+)/.exec(ran.stdout)[1] };
}

/** The journal as it is on the disk now, folded by a process of its own. */
async function folded(napped) {
  const copy = join(napped.folder, "copy.db");
  for (;;) {
    const before = await napped.json("/record");
    for (const part of ["", "-wal"]) {
      if (existsSync(napped.journal + part)) copyFileSync(napped.journal + part, copy + part);
    }
    const after = await napped.json("/record");
    if (after.events === before.events) return { record: after, copy: verify(copy) };
  }
}

async function allEvents(napped, from = 0) {
  const events = [];
  for (;;) {
    const page = await napped.json(`/events?limit=1000&after=${from + events.length}`);
    events.push(...page);
    if (page.length < 1000) return events;
  }
}

/** A burst as a busy minute brings it: tickets, fires, presses, counts. */
function action(draw, tickets) {
  const kind = draw();
  if (kind < 0.3 || tickets.length === 0) {
    const plates = Array.from({ length: 1 + Math.floor(draw() * 3) }, (_, n) => ({ position: n + 1, dish: draw() < 0.5 ? "egg" : "toast" }));
    return { send_ticket: { order: { table: String(1 + Math.floor(draw() * 3)), courses: [{ course: "mains", plates }] }, sure: true } };
  }
  const ticket = tickets[Math.floor(draw() * tickets.length)];
  if (kind < 0.6) return { fire: { ticket, course: "mains" } };
  if (kind < 0.75) return { gone: { ticket, course: "mains", sure: true } };
  return { set_left: { dish: draw() < 0.5 ? "egg" : "toast", left: 1000 + Math.floor(draw() * 50) } };
}

test(`57: killed ${rounds} times in the middle of a burst, every acknowledged act is there, once`, { timeout: 170000 }, async (t) => {
  const napped = await serving(t);
  const seed = Number(process.env.SEED ?? 1);
  t.diagnostic(`SEED=${seed}`);
  const asked = new Map(); // id -> command
  const acknowledged = new Map(); // id -> number
  const refused = new Set();
  const tickets = [];
  let slowest = 0;
  for (let round = 0; round < rounds; ++round) {
    const began = performance.now();
    const draw = random(seed * 1000 + round);
    const live = new Live(napped.url);
    await live.opened;
    live.socket.on("error", () => {});
    const burst = 20 + Math.floor(draw() * 60);
    // Every few rounds a night ends and another begins, in the middle of everything.
    const night = [];
    if (round % 6 === 5) night.push({ close_service: { sure: true } }, { open_service: { name: `Night ${round}`, document: "" } });
    if (night.length > 0) tickets.length = 0;
    live.socket.on("message", (data) => {
      const message = JSON.parse(data);
      if (message.type === "done") acknowledged.set(message.id, message.number);
      if (message.type === "done" && message.ticket) tickets.push(message.ticket);
      if (message.type === "refused" && message.problem.code !== "unavailable") refused.add(message.id);
    });
    for (let n = 0; n < burst; ++n) {
      const command = { id: `r${round}n${n}`, by: "Ada", at_ms: Date.now(), do: night.shift() ?? action(draw, tickets) };
      asked.set(command.id, command);
      live.send({ type: "command", command });
    }
    await sleep(draw() * 25);
    await napped.kill("SIGKILL");
    await live.closed;

    // What the dead server left behind is whole ...
    const left = verify(napped.journal);
    await napped.start();
    // ... and what the new one made of it is its fold.
    const { record, copy } = await folded(napped);
    assert.deepEqual([record.events, record.fingerprint], [copy.events, copy.fingerprint], `round ${round}`);
    assert.ok(record.events >= left.events);
    const events = await allEvents(napped);
    for (const [id, number] of acknowledged) {
      assert.ok(number <= events.length, `round ${round}: ${id} was acknowledged as ${number}`);
    }
    slowest = Math.max(slowest, performance.now() - began);
  }

  // The device sends everything again, as it would after a lost link: what was acknowledged is answered the same, what
  // was not is done now, once.
  const commands = [...asked.values()];
  for (let at = 0; at < commands.length; at += 400) {
    const live = new Live(napped.url); // one device may send 500 at once
    await live.opened;
    const chunk = commands.slice(at, at + 400);
    const answers = chunk.map((command) => live.later((m) => m.id === command.id));
    for (const command of chunk) live.send({ type: "command", command });
    for (const told of await Promise.all(answers)) {
      if (acknowledged.has(told.id)) {
        assert.deepEqual([told.type, told.number], ["done", acknowledged.get(told.id)], told.id);
      } else if (refused.has(told.id)) {
        assert.equal(told.type, "refused", told.id);
      }
      assert.notEqual(told.problem?.code, "too_many");
      if (told.type === "done") acknowledged.set(told.id, told.number);
    }
    await live.close();
  }
  const events = await allEvents(napped);
  const sent = events.filter((e) => e.name === "ticket_sent").map((e) => e.command_id);
  assert.equal(new Set(sent).size, sent.length, "a ticket was made twice");
  const accepted = [...acknowledged.keys()].filter((id) => asked.get(id).do.send_ticket);
  assert.deepEqual([...sent].sort(), accepted.sort());
  t.diagnostic(`${asked.size} commands, ${acknowledged.size} done, ${events.length} events, slowest round ${slowest.toFixed(0)} ms`);
});
