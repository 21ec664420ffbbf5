// The real client against the real napped; what it keeps goes into the test's own folder.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { dirname, join } from "node:path";
import { program } from "./napped.mjs";

export const nappe = process.env.NAPPE ?? join(dirname(program), "nappe");

/** Its words, and what it exits with. */
export const run = (napped, ...args) => {
  const env = { ...process.env, XDG_STATE_HOME: join(napped.folder, "state") };
  const done = spawnSync(nappe, [...args, "--server", `127.0.0.1:${napped.port}`], { encoding: "utf8", env });
  return { code: done.status, out: done.stdout, err: done.stderr };
};

/** What it prints when all is well. */
export const must = (napped, ...args) => {
  const done = run(napped, ...args);
  assert.equal(done.code, 0, `${args.join(" ")}: ${done.err}`);
  return done.out;
};
