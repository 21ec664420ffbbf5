import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";
import { Evening, friday, seeded } from "../../tests/browser/evening.mjs";
import { candidates, columns, courseKey, layOut, runs, wave } from "../node_modules/.nappe-test/layout.js";
import { horizon_ms, makeScale, marks } from "../node_modules/.nappe-test/scale.js";
import { passDocument } from "../node_modules/.nappe-test/wire.js";

const start_ms = Date.UTC(2025, 10, 28, 20, 23, 40);
const minute = 60_000;

/** A made-up evening: 1 to 15 tables of the Friday with other meets, drifts and states. */
function randomEvening(seed) {
  const random = seeded(seed);
  const tables = friday
    .filter(() => random() < 0.8)
    .map((table) => ({
      ...table,
      on: Math.floor(random() * 3),
      meet: random() * 30 - 3,
      late: random() < 0.2 ? random() * 9 : 0,
      held: random() < 0.1,
      waiting: random() < 0.15,
    }));
  const evening = new Evening({ start_ms, seed, tables });
  return { random, document: passDocument(evening.document(start_ms + Math.floor(random() * 5 * minute))) };
}

function randomSize(random) {
  const unit = random() < 0.8 ? 16 : 21;
  return { width: unit * (45 + random() * 50), height: unit * (12 + random() * 50), unit };
}

function shuffled(object, random) {
  if (typeof object !== "object" || object === null) return object;
  const entries = Object.entries(object).map(([key, value]) => [key, shuffled(value, random)]);
  for (let i = entries.length - 1; i > 0; --i) {
    const j = Math.floor(random() * (i + 1));
    [entries[i], entries[j]] = [entries[j], entries[i]];
  }
  return Object.fromEntries(entries);
}

/** The first and last point of a path of M, L, Q and C. */
function ends(path) {
  const numbers = path.match(/-?\d+(\.\d+)?/g).map(Number);
  return { from: numbers.slice(0, 2), to: numbers.slice(-2) };
}

const near = (a, b) => Math.abs(a - b) <= 0.11;

function eachDrawing(what, seeds = 150) {
  for (let seed = 1; seed <= seeds; ++seed) {
    const { random, document } = randomEvening(seed);
    const size = randomSize(random);
    const rows = candidates(document);
    const selected = random() < 0.5 ? rows[Math.floor(random() * rows.length)]?.key : undefined;
    what({ seed: `SEED=${seed}`, random, document, size, selected, drawing: layOut(document, size, selected) });
  }
}

test("scale: runs right to the pass, the last minutes larger, the pass at no minutes", () => {
  const scale = makeScale(100, 700, 760);
  assert.equal(scale.x(0), 700);
  assert.equal(Math.round(scale.x(horizon_ms)), 100);
  assert.equal(scale.x(10 * horizon_ms), 100);
  assert.equal(scale.x(-horizon_ms), 760);
  assert.ok(Math.abs(scale.x(-scale.late_ms) - 760) < 1e-6 && scale.x(-scale.late_ms + 1000) < 760);
  let x = scale.x(horizon_ms);
  let step = 0;
  for (let at = horizon_ms - minute; at >= 0; at -= minute) {
    assert.ok(scale.x(at) - x > step, "every minute is drawn larger than the one before");
    step = scale.x(at) - x;
    x = scale.x(at);
  }
  assert.ok(marks.every((mark, i) => i === 0 || mark < marks[i - 1]));
});

test("layout: every course in the kitchen has one row, the next to meet first", () => {
  eachDrawing(({ seed, document, drawing }) => {
    const expected = Object.values(document.tables)
      .flatMap((table) => Object.entries(table.courses).map(([id, course]) => [courseKey(table.ticket, id), course]))
      .filter(([, course]) => runs(course))
      .map(([key]) => key);
    assert.deepEqual(drawing.rows.map((row) => row.key).sort(), expected.sort(), seed);
    for (let i = 1; i < drawing.rows.length; ++i)
      assert.ok(drawing.rows[i - 1].meet_ms <= drawing.rows[i].meet_ms, seed);
  });
});

test("layout: rows are a finger wide, lanes lie inside them, one below the other", () => {
  eachDrawing(({ seed, drawing, size, selected }) => {
    let sum = 0;
    for (const row of drawing.rows) {
      assert.ok(row.height >= 44, seed);
      sum += row.height;
      let y = 0;
      for (const lane of row.lanes) {
        assert.ok(lane.y > y && lane.y < row.height, seed);
        y = lane.y;
      }
      assert.ok(
        row.lanes.some((lane) => lane.y === row.knot.y || near(lane.y, row.knot.y)),
        seed,
      );
    }
    assert.equal(sum, drawing.height, seed);
    // Loosened rows never outgrow the room they were loosened for.
    if (drawing.rows.some((row) => row.openness > 0)) assert.ok(selected !== undefined || sum <= size.height, seed);
  });
});

test("layout: with room for it everything is open; without, only what is to be noticed has its name", () => {
  eachDrawing(({ seed, document, size }) => {
    const tall = layOut(document, { ...size, height: 100_000 }, undefined);
    assert.ok(
      tall.rows.every((row) => row.openness === 2 && row.lanes.every((lane) => lane.tall)),
      seed,
    );
    const low = layOut(document, { ...size, height: 1 }, undefined);
    assert.ok(
      low.rows.every((row) => row.openness === 0 && row.lanes.every((lane) => lane.tall === lane.pull)),
      seed,
    );
    for (const height of [300, 500, 650, 900]) {
      const drawing = layOut(document, { ...size, height }, undefined);
      assert.ok(drawing.height <= Math.max(height, low.height), seed);
    }
  });
});

test("layout: the pull has its name in every row, and there is one", () => {
  eachDrawing(({ seed, drawing }) => {
    for (const row of drawing.rows) {
      const pulls = row.lanes.filter((lane) => lane.pull);
      assert.equal(pulls.length, 1, seed);
      assert.ok(pulls[0].tall, seed);
      assert.equal(pulls[0].key, row.course.pull, seed);
    }
  });
});

test("layout: every thread ends in the knot, by itself or by its tie, and nothing leaves the axis", () => {
  eachDrawing(({ seed, drawing }) => {
    const { scale } = drawing;
    for (const row of drawing.rows) {
      for (const lane of row.lanes) {
        const target = lane.late ? [row.knot.x, row.knot.y] : [row.knot.promised_x, row.knot.y];
        const last = ends(lane.tie || lane.path).to;
        assert.ok(near(last[0], target[0]) && near(last[1], target[1]), `${seed} ${row.key} ${lane.key}`);
        if (lane.tie) assert.ok(near(ends(lane.tie).from[0], ends(lane.solid).to[0]), seed);
        assert.deepEqual(ends(lane.path).from, ends(lane.solid).from, seed);
        assert.deepEqual(ends(lane.path).to, ends(lane.solid).to, seed);
        for (const path of [lane.path, lane.solid, lane.tie]) {
          for (const x of [ends(path || lane.path).from[0], ends(path || lane.path).to[0]]) {
            assert.ok(x >= scale.left - 0.1 && x <= scale.right + 0.1, seed);
          }
        }
        assert.ok(
          lane.marks.every((mark) => mark.x >= scale.left && mark.x <= scale.right),
          seed,
        );
      }
    }
  });
});

test("layout: a promise that is not kept is drawn as a bend beyond the pass, one that is kept is not", () => {
  eachDrawing(({ seed, drawing }) => {
    for (const row of drawing.rows) {
      const drift = row.expected_ms - row.meet_ms;
      assert.equal(row.knot.late, drift >= 30_000, seed);
      assert.equal(row.slack !== "", row.knot.late, seed);
      if (row.knot.late) assert.ok(row.knot.x > row.knot.promised_x && row.knot.promised_x <= drawing.scale.pass, seed);
      else assert.equal(row.knot.x, row.knot.promised_x, seed);
      // However late, the gap between promise and knot is drawn on the same axis as everything else.
      const { scale } = drawing;
      assert.ok(near(row.knot.x, row.knot.late ? scale.x(row.origin_ms - row.expected_ms) : scale.pass), seed);
      assert.ok(row.expected_ms - row.origin_ms <= scale.late_ms + 1 || !row.knot.late, seed);
      assert.ok(near(row.knot.promised_x, scale.x(row.origin_ms - row.meet_ms)), seed);
    }
  });
});

test("layout: what is begun is solid or waves, what can wait is dotted, what cannot is dashed", () => {
  eachDrawing(({ seed, drawing }) => {
    for (const lane of drawing.rows.flatMap((row) => row.lanes)) {
      const { state, can_wait, cue_open } = lane.thread;
      const expected = state === "waiting" ? (can_wait ? "dotted" : "dashed") : cue_open ? "wave" : "ahead";
      assert.equal(lane.style, expected, seed);
      assert.equal(lane.begun, state !== "waiting", seed);
    }
  });
});

test("layout: the selected row opens whole and nothing above it moves", () => {
  eachDrawing(({ seed, document, size, drawing, selected }) => {
    if (selected === undefined) return;
    const before = layOut(document, size, undefined);
    const at = drawing.rows.findIndex((row) => row.key === selected);
    assert.equal(drawing.rows[at].openness, 2, seed);
    for (let i = 0; i < at; ++i) assert.equal(drawing.rows[i].openness, before.rows[i].openness, seed);
  });
});

test("layout: does not depend on the order of the document's members", () => {
  eachDrawing(({ seed, random, document, size, selected, drawing }) => {
    const other = layOut(shuffled(document, random), size, selected);
    const bare = (d) =>
      d.rows.map(({ key, height, knot, slack, lanes }) => ({
        key,
        height,
        knot,
        slack,
        lanes: lanes.map((l) => [l.key, l.path, l.tie, l.style]),
      }));
    assert.deepEqual(bare(other), bare(drawing), seed);
  }, 40);
});

test("layout: a wave ends on its line and stays within its height", () => {
  const path = wave(10, 200, 50, 7, 3);
  assert.deepEqual(ends(`M10 50${path}`).to, [200, 50]);
  const ys = path
    .match(/-?\d+(\.\d+)?/g)
    .map(Number)
    .filter((_, i) => i % 2 === 1);
  // The middle of a quadratic curve lies half way to its control point.
  for (const y of ys) assert.ok(Math.abs(y - 50) <= 6);
  assert.equal(wave(10, 12, 50, 7, 3), "L12 50");
});

test("layout: columns stand left to right at every width of the page", () => {
  for (const unit of [16, 21]) {
    for (let width = 45 * unit; width < 2000; width += 37) {
      const { gutter, left, pass, right } = columns({ width, height: 600, unit });
      assert.ok(0 < gutter && gutter < left && left + 10 * unit < pass && pass < right && right < width);
    }
  }
});

test("layout: the example document of the protocol has its two rows", () => {
  const path = new URL("../../tests/protocol/examples/pass.json", import.meta.url);
  const document = passDocument(JSON.parse(readFileSync(path, "utf8")));
  const drawing = layOut(document, { width: 900, height: 650, unit: 16 }, undefined);
  assert.deepEqual(
    drawing.rows.map((row) => row.key),
    ["7-mains", "9-starters"],
  );
  const [mains, starters] = drawing.rows;
  assert.deepEqual(
    mains.lanes.map((lane) => lane.key),
    ["p40", "p25", "p28", "p41"],
  );
  assert.equal(mains.knot.late, false, "25 seconds are no drift");
  assert.equal(mains.lanes.find((lane) => lane.key === "p25").dies_ms, undefined, "its keep lasts beyond the meet");
  assert.equal(starters.lanes[0].style, "wave");
});

test("layout: a course that waits is in the run-in once something of it is begun, by when it could meet", () => {
  const path = new URL("../../tests/protocol/examples/pass.json", import.meta.url);
  const example = JSON.parse(readFileSync(path, "utf8"));
  const { desserts, mains } = example.tables[7].courses;
  desserts.threads = { p50: { ...mains.threads.p40, pan: 50, what: "pudding", to_ms: desserts.could_ms } };
  const drawing = layOut(passDocument(example), { width: 900, height: 650, unit: 16 }, undefined);
  assert.deepEqual(
    drawing.rows.map((row) => row.key),
    ["7-mains", "9-starters", "7-desserts"],
  );
  assert.equal(drawing.rows[2].meet_ms, desserts.could_ms);
  assert.equal(drawing.rows[2].knot.late, false);
});

test("layout: an empty document is an empty drawing", () => {
  assert.deepEqual(layOut(passDocument({}), { width: 900, height: 600, unit: 16 }, undefined).rows, []);
  assert.deepEqual(layOut(passDocument(null), { width: 900, height: 600, unit: 16 }, "x").rows, []);
});
