import assert from "node:assert/strict";
import test from "node:test";
import { difference } from "../../tests/browser/difference.mjs";
import { seeded } from "../../tests/browser/evening.mjs";
import { mergePatch } from "../node_modules/.nappe-test/merge.js";

// RFC 7396, appendix A: all fifteen.
const appendix_a = [
  ['{"a":"b"}', '{"a":"c"}', '{"a":"c"}'],
  ['{"a":"b"}', '{"b":"c"}', '{"a":"b","b":"c"}'],
  ['{"a":"b"}', '{"a":null}', "{}"],
  ['{"a":"b","b":"c"}', '{"a":null}', '{"b":"c"}'],
  ['{"a":["b"]}', '{"a":"c"}', '{"a":"c"}'],
  ['{"a":"c"}', '{"a":["b"]}', '{"a":["b"]}'],
  ['{"a":{"b":"c"}}', '{"a":{"b":"d","c":null}}', '{"a":{"b":"d"}}'],
  ['{"a":[{"b":"c"}]}', '{"a":[1]}', '{"a":[1]}'],
  ['["a","b"]', '["c","d"]', '["c","d"]'],
  ['{"a":"b"}', '["c"]', '["c"]'],
  ['{"a":"foo"}', "null", "null"],
  ['{"a":"foo"}', '"bar"', '"bar"'],
  ['{"e":null}', '{"a":1}', '{"e":null,"a":1}'],
  ["[1,2]", '{"a":"b","c":null}', '{"a":"b"}'],
  ["{}", '{"a":{"bb":{"ccc":null}}}', '{"a":{"bb":{}}}'],
];

test("merge patch: the examples of RFC 7396 appendix A", () => {
  for (const [original, patch, result] of appendix_a) {
    assert.deepEqual(mergePatch(JSON.parse(original), JSON.parse(patch)), JSON.parse(result), `${original} + ${patch}`);
  }
});

function randomJson(random, depth) {
  const kind = Math.floor(random() * (depth > 0 ? 6 : 4));
  if (kind === 0) return random() < 0.5;
  if (kind === 1) return Math.floor(random() * 5);
  if (kind === 2) return "abc".slice(0, Math.floor(random() * 4));
  if (kind === 3) return [1, { x: 2 }].slice(0, Math.floor(random() * 3));
  return Object.fromEntries(
    Array.from({ length: Math.floor(random() * 4) }, () => [
      "abcdef"[Math.floor(random() * 6)],
      randomJson(random, depth - 1),
    ]),
  );
}

test("merge patch: the difference of two documents leads from one to the other, and changes neither", () => {
  for (let seed = 0; seed < 500; ++seed) {
    const random = seeded(seed);
    const from = { a: randomJson(random, 3), b: randomJson(random, 3) };
    const to = { a: randomJson(random, 3), c: randomJson(random, 3) };
    const before = JSON.stringify(from);
    const patch = difference(from, to);
    assert.deepEqual(mergePatch(from, patch), to, `SEED=${seed}`);
    assert.equal(JSON.stringify(from), before, `SEED=${seed}`);
  }
});

test("merge patch: what is not touched is the same object", () => {
  const from = { tables: { 1: { a: 1 }, 2: { a: 1 } }, off: {} };
  const to = mergePatch(from, { tables: { 1: { a: 2 } } });
  assert.equal(to.off, from.off);
  assert.equal(to.tables[2], from.tables[2]);
  assert.notEqual(to.tables[1], from.tables[1]);
});

test("merge patch: a member called __proto__ is data", () => {
  const merged = mergePatch({}, JSON.parse('{"__proto__":{"polluted":1}}'));
  assert.equal({}.polluted, undefined);
  assert.equal(merged.polluted, undefined);
  assert.deepEqual(Object.keys(merged), ["__proto__"]);
});
