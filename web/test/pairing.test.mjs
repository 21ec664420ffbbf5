// A blank page at the door: its word, the server away, forgotten, paired.
import assert from "node:assert/strict";
import test from "node:test";
import { Asking, choices, pairBody } from "../node_modules/.nappe-test/pairing.js";

/** A door whose answers are given in advance; time passes by `beat`. */
function scripted(answers) {
  const asked = [];
  let due;
  const door = {
    fetch: async (path, init = {}) => {
      asked.push([init.method ?? "GET", path, init.headers?.Authorization]);
      const answer = answers.shift();
      if (answer === undefined) throw new TypeError("away");
      return { status: answer[0], ok: answer[0] < 300, json: async () => answer[1] };
    },
    after: (_, what) => {
      due = what;
      return 1;
    },
    cancel: () => {
      due = undefined;
    },
  };
  const settle = () => new Promise((done) => setTimeout(done, 0));
  const beat = () => {
    due?.();
    return settle();
  };
  return { door, asked, settle, beat };
}

test("a word is shown until somebody has said what it is; the server's absence changes nothing", async () => {
  let paired = 0;
  const { door, asked, settle, beat } = scripted([
    [201, { word: "leek", secret: "s" }],
    [200, { state: "waiting", word: "leek" }],
    undefined,
    [200, { state: "paired", token: "t" }],
  ]);
  const asking = new Asking(
    door,
    () => {},
    () => ++paired,
  );
  asking.start();
  await settle();
  assert.equal(asking.word, "leek");
  for (let n = 0; n < 3; ++n) await beat();
  assert.equal(paired, 1);
  assert.equal(asking.word, "leek");
  assert.deepEqual(asked[1], ["GET", "pair", "Bearer s"]);
});

test("a word that was forgotten is asked for anew; a refusal is shown in its sentence", async () => {
  const { door, settle, beat } = scripted([
    [429, { detail: "many devices ask to be paired: try again in a minute" }],
    [201, { word: "leek", secret: "s" }],
    [404, { detail: "ask again" }],
    [201, { word: "sage", secret: "u" }],
  ]);
  const asking = new Asking(
    door,
    () => {},
    () => assert.fail(),
  );
  asking.start();
  await settle();
  assert.match(asking.trouble, /many devices/);
  await beat();
  assert.equal(asking.word, "leek");
  assert.equal(asking.trouble, undefined);
  await beat();
  assert.equal(asking.word, "sage");
});

test("what may be said of a word, and how it is said to the server", () => {
  assert.deepEqual(choices(["garnish"]), ["station garnish", "pass", "floor", "probe", "manager"]);
  assert.deepEqual(pairBody("leek", "station garnish"), { word: "leek", role: "station", station: "garnish" });
  assert.deepEqual(pairBody("leek", "pass"), { word: "leek", role: "pass" });
});
