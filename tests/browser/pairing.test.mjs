// A browser that the server does not know: it shows a word, the pass says what it is on its page, it works, and its
// pairing is ended there.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import test from "node:test";
import { theBrowser, until } from "./harness.mjs";
import { RealServer, why } from "./real_server.mjs";

/** A server that wants devices paired, and a browser whose contexts end with the test. */
async function gated(t) {
  const server = await new RealServer({ args: ["--pairing"] }).start();
  const contexts = [];
  t.after(async () => {
    for (const context of contexts) await context.close();
    await server.stop();
  });
  return { server, browser: await theBrowser(), contexts };
}

test("a word on one page, said on another; ended, it is a word again", { skip: why }, async (t) => {
  const { server, browser, contexts } = await gated(t);
  const { address, folder } = server;
  const console_token = readFileSync(join(folder, "devices.db.console"), "utf8").trim();
  const blank = async () => {
    const context = await browser.newContext({ viewport: { width: 1180, height: 820 }, serviceWorkers: "block" });
    contexts.push(context);
    const page = await context.newPage();
    await page.goto(address);
    const word = (await page.locator(".pair-word").innerText()).toLowerCase();
    assert.match(word, /^[a-z]{4}$/);
    return { page, word };
  };

  const pass = await blank();
  const said = await fetch(`${address}devices`, {
    method: "POST",
    headers: { "Content-Type": "application/json", Authorization: `Bearer ${console_token}` },
    body: JSON.stringify({ word: pass.word, role: "pass" }),
  });
  assert.equal(said.status, 201);
  await pass.page.waitForSelector(".head");
  await pass.page.waitForSelector(".runin-room");
  assert.equal(await pass.page.evaluate(() => document.cookie), "", "no script can read the token");
  assert.ok(!(await pass.page.evaluate(() => JSON.stringify(localStorage))).includes("token"));

  const second = await blank();
  await pass.page.goto(`${address}#/devices`);
  await pass.page.reload();
  const choice = pass.page.getByLabel(`What ${second.word} is`);
  await choice.waitFor();
  await until(async () => (await choice.locator("option").count()) > 6);
  await choice.selectOption("floor");
  await second.page.waitForSelector(".runin-room");

  await pass.page.locator("li", { hasText: "floor" }).getByRole("button", { name: "end its pairing" }).click();
  await second.page.waitForSelector(".pair-word");
  assert.notEqual((await second.page.locator(".pair-word").innerText()).toLowerCase(), second.word);
});

test("68: a QR code from the pass makes a blank tablet a garnish screen, once; a used one says so", { skip: why || !process.env.NAPPE }, async (t) => {
  const { server, browser, contexts } = await gated(t);
  const words = ["--server", `127.0.0.1:${server.port}`, "--token-file", join(server.folder, "devices.db.console")];
  const began = performance.now();
  const printed = execFileSync(process.env.NAPPE, ["pair", "new", "as", "station", "garnish", ...words], { encoding: "utf8" });
  assert.match(printed, /[█▀▄]{10}/, "a code to be photographed");
  const url = /http:\/\/\S+#\/pair\/\S+/.exec(printed)[0];
  const blank = async () => {
    const context = await browser.newContext({ viewport: { width: 820, height: 1180 }, serviceWorkers: "block" });
    contexts.push(context);
    return await context.newPage();
  };
  const tablet = await blank();
  await tablet.goto(url);
  await tablet.waitForSelector(".station >> text=Garnish");
  assert.ok(performance.now() - began < 180_000, "within three minutes");
  assert.ok(!(await tablet.evaluate(() => location.href)).includes("pair"), "the code does not stay in the address");
  assert.equal(await tablet.evaluate(() => document.cookie), "");
  assert.match(execFileSync(process.env.NAPPE, ["devices", ...words], { encoding: "utf8" }), /garnish +station garnish/);
  const thief = await blank();
  await thief.goto(url);
  await thief.waitForSelector("text=This code has been used, or is older than ten minutes");
  assert.match((await thief.locator(".pair-word").innerText()).toLowerCase(), /^[a-z]{4}$/);
});
