// Orders typed in a real terminal.
import assert from "node:assert/strict";
import { after, afterEach, before, test } from "node:test";
import { Server, Terminal, until } from "./terminal.mjs";

const server = new Server();
const open = [];
const terminal = (options) => {
  const made = new Terminal(server, options);
  open.push(made);
  return made;
};

before(async () => {
  await server.start();
  await server.open();
});
afterEach(() => {
  for (const one of open.splice(0)) one.close();
});
after(async () => {
  await server.stop();
});

test("an order is typed: the table as it sits, the allergy on the person, the time before it is sent; then it is sent once", async () => {
  const floor = terminal();
  floor.run("floor");
  await floor.sees("FLOOR");
  floor.keys("-l", "8: 1e 2m 3m 4k!gluten 5e 6k / 1h 2h 3p 4h 5p 6u");
  const seen = await floor.sees("[GLUTEN]");
  assert.match(seen, /TABLE 8/);
  assert.match(seen, /position 4, gluten: not emmer \(wheat\)/);
  await floor.sees(/can be: starters \d\d:\d\d/);
  floor.keys("Enter");
  await floor.sees("sent: 8: 1e");
  await until("the ticket", async () => (await server.events("ticket_sent")).length === 1);
  await floor.sees(/ 8 {2}starters could be \d\d:\d\d/);
});

test("24: two terminals cannot both sell the last pollack: the second is told, and has its line back", async () => {
  const count = { set_left: { dish: "pollack", left: 1 } };
  await server.ask("POST", "/commands", { id: "left-1", by: "Mara", at_ms: Date.now(), do: count });
  const one = terminal();
  const two = terminal();
  one.run("floor");
  two.run("floor");
  await one.sees("p pollack 1!");
  await two.sees("p pollack 1!");
  one.keys("-l", "3: 1k / 1p");
  two.keys("-l", "9: 1k / 1p");
  await one.sees("TABLE 3");
  await two.sees("TABLE 9");
  one.keys("Enter");
  two.keys("Enter");
  const sent = await until("one of them", async () => {
    const all = await server.events("ticket_sent");
    return all.length >= 2 && all;
  });
  assert.equal(sent.length, 2);
  const loser = JSON.stringify(sent.at(-1)).includes('"table":"3"') ? two : one;
  await loser.sees(/pollack is off: table [39] must choose again/);
  await loser.sees(/[39]: 1k \/ 1p/);
  assert.equal((await server.events("ticket_sent")).length, 2);
});

test("tab changes the table's open ticket", async () => {
  const floor = terminal();
  floor.run("floor");
  await floor.sees("FLOOR");
  floor.keys("-l", "8: 4h / / 1d");
  floor.keys("Escape");
  floor.keys("-l", "8: - / 3h");
  await floor.sees("tab change ticket 1");
  floor.keys("Tab");
  await floor.sees("enter change ticket 1");
  floor.keys("Enter");
  await until("the change", async () => (await server.events("plate_changed")).length === 1);
});
