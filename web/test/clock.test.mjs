import assert from "node:assert/strict";
import test from "node:test";
import { seeded } from "../../tests/browser/evening.mjs";
import { KitchenClock, measure, precision } from "../node_modules/.nappe-test/clock.js";

const near = (actual, expected, tolerance, message) =>
  assert.ok(Math.abs(actual - expected) <= tolerance, `${message ?? ""} ${actual} is not ${expected}`);

// Worked from the formulas of RFC 5905 section 8.
test("clock: offset and delay as in RFC 5905", () => {
  const symmetric = measure(0, 135, 137, 22);
  near(symmetric.offset, 125, 1e-9);
  near(symmetric.delay, 20, 1e-9);
  const asymmetric = measure(1_000_000, 1_005_030, 1_005_040, 1_000_090);
  near(asymmetric.offset, 4_990, 1e-6);
  near(asymmetric.delay, 80, 1e-6);
});

test("clock: an apparent negative delay is clamped to the precision (RFC 5905 section 8)", () => {
  // 100 parts per million of skew over 64 s look like -6.4 ms.
  assert.equal(measure(0, 0, 64_006.4, 64_000).delay, precision);
});

test("clock: the true offset lies within half the delay, at any rate", () => {
  for (let seed = 0; seed < 2000; ++seed) {
    const random = seeded(seed);
    const rate = [1, 1, 10, 60, 0.5][Math.floor(random() * 5)];
    const offset = (random() - 0.5) * 1e7;
    const t1 = random() * 1e6;
    const there = random() * 200;
    const held = random() * 50;
    const back = random() * 200;
    const kitchen = (local) => local * rate + offset;
    const got = measure(t1, kitchen(t1 + there), kitchen(t1 + there + held), t1 + there + held + back, rate);
    assert.ok(Math.abs(got.offset - offset) <= got.delay / 2 + 1e-6, `SEED=${seed}`);
  }
});

test("clock: the sample with the least delay is believed", () => {
  let local = 0;
  const clock = new KitchenClock(() => local);
  clock.take(0, 1100, 1100, 200, 1); // slow and lopsided: says 1000
  near(clock.now(), 1000, 1e-9);
  clock.take(300, 1260, 1260, 310, 1); // quick: says 955
  near(clock.now(), 955, 1e-9);
  clock.take(400, 1800, 1800, 900, 1); // slow again: not believed
  local = 45;
  near(clock.now(), 1000, 1e-9);
});

test("clock: a repeated answer and nonsense are dropped", () => {
  const clock = new KitchenClock(() => 0);
  clock.take(0, 50, 50, 100, 1);
  const before = clock.now();
  clock.take(90, 50, 50, 91, 1); // the same t3, with a delay that would win
  clock.take(Number.NaN, 1, 2, 3, 1);
  clock.take(0, 1, 2, 3, 0);
  assert.equal(clock.now(), before);
});

test("clock: kitchen time runs as fast as the kitchen says", () => {
  let local = 1000;
  const clock = new KitchenClock(() => local);
  clock.take(900, 5_000_000, 5_000_000, 1000, 30);
  const then = clock.now();
  local += 2000;
  near(clock.now() - then, 60_000, 1e-6);
});

test("clock: a kitchen clock that is set is followed at once, a slow answer is not taken for that", () => {
  const clock = new KitchenClock(() => 0);
  clock.take(0, 1000, 1000, 10, 1); // offset 995, within 5
  clock.take(0, 1150, 1150, 300, 1); // says 1000, within 150: agrees
  near(clock.now(), 995, 1e-9);
  clock.take(0, 61_010, 61_010, 20, 1); // a minute on: cannot be the same clock
  near(clock.now(), 61_000, 1e-9);
  clock.take(0, 61_008, 61_009, 14, 1);
  near(clock.now(), 61_001.5, 1e-9);
});

test("clock: a new rate starts afresh, a reconnection keeps the time until a sample comes", () => {
  const clock = new KitchenClock(() => 0);
  clock.take(0, 1000, 1000, 10, 1);
  clock.reconnected();
  near(clock.now(), 995, 1e-9);
  clock.take(0, 9000, 9000, 1000, 1);
  near(clock.now(), 8500, 1e-9);
  clock.take(0, 100, 100, 2, 2);
  assert.equal(clock.rate, 2);
  near(clock.now(), 98, 1e-9);
});
