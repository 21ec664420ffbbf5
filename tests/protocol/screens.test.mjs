// Screens on the socket: documents, patches, coming back.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { Live } from "./lib/live.mjs";
import { Napped, until } from "./lib/napped.mjs";

let napped;
before(async () => (napped = await new Napped().start()));
after(() => napped.remove());

/** Waits until the device has what GET /screens says, and compares the whole documents. */
async function sameAsServer(live, screen) {
  const there = await napped.json(`/screens/${screen}`);
  await until(`number ${there.number} of ${screen}`, () => live.screens[screen].number >= there.number);
  const now = live.screens[screen];
  if (now.number === there.number) assert.deepEqual(now.document, there.document);
  return now.number === there.number;
}

test("patches merge to the document that GET /screens gives", async () => {
  const live = new Live(napped.url);
  await live.opened;
  const screens = ["pass", "station:stove", "station:bench"];
  for (const screen of screens) await live.subscribe(screen);
  for (let n = 0; n < 5; ++n) {
    const sent = await (await napped.ticket(`${1 + (n % 3)}: 1e 2t 3e`)).json();
    const fired = await live.command({ fire: { ticket: sent.ticket, course: "mains" } });
    assert.equal(fired.type, "done", JSON.stringify(fired));
    let compared = 0;
    for (const screen of screens) compared += await sameAsServer(live, screen);
    assert.ok(compared >= 1);
  }
  assert.ok(live.messages.filter((m) => m.type === "patch").length >= 10);
  assert.equal(Object.keys(live.screens.pass.document.tables).length, 5);
  await live.close();
});

test("a command is acknowledged before any screen shows it", async () => {
  const live = new Live(napped.url);
  await live.opened;
  await live.subscribe("pass");
  const start = live.messages.length;
  const done = await live.command({ set_left: { dish: "toast", left: 7 } });
  assert.equal(done.type, "done");
  const patch = await live.next((m) => m.type === "patch" && m.patch.off?.toast?.left === 7);
  assert.ok(live.messages.indexOf(done) < live.messages.indexOf(patch));
  assert.ok(live.messages.indexOf(done) >= start);
  await live.close();
});

test("who comes back with a number gets only the patches that were missed", async () => {
  const first = new Live(napped.url);
  await first.opened;
  await first.subscribe("pass");
  await first.close();
  const { epoch, number, document } = first.screens.pass;
  const other = new Live(napped.url);
  await other.opened;
  for (let left = 20; left < 23; ++left) {
    await other.subscribe("pass");
    await other.command({ set_left: { dish: "toast", left } });
    await other.next((m) => m.type === "patch" && m.patch.off?.toast?.left === left);
  }
  const again = new Live(napped.url);
  await again.opened;
  again.screens.pass = { epoch, number, document };
  again.send({ type: "subscribe", screen: "pass", epoch, number });
  await until("the missed patches", () => again.screens.pass.number >= number + 3);
  assert.equal(again.messages.filter((m) => m.type === "document").length, 0);
  assert.equal(again.screens.pass.document.off.toast.left, 22);
  await sameAsServer(again, "pass");
  await other.close();
  await again.close();
});

test("who has nothing missed gets nothing; a number of another run, or one too old, gets the whole document", async () => {
  const live = new Live(napped.url);
  await live.opened;
  await live.subscribe("pass");
  const { epoch, number } = live.screens.pass;
  const count = live.messages.length;
  live.send({ type: "subscribe", screen: "pass", epoch, number });
  live.send({ type: "clock", t1: 1 });
  await live.next((m) => m.type === "clock");
  assert.equal(live.messages.filter((m, at) => at >= count && m.type === "document").length, 0);
  await live.subscribe("pass", { epoch: "another", number });
  await live.subscribe("pass", { epoch, number: number + 1000 });
  await live.close();
});

test("an unsubscribed screen is silent", async () => {
  const live = new Live(napped.url);
  await live.opened;
  await live.subscribe("pass");
  live.send({ type: "unsubscribe", screen: "pass" });
  live.send({ type: "clock", t1: 2 });
  await live.next((m) => m.type === "clock");
  const count = live.messages.length;
  await live.command({ set_left: { dish: "toast", left: 99 } });
  live.send({ type: "clock", t1: 3 });
  await live.next((m) => m.type === "clock" && m.t1 === 3);
  assert.deepEqual(live.messages.slice(count).map((m) => m.type).sort(), ["clock", "done"]);
  await live.close();
});

test("a repeated command is answered again and done once", async () => {
  const live = new Live(napped.url);
  await live.opened;
  const id = crypto.randomUUID();
  const action = { set_left: { dish: "egg", left: 31 } };
  const options = { id, at_ms: Date.now() };
  const first = await live.command(action, options);
  const events = (await napped.json("/record")).events;
  for (let n = 0; n < 5; ++n) assert.deepEqual((await live.command(action, options)).number, first.number);
  // ... also on another connection, and over HTTP.
  const other = new Live(napped.url);
  await other.opened;
  assert.equal((await other.command(action, options)).number, first.number);
  const http = await napped.post("/commands", { id, by: "Ada", at_ms: options.at_ms, do: action });
  assert.equal((await http.json()).number, first.number);
  assert.equal((await napped.json("/record")).events, events);
  const reused = await live.command({ set_left: { dish: "egg", left: 2 } }, options);
  assert.equal(reused.type, "refused");
  assert.equal(reused.problem.code, "invalid");
  await live.close();
  await other.close();
});

test("every frame that cannot be used is answered with one sentence and changes nothing", async () => {
  const live = new Live(napped.url);
  await live.opened;
  const events = (await napped.json("/record")).events;
  const bad = ["", "{", "[]", "3", '{"type":3}', '{"type":"dance"}', '{"type":"hello"}', '{"type":"hello","device":7}',
    '{"type":"subscribe"}', '{"type":"subscribe","screen":"station:nowhere"}', '{"type":"subscribe","screen":"pass","epoch":"x"}',
    '{"type":"clock","t1":"now"}', '{"type":"clock","t1":1,"t9":2}', '{"type":"command"}', `{"type":"hello","device":"${"x".repeat(100)}"}`];
  for (const frame of bad) {
    const answer = live.later((m) => m.type === "error");
    live.send(frame);
    const { problem } = await answer;
    assert.ok(problem.detail.length > 10 && problem.code, JSON.stringify(problem));
  }
  for (const command of [{}, { id: "x" }, { id: "x", by: "y", at_ms: 1, do: { dance: {} } }, 7]) {
    const answer = live.later((m) => m.type === "refused");
    live.send({ type: "command", command });
    assert.equal((await answer).problem.code, "invalid");
  }
  assert.equal((await napped.json("/record")).events, events);
  await live.close();
});

test("who sends nothing but rubbish is cut off", async () => {
  const live = new Live(napped.url);
  await live.opened;
  for (let n = 0; n < 25; ++n) live.send("rubbish");
  await live.closed;
  const metrics = await (await napped.fetch("/metrics")).text();
  assert.match(metrics, /napped_sessions_cut_total\{why="bad_frames"\} 1/);
});

test("commands of one device are bounded, and what is refused is said", async () => {
  const live = new Live(napped.url);
  await live.opened;
  const answers = [];
  for (let n = 0; n < 700; ++n) answers.push(live.command({ set_left: { dish: "nothing", left: n } }));
  const codes = (await Promise.all(answers)).map((m) => m.problem.code);
  assert.ok(codes.filter((c) => c === "too_many").length > 50);
  assert.ok(codes.filter((c) => c === "unknown").length >= 500);
  await live.close();
});
