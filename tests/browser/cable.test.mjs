// The page with its network cable out for four minutes of kitchen time, reloaded and with the server killed meanwhile.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import test from "node:test";
import { Cable } from "../crash/lib/cable.mjs";
import { row, theBrowser, until, verb } from "./harness.mjs";
import { RealServer, why } from "./real_server.mjs";

const minute = 60_000;

/** The presses that wait in the browser's storage, oldest first. */
const kept = (page) =>
  page.evaluate(() =>
    Object.keys(localStorage)
      .filter((key) => key.startsWith("nappe.press."))
      .map((key) => JSON.parse(localStorage.getItem(key)))
      .sort((a, b) => a.order - b.order)
      .map((entry) => entry.command),
  );

test("56, 57: four minutes without network, a reload and a killed server: every press once, at its own time; the page says since when it is alone", { skip: why, timeout: 200_000 }, async (t) => {
  const server = await new RealServer({ args: ["--demo"] }).start();
  t.after(() => server.stop());
  const cable = await new Cable(() => server.port).listen();
  t.after(() => cable.close());
  const tables = ["5", "7", "8", "11", "12"];
  const tickets = [];
  for (const table of tables) {
    const ticket = await server.ticket(`${table}: 1e 2k 3m / 1h 2h 3p`, table);
    tickets.push(ticket);
    assert.equal((await server.command({ fire: { ticket, course: "starters" } })).status, 200);
  }
  const context = await (await theBrowser()).newContext({ viewport: { width: 1180, height: 820 }, serviceWorkers: "allow" });
  t.after(() => context.close());
  const page = await context.newPage();
  const errors = [];
  page.on("pageerror", (error) => errors.push(String(error)));
  await page.goto(`http://${cable.address}/`);
  await page.waitForSelector(row(`${tickets[0]}-starters`));
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await until(() => page.evaluate(() => caches.keys().then((names) => names.length > 0)));
  assert.equal((await server.post("demo/clock", { rate: 12 })).status, 200);
  await page.waitForTimeout(1_500);

  cable.cut();
  const cut_ms = (await server.json("clock")).now_ms;
  const made = [];
  const press = async (what) => {
    const before = made.length;
    await what();
    await until(async () => (await kept(page)).length > before);
    made.push((await kept(page)).at(-1));
    await page.waitForTimeout(700);
  };
  const open = (i, course = "starters") => page.focus(row(`${tickets[i]}-${course}`));
  const key = (name) => page.keyboard.press(name);
  // Before the page knows that it is alone, and after.
  await press(async () => { await open(0); await key("h"); });
  await page.waitForSelector(".link.cut", { timeout: 60_000 });
  assert.match(await page.locator(".link").innerText(), /Cut off from the kitchen since \d\d:\d\d\. Clocks run on\./);
  await press(async () => { await open(1); await key("h"); });
  await press(async () => { await open(1); await key("u"); });
  await press(async () => { await open(2); await key(">"); });

  await page.reload();
  await page.waitForSelector(".link.cut", { timeout: 60_000 });
  assert.match(await page.locator(".link").innerText(), /4 presses wait for the link/);
  await press(async () => { await open(3); await key("u"); });
  await server.kill();
  await server.start();
  await press(async () => { await open(4); await key("h"); });
  await press(async () => { await open(0); await key(">"); });
  assert.match(await page.locator(".link").innerText(), /7 presses wait for the link/);
  await server.post("demo/clock", { rate: 12 });
  await until(async () => (await server.json("clock")).now_ms - cut_ms >= 4 * minute, 60_000);
  assert.equal((await kept(page)).length, 7, "nothing came through, nothing was given up");

  cable.plug();
  await page.waitForSelector(".link.cut", { state: "detached", timeout: 60_000 });
  await until(async () => (await kept(page)).length === 0, 30_000);
  const ids = made.map((command) => `'${command.id}'`).join(",");
  const sql = `SELECT c.id, c.at_ms, c.seq_first, c.seq_last FROM commands c WHERE c.id IN (${ids}) ORDER BY c.seq_first`;
  const rows = JSON.parse(execFileSync("sqlite3", ["-json", server.journal, sql], { encoding: "utf8" }));
  assert.equal(rows.length, made.length, "each press is in the journal, once");
  for (const one of rows) {
    assert.equal(one.at_ms, made.find((command) => command.id === one.id).at_ms, "dated when it was made");
    assert.notEqual(one.seq_first, null, "each of these did something");
  }
  const order = [...rows].sort((a, b) => a.seq_first - b.seq_first).map((one) => one.id);
  assert.deepEqual(order, made.map((command) => command.id), "handed in in the order they were made");
  // What they did is on the page now.
  await page.waitForSelector(`${row(`${tickets[4]}-starters`)}.held`);
  await page.waitForSelector(`${row(`${tickets[0]}-starters`)}.held`);
  assert.deepEqual(errors, []);
});
