import assert from "node:assert/strict";
import test from "node:test";
import { seeded } from "../../tests/browser/evening.mjs";
import { answer_ms_max, backOff, put_off_max, silence_ms_max } from "../node_modules/.nappe-test/connection.js";
import { Store } from "../node_modules/.nappe-test/store.js";
import { MemoryStorage, TestServer, TestWorld } from "./support.mjs";

function setUp(seed = 1, storage = new MemoryStorage(), server = new TestServer()) {
  const random = seeded(seed);
  const world = new TestWorld(random, (socket) => server.connect(socket));
  server.attach(world);
  let ids = 0;
  const store = new Store(world, storage, (bytes) => {
    new DataView(bytes.buffer).setUint32(0, seed);
    new DataView(bytes.buffer).setUint32(4, ++ids);
    return bytes;
  });
  store.connection.start();
  return { world, store, server, storage, random };
}
const hold = (ticket, course = "mains") => ({ hold: { ticket, course } });
const frames = (world, type) =>
  world.sockets.flatMap((socket) => socket.sent.filter((message) => message.type === type));

test("connection: says hello, subscribes, gets the document and the time", () => {
  const { world, store } = setUp();
  world.run(1000);
  assert.equal(store.pass.service.name, "Friday");
  assert.deepEqual(frames(world, "hello"), [{ type: "hello", device: "pass" }]);
  assert.deepEqual(frames(world, "subscribe"), [{ type: "subscribe", screen: "pass" }]);
  assert.equal(Math.round(store.clock.now()), world.time + 500_000);
});

test("connection: patches in order are merged; a gap is asked again with what it has", () => {
  const { world, store, server } = setUp();
  world.run(1000);
  const rename = (name) => [
    { service: { name } },
    (document) => ({ ...document, service: { ...document.service, name } }),
  ];
  server.patch(...rename("two"));
  world.run(100);
  assert.equal(store.pass.service.name, "two");
  server.patch(...rename("three"), true);
  server.patch(...rename("four"));
  world.run(100);
  assert.equal(store.pass.service.name, "four");
  assert.deepEqual(frames(world, "subscribe").slice(1), [
    { type: "subscribe", screen: "pass", epoch: "e1", number: 2 },
  ]);
  assert.equal(store.connection.held.get("pass").number, 4);
});

test("connection: after a cut it comes back with epoch and number and gets only what it missed", () => {
  const { world, store, server } = setUp();
  world.run(1000);
  server.up = false;
  server.cut(world.socket);
  assert.equal(store.connection.live, false);
  assert.ok(store.cut_since_ms <= store.clock.now());
  server.patch({ service: { name: "later" } }, (document) => ({ ...document, service: { name: "later", open: true } }));
  world.run(30_000);
  server.up = true;
  world.run(10_000);
  assert.equal(store.connection.live, true);
  assert.equal(store.cut_since_ms, undefined);
  assert.equal(store.pass.service.name, "later");
  assert.deepEqual(frames(world, "subscribe").at(-1), { type: "subscribe", screen: "pass", epoch: "e1", number: 1 });
});

test("connection: a wire that is silent is given up and tried again", () => {
  const { world, store } = setUp();
  world.run(1000);
  world.socket.peer = () => {}; // the cable is out, and nobody closes anything
  const heard = store.clock.now();
  world.run(silence_ms_max + 2_500);
  assert.ok(world.sockets.length >= 2);
  world.run(10_000);
  assert.equal(store.connection.live, true);
  assert.ok(store.connection.heard_ms > heard);
});

test("connection: back-off doubles, is bounded, and is never the same for two screens", () => {
  for (let tries = 0; tries < 40; ++tries) {
    const least = backOff(tries, 0);
    const most = backOff(tries, 1);
    assert.ok(least >= 200 && most <= 8_000);
    assert.equal(most, 2 * least);
    if (tries > 0) assert.ok(most >= backOff(tries - 1, 1));
  }
});

test("presses: sent at once with an id and the kitchen time of the press, and settled by the answer", () => {
  const { world, store, server } = setUp();
  world.run(1000);
  store.press(hold(7));
  assert.equal(store.pending.length, 1);
  const pressed = world.time + 500_000;
  world.run(100);
  assert.deepEqual(store.pending, []);
  assert.equal(server.carried_out.length, 1);
  const [command] = server.carried_out;
  assert.deepEqual(command.do, { hold: { ticket: 7, course: "mains" } });
  assert.equal(command.by, "pass");
  assert.ok(Math.abs(command.at_ms - pressed) <= 1);
});

test("presses: kept through a cut and a reload, sent later with the time they were made", () => {
  const storage = new MemoryStorage();
  const server = new TestServer();
  const before = setUp(1, storage, server);
  before.world.run(3000);
  server.up = false;
  server.cut(before.world.socket);
  before.store.press(hold(1));
  before.world.run(500);
  before.store.press(hold(2));
  const times = before.store.pending.map((press) => press.at_ms);
  before.store.save();

  const after = setUp(2, storage, server);
  after.world.time = before.world.time;
  assert.equal(after.store.pass.service.name, "Friday", "the last document is shown without a server");
  assert.equal(after.store.pending.length, 2);
  after.world.run(60_000);
  assert.equal(server.carried_out.length, 0);
  server.up = true;
  after.world.run(10_000);
  assert.deepEqual(
    server.carried_out.map((command) => command.do.hold.ticket),
    [1, 2],
  );
  assert.deepEqual(
    server.carried_out.map((command) => command.at_ms),
    times,
  );
  assert.deepEqual(after.store.pending, []);
});

test("presses: whatever the wire does, each is carried out once and in order", () => {
  for (let seed = 1; seed <= 150; ++seed) {
    const { world, store, server, random } = setUp(seed);
    server.breaks = () => random() < 0.25;
    server.busy = () => random() < 0.3;
    const asked = [];
    for (let i = 0; i < 12; ++i) {
      world.run(random() * 3_000);
      if (random() < 0.2 && !world.socket.closed) server.cut(world.socket);
      asked.push(i);
      store.press(hold(i));
    }
    server.breaks = () => false;
    server.busy = () => false;
    world.run(120_000);
    assert.deepEqual(
      server.carried_out.map((command) => command.do.hold.ticket),
      asked,
      `SEED=${seed}`,
    );
    assert.deepEqual(store.pending, [], `SEED=${seed}`);
    assert.equal(new Set(server.carried_out.map((command) => command.id)).size, asked.length, `SEED=${seed}`);
  }
});

test("presses: a refusal is one sentence about its course, and goes after a while", () => {
  const { world, store } = setUp();
  world.run(1000);
  store.press(hold(4, "refuse"));
  world.run(100);
  assert.equal(store.refusals.length, 1);
  assert.equal(store.refusals[0].about, "4-refuse");
  assert.equal(store.refusals[0].sentence, "no");
  assert.equal(store.refusals[0].again, undefined, "a conflict is not insisted on");
  assert.deepEqual(store.pending, []);
  world.run(25_000);
  store.forget();
  assert.deepEqual(store.refusals, []);
});

test("presses: a queue longer than the server takes at once is sent again, in order, none refused", () => {
  const { world, store, server } = setUp();
  world.run(1000);
  server.up = false;
  server.cut(world.socket);
  for (let i = 0; i < 20; ++i) store.press(hold(i));
  let taken = 0;
  server.busy = () => ++taken % 4 === 0;
  server.up = true;
  world.run(60_000);
  assert.deepEqual(
    server.carried_out.map((command) => command.do.hold.ticket),
    Array.from({ length: 20 }, (_, i) => i),
  );
  assert.deepEqual(store.refusals, []);
  assert.deepEqual(store.pending, []);
});

test("presses: one that is not answered is sent again on the same wire", () => {
  const { world, store, server } = setUp();
  world.run(1000);
  const command = server.command;
  server.command = () => {};
  store.press(hold(1));
  world.run(answer_ms_max - 500);
  server.command = command;
  world.run(1000);
  assert.deepEqual(store.pending, []);
  assert.equal(server.carried_out.length, 1);
});

test("presses: a server that never can is a refusal after all, and the next press goes", () => {
  const { world, store, server } = setUp();
  world.run(1000);
  let asked = 0;
  server.busy = () => ++asked <= put_off_max;
  store.press(hold(1));
  store.press(hold(2));
  world.run(60_000);
  assert.deepEqual(
    store.refusals.map((refusal) => refusal.about),
    ["1-mains"],
  );
  assert.deepEqual(
    server.carried_out.map((carried) => carried.do.hold.ticket),
    [2],
  );
});
