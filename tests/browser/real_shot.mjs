// A picture of the real page on the real server with the demo night playing: node real_shot.mjs FILE [FROM]
// Needs NAPPED and NAPPE in the environment and the page built.
import { spawn } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";
import { launch_options, root } from "./browser.mjs";

const [file, from = "20:14"] = process.argv.slice(2);
const config = fileURLToPath(new URL("../../config/larkfold", import.meta.url));
const folder = mkdtempSync(join(tmpdir(), "nappe-shot-"));
const port_file = join(folder, "port");
const server = spawn(process.env.NAPPED, [
  config, "--demo", "--journal", join(folder, "night.db"), "--listen", "127.0.0.1:0", "--port-file", port_file, "--web", root,
]);
const wait = (ms) => new Promise((done) => setTimeout(done, ms));
let port = 0;
while (!(port > 0)) {
  await wait(100);
  try {
    port = Number(readFileSync(port_file, "utf8"));
  } catch {
    // not written yet
  }
}
const play = spawn(process.env.NAPPE, ["play", config, "--speed", "10", "--from", from, "--server", `127.0.0.1:${port}`]);
const browser = await chromium.launch(launch_options);
const page = await browser.newPage({ viewport: { width: 1180, height: 820 }, serviceWorkers: "block", timezoneId: "UTC" });
await page.goto(`http://127.0.0.1:${port}/`);
await page.waitForFunction((time) => document.querySelector(".clock")?.textContent?.includes(`time ${time}`), from, {
  timeout: 240_000,
});
await page.waitForTimeout(Number(process.env.AFTER ?? 20) * 1000);
const row = page.locator(".row").nth(Number(process.env.ROW ?? 2));
if (process.env.OPEN) await row.locator(".gutter").click();
await page.waitForTimeout(600);
await page.screenshot({ path: file });
await browser.close();
play.kill();
server.kill();
await Promise.all([play, server].map((one) => new Promise((done) => (one.exitCode !== null ? done() : one.once("exit", done)))));
rmSync(folder, { recursive: true, force: true });
