// Whoever has been answered finds what they did in the next read, also while a full board is being planned.
import assert from "node:assert/strict";
import { Agent } from "node:http";
import { after, before, test } from "node:test";
import { ask } from "./lib/described.mjs";
import { larkfold, Napped } from "./lib/napped.mjs";

let napped;
const agent = new Agent({ keepAlive: true }); // no time between the answer and the read

const post = async (path, body, headers) => {
  const answer = await ask(napped.base, "POST", path, { body, headers, agent });
  assert.equal(Math.floor(answer.status / 100), 2, `${path} ${body}: ${answer.text}`);
  return JSON.parse(answer.text);
};
const ticket = (line) =>
  post("/tickets?sure=true", line, { "Content-Type": "text/plain", "Idempotency-Key": crypto.randomUUID() });
const command = (action) =>
  post("/commands", JSON.stringify({ id: crypto.randomUUID(), by: "Mara", at_ms: Date.now(), do: action }), {
    "Content-Type": "application/json",
  });
const read = async (path) => (await ask(napped.base, "GET", path, { agent })).text;
const screen = async (name) => JSON.parse(await read(`/screens/${name}`)).document;

before(async () => {
  napped = await new Napped({ kitchen: larkfold, station: "garnish", args: ["--demo"] }).start();
  for (let table = 1; table <= 14; ++table) {
    const sent = await ticket(`${table}: 1e 2m / 1h 2p / 1d 2r`);
    if (table % 2) await command({ fire: { ticket: sent.ticket, course: "starters" } });
  }
});
after(async () => {
  agent.destroy();
  await napped.remove();
});

test("a ticket is on pass, floor and paper for whoever has just sent it, and a course fired at once is fired", async () => {
  let longest = 0;
  for (let round = 0; round < 25; ++round) {
    const { ticket: sent } = await ticket("15: 1m 2e");
    const begun = performance.now();
    const pass = await screen("pass");
    longest = Math.max(longest, performance.now() - begun);
    assert.ok(pass.tables[sent], `round ${round}: ticket ${sent} is not on the pass`);
    await command({ set_left: { dish: "pear", left: 100 - round } });
    assert.equal((await screen("floor")).dishes.pear.left, 100 - round);
    await command({ fire: { ticket: sent, course: "starters" } });
    assert.equal((await screen("pass")).tables[sent].courses.starters.state, "fired");
    await command({ cancel_ticket: { ticket: sent, reason: "the next one" } });
    assert.ok(!(await screen("floor")).tickets[sent]);
  }
  assert.ok(longest < 2000, `a read took ${longest} ms`);
});

test("the list of screens and the paper hold what was acknowledged before", async () => {
  const numbers = async () => JSON.parse(await read("/screens")).screens;
  for (let round = 0; round < 10; ++round) {
    const before = (await numbers()).floor;
    const { ticket: sent } = await ticket("15: 1m 2e");
    assert.ok((await numbers()).floor > before, `round ${round}`);
    await command({ cancel_ticket: { ticket: sent, reason: "the next one" } });
    const { ticket: again } = await ticket("15: 1m 2e");
    assert.match(await read("/paper"), /(TABLE|table) 15\b/, `round ${round}`);
    await command({ cancel_ticket: { ticket: again, reason: "the next one" } });
  }
});

test("reads at the same time as many acts are all answered, each with what its own sender did", async () => {
  await Promise.all(
    Array.from({ length: 12 }, async (_, at) => {
      const { ticket: sent } = await ticket(`${at + 1}: 1m`);
      assert.ok((await screen("pass")).tables[sent]);
    }),
  );
});
