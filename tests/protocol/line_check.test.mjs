// A house that asks for its line check before it opens: the real server, and the commands of the real client.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { cpSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { larkfold, serving, source, until } from "./lib/napped.mjs";

const client = process.env.NAPPE ?? join(source, "build", "debug", "bin", "nappe");

// A copy of the demo's house that asks for the check.
function house(folder) {
  const copy = join(folder, "house");
  cpSync(larkfold, copy, { recursive: true });
  cpSync(join(source, "config", "rules"), join(folder, "rules"), { recursive: true });
  const file = join(copy, "prep.json");
  const sheet = JSON.parse(readFileSync(file, "utf8"));
  sheet.open_needs_check = true;
  writeFileSync(file, JSON.stringify(sheet));
  return { copy, items: sheet.items.map((item) => item.id) };
}

test("a service cannot be opened while a check is missing unless a named person says so", async (t) => {
  const napped = await serving(t, { kitchen: larkfold, open: "" });
  await napped.kill("SIGTERM");
  const { copy, items } = house(napped.folder);
  napped.options = { kitchen: copy, open: "", args: ["--rules", join(napped.folder, "rules")] };
  await napped.start();
  const env = { ...process.env, XDG_STATE_HOME: join(napped.folder, "state") };
  const nappe = (...words) => {
    const server = ["--server", `127.0.0.1:${napped.port}`];
    const said = spawnSync(client, [...words, ...server], { encoding: "utf8", env });
    return { code: said.status, out: said.stdout, err: said.stderr };
  };

  const bare = nappe("open", "Friday", "--as", "mara");
  assert.equal(bare.code, 1);
  assert.match(bare.err, /^the line check lacks 23 of 23 \(yeast broth, emmer soaked, mackerel cured, leeks, \.\.\.\): check them, or a person/);
  // What has to be checked the house says, not who asks.
  const claimed = await napped.command({ open_service: { name: "Friday", document: "", wanted: [] } }, "mara");
  assert.equal(claimed.status, 409);

  for (const item of items.slice(1)) assert.equal(nappe("prep", copy, "--cross", `check/${item}`).code, 0);
  const one = nappe("open", "Friday", "--prep", copy, "--as", "mara");
  assert.match(one.err, /^the line check lacks 1 of 23 \(yeast broth\)/);
  assert.equal(nappe("open", "Friday", "--prep", copy, "--sure").code, 1); // nobody of the house says so

  const open = nappe("open", "Friday", "--prep", copy, "--as", "mara", "--sure");
  assert.equal(open.out, 'the service "Friday" is open\n');
  const event = (await napped.json("/events?limit=1000")).find((e) => e.name === "service_opened");
  assert.deepEqual(event.body.unchecked, ["yeast broth"]);
  assert.equal(event.body.by, "Mara");

  assert.equal(nappe("close").code, 0);
  assert.equal(nappe("prep", copy, "--cross", `check/${items[0]}`).code, 0);
  assert.equal(nappe("open", "Saturday", "--prep", copy).code, 0);
  await until("the second opening", async () => {
    const all = (await napped.json("/events?limit=1000")).filter((e) => e.name === "service_opened");
    return all.length === 2 && all[1].body.unchecked === undefined;
  });
});
