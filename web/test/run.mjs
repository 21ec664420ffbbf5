// Compiles the page's modules and runs the unit tests on them with node's own runner.
import { spawnSync } from "node:child_process";
import { readdirSync, rmSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const web = dirname(here);
const out = join(web, "node_modules", ".nappe-test");
rmSync(out, { recursive: true, force: true });

const run = (command, ...args) => {
  const done = spawnSync(command, args, { cwd: web, stdio: "inherit" });
  if (done.status !== 0) process.exit(done.status ?? 1);
};
run(process.execPath, join(web, "node_modules", "typescript", "bin", "tsc"), "-p", "tsconfig.test.json");
const tests = readdirSync(here)
  .filter((name) => name.endsWith(".test.mjs"))
  .map((name) => join(here, name));
run(process.execPath, "--test", ...tests);
