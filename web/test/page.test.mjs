import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";
import { action, insisted, insistLabel, offered, said, subject } from "../node_modules/.nappe-test/actions.js";
import { bindings, bound } from "../node_modules/.nappe-test/keys.js";
import { byTimeLeft, ranked } from "../node_modules/.nappe-test/view/aside.js";
import { inOrder } from "../node_modules/.nappe-test/view/station.js";
import { lastGone, waitingCourses } from "../node_modules/.nappe-test/view/waiting.js";
import { passDocument, readMessage, stationDocument } from "../node_modules/.nappe-test/wire.js";
import { awayText, clockText, giveText, leftText, list, wordText } from "../node_modules/.nappe-test/words.js";

process.env.TZ = "UTC";
const example = passDocument(
  JSON.parse(readFileSync(new URL("../../tests/protocol/examples/pass.json", import.meta.url), "utf8")),
);
const mains = example.tables[7].courses.mains;
const at = { ticket: 7, course: "mains" };
const asked = (verb, course, minutes = 0, but = []) => action(verb, 7, "mains", course, { minutes, but });

// The members of common/line/command.hpp.
test("actions: what is asked has the names and members of the line's commands", () => {
  const waiting = { ...mains, state: "waiting", could_ms: 1000 };
  const cases = [
    [asked("fire", waiting), { fire: at }, "fire"],
    [asked("fire", waiting, 3), { fire: { ...at, meet_ms: 181_000 } }, `fire for ${clockText(181_000)}`],
    [asked("hold", mains), { hold: at }, "hold"],
    [asked("release", { ...mains, state: "held" }), { release: at }, "release"],
    [
      asked("later", mains, 2),
      { move_meet: { ...at, meet_ms: mains.meet_ms + 120_000 } },
      `meet ${clockText(mains.meet_ms + 120_000)}`,
    ],
    [
      asked("earlier", mains, -1),
      { move_meet: { ...at, meet_ms: mains.meet_ms - 60_000 } },
      `meet ${clockText(mains.meet_ms - 60_000)}`,
    ],
    [asked("gone", mains), { gone: at }, "gone"],
    [asked("gone", mains, 0, [4, 5]), { gone: { ...at, but: [4, 5] } }, "gone, all but 4 and 5"],
    [asked("bring_back", { ...mains, state: "gone" }), { bring_back: at }, "bring back"],
    [
      asked("bring_back", { ...mains, state: "gone" }, 0, [4]),
      { bring_back: { ...at, positions: [1, 5] } },
      "bring back 1 and 5",
    ],
    [{ acknowledge: { alert: 3 } }, { acknowledge: { alert: 3 } }, "seen"],
    [
      { shelve: { alert: 3, until_ms: 60_000 } },
      { shelve: { alert: 3, until_ms: 60_000 } },
      `later, ${clockText(60_000)}`,
    ],
  ];
  for (const [got, expected, words] of cases) {
    assert.deepEqual(got, expected);
    assert.equal(said(got), words);
    assert.equal(subject(got), "acknowledge" in got || "shelve" in got ? "a3" : "7-mains");
  }
});

test("actions: every state offers what fits it", () => {
  const verbs = (state) => offered({ ...mains, state });
  assert.deepEqual(verbs("waiting"), ["fire", "earlier", "later"]);
  assert.deepEqual(verbs("fired"), ["gone", "earlier", "later", "hold"]);
  assert.deepEqual(verbs("held"), ["release", "earlier", "later"]);
  assert.deepEqual(verbs("gone"), ["bring_back"]);
});

test("actions: only a refusal by the kitchen's rules is insisted on, once", () => {
  const gone = { id: "1", by: "pass", at_ms: 1, do: { gone: { ...at, but: [4] } } };
  const problem = (code) => ({
    type: "about:blank",
    title: "Refused",
    status: 409,
    code,
    detail: "not yet: say it again if it went",
  });
  assert.deepEqual(insisted(gone, problem("refused")), { gone: { ...at, but: [4], sure: true } });
  assert.equal(insisted(gone, problem("conflict")), undefined);
  assert.equal(insisted({ ...gone, do: { gone: { ...at, sure: true } } }, problem("refused")), undefined);
  assert.equal(insisted({ ...gone, do: { hold: at } }, problem("refused")), undefined);
  assert.deepEqual(insisted({ ...gone, do: { fire: at } }, problem("refused")), { fire: { ...at, sure: true } });
  assert.deepEqual(insisted({ ...gone, do: { move_meet: { ...at, meet_ms: 1 } } }, problem("refused")), {
    move_meet: { ...at, meet_ms: 1, sure: true },
  });
  assert.equal(insistLabel({ move_meet: { ...at, meet_ms: 1, sure: true } }), "move it all the same");
  const order = { table: "8", guests: [], courses: [], note: "" };
  assert.deepEqual(insisted({ ...gone, do: { send_ticket: { order } } }, problem("refused")), {
    send_ticket: { order, sure: true },
  });
  // What cannot be insisted on says nothing of it.
  assert.equal(insisted(gone, { ...problem("refused"), detail: "pollack is off" }), undefined);
});

test("words: whole minutes, rounded so that a word is kept", () => {
  assert.equal(wordText(420_000, 0), "word 7 min");
  assert.equal(wordText(420_000, 1), "word 7 min");
  assert.equal(wordText(420_000, 60_001), "word 6 min");
  assert.equal(wordText(60_000, 60_000), `word was ${clockText(60_000)}`);
  assert.equal(awayText(6.9 * 60_000, 0), "in 6 min");
  assert.equal(awayText(30_000, 0), "now");
  assert.equal(awayText(-30_000, 0), "now");
  assert.equal(awayText(-150_000, 0), "2 min over");
  assert.deepEqual(leftText(55_900), { count: 55, unit: "s" });
  assert.deepEqual(leftText(-12_000), { count: 12, unit: "s past" });
  assert.deepEqual(leftText(200_000), { count: 3, unit: "min" });
  assert.equal(giveText(40_900), "0:40");
  assert.equal(giveText(725_000), "12:05");
  assert.equal(giveText(-1), "now");
  assert.equal(list([1, 2, 3]), "1, 2 and 3");
});

test("wire: a frame that is not one of ours is no message", () => {
  for (const text of ["", "{", "null", "[]", "3", '{"type":"surprise"}', "{}"])
    assert.equal(readMessage(text), undefined);
  assert.equal(readMessage('{"type":"done","id":"x","number":1}').id, "x");
});

test("keys: one key does one thing, and single keys can be switched off", () => {
  const all = bindings.flatMap((binding) => binding.keys);
  assert.equal(new Set(all).size, all.length);
  assert.equal(bound("g", true), "gone");
  assert.equal(bound("g", false), undefined);
  assert.equal(bound("ArrowRight", false), "later");
  assert.equal(bound("Escape", false), "close");
  assert.equal(bound("q", true), undefined);
});

test("alerts: the coloured one first, then unanswered by rank; put off ones are away until their time", () => {
  const alert = (rank, more = {}) => ({ ...example.alerts.a3, rank, ...more });
  const doc = {
    ...example,
    alerts: {
      a1: alert(2),
      a2: alert(1),
      a3: alert(5),
      a4: alert(0, { answered: true }),
      a5: alert(0, { shelved_until_ms: 100 }),
    },
    colour: "a3",
  };
  assert.deepEqual(
    ranked(doc, 50).map(([key]) => key),
    ["a3", "a2", "a1", "a4"],
  );
  assert.equal(ranked(doc, 100).length, 5);
});

test("standing: least time first; without a limit last", () => {
  const entry = (until_ms) => ({
    ticket: 1,
    table: "1",
    course: "mains",
    up: 1,
    of: 1,
    walk_ms: 0,
    ...(until_ms ? { until_ms } : {}),
  });
  assert.deepEqual(
    byTimeLeft({ a: entry(0), b: entry(50), c: entry(20) }).map(([key]) => key),
    ["c", "b", "a"],
  );
});

test("waiting: the next course of a table once all before it are gone; desserts wait behind fired mains", () => {
  assert.deepEqual(waitingCourses(example), []);
  const gone = structuredClone(example);
  gone.tables[7].courses.mains.state = "gone";
  gone.tables[7].courses.mains.gone_ms = 1764966600000;
  assert.deepEqual(
    waitingCourses(gone).map((entry) => entry.key),
    ["7-desserts"],
  );
  assert.deepEqual(
    lastGone(gone).map((entry) => entry.key),
    ["7-mains"],
  );
});

test("station: its moves in the order of the hands, the same time by name", () => {
  const path = new URL("../../tests/protocol/examples/station.json", import.meta.url);
  const doc = stationDocument(JSON.parse(readFileSync(path, "utf8")));
  const keys = inOrder(doc).map(([key]) => key);
  assert.deepEqual(keys, ["p31.ladle.5", "p33.toast.0", "p29.mount.0", "p28.turn.0", "p25.spoon.0"]);
  const same = { list: { b: { at_ms: 1 }, a: { at_ms: 1 } } };
  assert.deepEqual(
    inOrder(same).map(([key]) => key),
    ["a", "b"],
  );
});

// --- colours ---

/** Relative luminance and contrast as WCAG 2.2 defines them. */
function contrast(a, b) {
  const luminance = (hex) => {
    const full = hex.length === 4 ? [...hex.slice(1)].map((c) => c + c).join("") : hex.slice(1);
    const [r, g, blue] = [0, 2, 4].map((i) => {
      const c = Number.parseInt(full.slice(i, i + 2), 16) / 255;
      return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * blue;
  };
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (high + 0.05) / (low + 0.05);
}

test("colours: the contrast formula agrees with the known boundary pairs on white", () => {
  // #767676 is the lightest grey with 4.5:1 on white, #949494 with 3:1.
  assert.ok(contrast("#767676", "#fff") >= 4.5 && contrast("#777777", "#fff") < 4.5);
  assert.ok(contrast("#949494", "#fff") >= 3 && contrast("#959595", "#fff") < 3);
  assert.equal(Math.round(contrast("#000", "#fff")), 21);
});

test("colours: text 4.5:1 and graphics 3:1 on paper and on the shade, in all four themes (WCAG 2.2, 1.4.3 and 1.4.11)", () => {
  const css = readFileSync(new URL("../src/style.css", import.meta.url), "utf8");
  const themes = [...css.matchAll(/:root \{([^}]*--paper[^}]*)\}/g)].map(([, body]) =>
    Object.fromEntries([...body.matchAll(/--([\w-]+): (#[0-9a-f]+);/g)].map(([, name, value]) => [name, value])),
  );
  assert.equal(themes.length, 4);
  for (const theme of themes) {
    for (const ground of [theme.paper, theme.shade]) {
      assert.ok(contrast(theme.ink, ground) >= 7, JSON.stringify(theme));
      assert.ok(contrast(theme.soft, ground) >= 4.5, JSON.stringify(theme));
      assert.ok(contrast(theme.line, ground) >= 3, JSON.stringify(theme));
    }
    assert.ok(contrast(theme["on-accent"], theme.accent) >= 4.5, JSON.stringify(theme));
    assert.ok(contrast(theme.accent, theme.paper) >= 3, JSON.stringify(theme));
  }
});
