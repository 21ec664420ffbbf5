// The record from the command line: nappe batch, probe, record, close-down and handover against the real napped.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { must, run } from "./lib/nappe.mjs";
import { larkfold, program, serving } from "./lib/napped.mjs";

const refused = (napped, ...args) => {
  const done = run(napped, ...args);
  assert.equal(done.code, 1, `${args.join(" ")}: ${done.out}`);
  assert.equal(done.err.trim().split("\n").length, 1, "one sentence");
  return done.err;
};

test("a batch from making to the close, by the sheet of the house, and its page in one command", async (t) => {
  const napped = await serving(t, { kitchen: larkfold, station: "garnish" });
  const by = ["--by", "Tom"];
  const made = must(napped, "batch", "made", "swede_puree", "--grams", "7000", "--lot", "swede 4711", ...by);
  const id = /^(swede_puree-\d{8}): use by .*house: 3 days/.exec(made)[1];
  assert.match(must(napped, "batch", "list"), new RegExp(`${id} .*7000 g .*walk-in .*not for use: it has no label`));
  const label = must(napped, "batch", "label", id, ...by);
  assert.match(label, /SWEDE PUREE\n/);
  assert.match(label, /HOLDS {3}MILK/);
  assert.match(label, /[█▀▄]{7}/);
  must(napped, "probe", "check", "blue", "iced", "0.4", "--by", "Dov");
  assert.match(must(napped, "batch", "chill", id, "90", "--air", "-5", "--probe", "blue", ...by), /Too early to say/);
  assert.match(must(napped, "probe", "read", "blue", "7.5", "--batch", id, ...by), /Reached 8 C|Reached 8 °C/);
  assert.match(must(napped, "batch", "reheat", id, "75", "30", "--probe", "blue", "--by", "Ines"), /^Reading 3.*Within the limit of Larkfold \(/);
  assert.match(refused(napped, "batch", "reheat", id, "75", "30", "--probe", "blue", ...by), /was reheated at .* by Ines: once only/);
  assert.match(refused(napped, "batch", "reheat", "none", "75", "30", "--probe", "blue", ...by), /there is no batch "none"/);

  const text = must(napped, "record", "batch", id);
  for (const part of [/from lots {7}swede 4711/, /rules in force {2}England/, /7\.5 C {2}probe blue \(iced water 0\.4 C at .* by Dov: passed\)/, /reheated, 75\.0 C for 30 s/])
    assert.match(text, part);
  const page = join(napped.folder, "page.html");
  must(napped, "record", "batch", id, "--html", page);
  assert.match(readFileSync(page, "utf8"), /^<!doctype html>[^]*<\/html>\n$/);
  assert.match(must(napped, "record", "csv"), /^reading,taken/);

  // Closing: the batch wants a word; reheated food is thrown; the handover stays unread until another answers.
  assert.match(refused(napped, "close"), new RegExp(`nobody has said keep, cool or throw for ${id}`));
  assert.equal(run(napped, "close-down").code, 1);
  assert.match(refused(napped, "batch", "keep", id, "--by", "Dov"), /same day; throw it/);
  must(napped, "batch", "throw", id, "reheated", "--by", "Dov");
  assert.match(must(napped, "close-down", "--by", "Dov", "--note", "two loins short"), /every batch has keep, cool or throw/);
  must(napped, "close");
  assert.match(must(napped, "handover"), /handover 1, from Dov: two loins short/);
  assert.match(refused(napped, "handover", "1", "--by", "Dov"), /whoever comes next/);
  must(napped, "handover", "1", "--by", "Perrin");
  assert.match(must(napped, "handover"), /no handover is unread/);
});

test("one changed byte of a stored reading is found, by the running server and on the file, and named", async (t) => {
  const napped = await serving(t, { kitchen: larkfold, station: "garnish" });
  must(napped, "probe", "read", "blue", "9.4", "--place", "walk-in", "--by", "Dov");
  assert.match(must(napped, "record", "check"), /as it was written: \d+ events/);
  const change = "UPDATE events SET body = replace(body, '9.4', '4.4') WHERE name = 'reading_taken'";
  const changed = spawnSync("sqlite3", [napped.journal, change], { encoding: "utf8" });
  assert.equal(changed.status, 0, changed.stderr);
  assert.match(refused(napped, "record", "check"), /event \d+ \(reading_taken\) is not as it was written/);
  const verified = spawnSync(program, ["--verify", napped.journal], { encoding: "utf8" });
  assert.equal(verified.status, 1);
  assert.match(verified.stderr, /event \d+ \(reading_taken\) is not as it was written/);
});

test("the record outlives a killed server and the next service", async (t) => {
  const napped = await serving(t, { kitchen: larkfold, station: "garnish" });
  const made = must(napped, "batch", "made", "potatoes", "--portions", "24", "--by", "Tom");
  const id = /^(potatoes-\d{8})/.exec(made)[1];
  must(napped, "batch", "label", id, "--by", "Tom");
  must(napped, "probe", "read", "blue", "4", "--place", "walk-in", "--by", "Dov");
  must(napped, "batch", "keep", id, "--by", "Dov");
  must(napped, "close");
  must(napped, "open", "the day after");
  await napped.kill();
  await napped.start();
  assert.match(must(napped, "batch", "list"), new RegExp(`${id} .*24 left .*walk-in`));
  assert.ok(existsSync(napped.journal));
  assert.equal(spawnSync(program, ["--verify", napped.journal], { encoding: "utf8" }).status, 0);
});
