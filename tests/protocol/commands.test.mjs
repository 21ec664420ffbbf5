// The commands that ask once and end: nappe ticket, nappe fire against the real napped.
import assert from "node:assert/strict";
import { test } from "node:test";
import { must, run } from "./lib/nappe.mjs";
import { larkfold, serving } from "./lib/napped.mjs";

test("what has to be said twice names the option that says it, and then it is done", async (t) => {
  const napped = await serving(t, { kitchen: larkfold, station: "garnish" });
  const line = "2: 1e 2e / 1h 2h";
  assert.match(must(napped, "ticket", line), /^Ticket 1, table 2/);
  const twice = run(napped, "ticket", line);
  assert.equal(twice.code, 1);
  assert.match(twice.err, /^table 2 already has this order, .*: say it again with --sure to send the same once more\n$/);
  assert.match(must(napped, "ticket", line, "--sure"), /^Ticket 2, table 2/);
  const early = run(napped, "fire", "2", "mains");
  assert.equal(early.code, 1);
  assert.match(early.err, /^the starters of table 2 have not been fired yet: say it again with --sure/);
  assert.match(must(napped, "fire", "2", "mains", "--sure"), /mains fired/);
});
