import assert from "node:assert/strict";
import test from "node:test";
import { makeScale } from "../node_modules/.nappe-test/scale.js";
import { Tide } from "../node_modules/.nappe-test/tide.js";

const element = () => ({
  set: {},
  calls: 0,
  setAttribute(name, value) {
    this.set[name] = value;
    ++this.calls;
  },
});

test("tide: moves every row's front to now and touches nothing that stands still", () => {
  const scale = makeScale(0, 600, 640);
  const tide = new Tide();
  const marks = [0, 1, 2].map((i) => ({
    meet_ms: 300_000 + i * 60_000,
    scale,
    behind: [element(), element()],
    ahead: [element()],
    front: element(),
  }));
  for (const [i, mark] of marks.entries()) tide.put(String(i), mark);
  assert.equal(tide.advance(0), 3);
  assert.equal(marks[0].behind[0].set.width, scale.x(300_000).toFixed(1));
  assert.equal(marks[0].front.set.x1, marks[0].front.set.x2);
  assert.equal(marks[0].ahead[0].set.x, marks[0].behind[1].set.width);
  assert.equal(tide.advance(0), 0);
  assert.equal(tide.advance(1), 0, "a millisecond is less than a tenth of a pixel");
  const before = marks[0].front.calls;
  assert.equal(tide.advance(5_000), 3);
  assert.equal(marks[0].front.calls - before, 2);
  tide.drop("0");
  assert.equal(tide.advance(10_000), 2);
});
