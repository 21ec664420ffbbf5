import assert from "node:assert/strict";
import test from "node:test";
import { newId, Outbox } from "../node_modules/.nappe-test/queue.js";
import { MemoryStorage } from "./support.mjs";

const command = (id, at_ms) => ({ id, by: "pass", at_ms, do: { hold: { ticket: 1, course: "mains" } } });

test("queue: presses survive a reload, in their order, until they are answered", () => {
  const storage = new MemoryStorage();
  const before = new Outbox(storage);
  before.put(command("a", 20));
  before.put(command("b", 10)); // the clock was set back between two presses: their order stays
  before.put(command("c", 20));
  const after = new Outbox(storage);
  assert.deepEqual(
    after.list().map((entry) => entry.id),
    ["a", "b", "c"],
  );
  after.settle("b");
  assert.deepEqual(
    new Outbox(storage).list().map((entry) => entry.id),
    ["a", "c"],
  );
  assert.ok(!after.has("b"));
});

test("queue: two pages of one device do not overwrite each other", () => {
  const storage = new MemoryStorage();
  const one = new Outbox(storage);
  const two = new Outbox(storage);
  one.put(command("a", 1));
  two.put(command("b", 2));
  one.settle("a");
  assert.deepEqual(
    two.list().map((entry) => entry.id),
    ["b"],
  );
});

test("queue: full storage keeps the press in the page and says that it is not safe", () => {
  const storage = new MemoryStorage();
  storage.setItem = () => {
    throw new Error("quota");
  };
  const outbox = new Outbox(storage);
  outbox.put(command("a", 1));
  assert.equal(outbox.safe, false);
  assert.deepEqual(
    outbox.list().map((entry) => entry.id),
    ["a"],
  );
  outbox.settle("a");
  assert.equal(outbox.safe, true);
  assert.deepEqual(outbox.list(), []);
});

test("queue: what it cannot read it leaves alone", () => {
  const storage = new MemoryStorage();
  storage.setItem("nappe.press.x", "{broken");
  storage.setItem("nappe.press.y", '{"order":1}');
  storage.setItem("other", "1");
  assert.deepEqual(new Outbox(storage).list(), []);
  assert.equal(storage.length, 3);
});

test("queue: ids are 128 random bits in base64url", () => {
  const ids = new Set();
  for (let i = 0; i < 1000; ++i) ids.add(newId((bytes) => crypto.getRandomValues(bytes)));
  assert.equal(ids.size, 1000);
  // RFC 4648 section 5: 16 bytes are 22 characters without padding.
  for (const id of ids) assert.match(id, /^[A-Za-z0-9_-]{22}$/);
  assert.equal(
    newId((bytes) => bytes.fill(255)),
    "_____________________w",
  );
});
