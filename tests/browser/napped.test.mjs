// The built page against the real server, where it is built: NAPPED names the program, NAPPE_CONFIG a kitchen's folder.
import assert from "node:assert/strict";
import { join } from "node:path";
import test from "node:test";
import { row, theBrowser, until, verb } from "./harness.mjs";
import { RealServer, why } from "./real_server.mjs";

test("napped: tickets come, are fired, held, moved, sent and brought back; killed and started again nothing is lost", { skip: why }, async (t) => {
  const server = await new RealServer().start();
  t.after(() => server.stop());
  const five = await server.ticket("5: 1e 2m 3m 4k / 1h 2h 3p 4u / 1d 2d 3d 4r", "one");
  const six = await server.ticket("6: 1e 2k!milk / 1h 2u", "two");
  const context = await (await theBrowser()).newContext({ viewport: { width: 1180, height: 820 }, serviceWorkers: "block" });
  t.after(() => context.close());
  const page = await context.newPage();
  const errors = [];
  page.on("pageerror", (error) => errors.push(String(error)));
  await page.goto(server.address);

  await page.click(`.chips [data-key="${five}-starters"]`);
  await verb(page, "fire").click();
  const starters = row(`${five}-starters`);
  await page.waitForSelector(`${starters}.fired`);
  await until(async () => (await page.locator(`${starters} .thread`).count()) >= 4);
  const meet = async () => /\d\d:\d\d/.exec(await page.locator(`${starters} .time b`).innerText())[0];
  const before = await meet();
  await verb(page, "meet +1 min").click();
  await verb(page, "meet +1 min").click();
  await until(async () => (await page.locator(`${starters} .time.preview`).count()) === 0 && (await meet()) !== before);
  const minutes = (text) => Number(text.slice(0, 2)) * 60 + Number(text.slice(3));
  assert.equal((minutes(await meet()) - minutes(before) + 1440) % 1440, 2);
  await verb(page, "hold").click();
  await page.waitForSelector(`${starters}.held`);
  await verb(page, "release").click();
  await page.waitForSelector(`${starters}.fired`);

  // Killed with a press on its way: the page says so, keeps the press, and the server has it once.
  await server.kill();
  await page.waitForSelector(".link.cut");
  await page.click(`.chips [data-key="${six}-starters"]`);
  await verb(page, "fire").click();
  assert.match(await page.locator(".link").innerText(), /1 press waits/);
  await server.start();
  await page.waitForSelector(".link.cut", { state: "detached", timeout: 20_000 });
  await page.waitForSelector(row(`${six}-starters`));
  assert.ok(await page.locator(`${starters}.fired`).isVisible(), "what was done before the kill is still done");
  assert.match(await page.locator(row(`${six}-starters`)).innerText(), /2 MILK/);

  // Nothing of it was cooked: it goes only when it is said so that it is meant.
  await page.click(starters);
  await verb(page, "gone").click();
  const refused = page.locator(".hand .refusal");
  await Promise.race([refused.waitFor(), page.waitForSelector(starters, { state: "detached" })]);
  if (await refused.isVisible()) await refused.getByRole("button", { name: "gone all the same" }).click();
  await page.waitForSelector(starters, { state: "detached" });
  await verb(page, "bring back").click();
  await page.waitForSelector(starters);
  if (process.env.NAPPE_SHOTS) await page.screenshot({ path: join(process.env.NAPPE_SHOTS, "napped.png") });
  assert.deepEqual(errors, []);
  assert.ok((await page.locator(".accent").count()) <= 1);
});
