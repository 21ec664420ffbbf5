// The prep list in a real terminal: crossed out with a key, kept between runs, taken back.
import assert from "node:assert/strict";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, test } from "node:test";
import { Terminal, root } from "./terminal.mjs";

// This screen asks no server: only a folder to keep things in.
const server = { folder: mkdtempSync(join(tmpdir(), "nappe-prep-")), };
const open = [];
const list = () => {
  const made = new Terminal(server);
  open.push(made);
  made.run("prep", join(root, "config/larkfold"), "--list");
  return made;
};
after(() => {
  for (const one of open) one.close();
  rmSync(server.folder, { recursive: true, force: true });
});

test("a line crossed out stays so in the next run, and the last crossing is taken back", async () => {
  const first = list();
  await first.sees("0 of ");
  await first.sees(/▸\[ \] larder {3}mackerel, cured: 3 portions past the date/);
  first.keys("Space");
  await first.sees("1 of ");
  first.keys("Space");
  await first.sees("2 of ");
  first.keys("q");
  await first.sees("left with 0");
  const second = list();
  const text = await second.sees("2 of ");
  assert.match(text, /\[x\] larder {3}mackerel, cured/);
  assert.match(text, /\[x\] 08:\d\d larder {3}fillet and salt the mackerel/);
  second.keys("u");
  await second.sees("taken back: fillet and salt the mackerel");
  await second.sees("1 of ");
  const third = list();
  await third.sees("another screen of this machine has this prep list");
  second.keys("q");
  await second.sees("left with 0");
});
