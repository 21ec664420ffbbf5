// The run-in in a real terminal, the small commands, and a night played through the public interface.
import assert from "node:assert/strict";
import { spawn, spawnSync } from "node:child_process";
import { after, afterEach, before, test } from "node:test";
import { Server, Terminal, nappe, root, until } from "./terminal.mjs";
import { join } from "node:path";

const server = new Server();
const open = [];
const terminal = (options) => {
  const made = new Terminal(server, options);
  open.push(made);
  return made;
};

before(async () => {
  await server.start();
});
afterEach(() => {
  for (const one of open.splice(0)) one.close();
});
after(async () => {
  await server.stop();
});

test("before the service: the screens wait and say so; a ticket is refused in words", async () => {
  const screen = terminal();
  screen.run("pass");
  await screen.sees("the service is not open");
  const refused = spawnSync(nappe, ["ticket", "8: 1e", "--server", server.address], { encoding: "utf8" });
  assert.equal(refused.status, 1);
  assert.match(refused.stderr, /^no service is open.*\n$/);
  const station = terminal();
  station.run("station", "garnish");
  await station.sees("no service is open: waiting for the hand list");
  await server.open();
  await station.sees("nothing on the list");
  await screen.sees("Friday");
});

test("small commands: ticket, status, refusals in one sentence", async () => {
  const sent = server.nappe("ticket", "8: 1e 2m 3m 4k!gluten 5e 6k / 1h 2h 3p 4h 5p 6u", "--key", "once");
  assert.match(sent, /^Ticket 1, table 8: .*gluten/i);
  assert.equal(server.nappe("ticket", "8: 1e 2m 3m 4k!gluten 5e 6k / 1h 2h 3p 4h 5p 6u", "--key", "once"), sent);
  const wrong = spawnSync(nappe, ["ticket", "8: 1x", "--server", server.address], { encoding: "utf8" });
  assert.equal(wrong.status, 1);
  assert.equal(wrong.stderr.trim().split("\n").length, 1, wrong.stderr);
  const status = server.nappe("status");
  assert.match(status, /^ {2}8 {2}starters +6 {2}waiting/m);
  assert.match(status, /position 4 GLUTEN/);
  const nowhere = spawnSync(nappe, ["fire", "99", "mains", "--server", server.address], { encoding: "utf8" });
  assert.match(nowhere.stderr, /table 99 has no ticket/);
  assert.match(server.nappe("hands", "garnish", "tom", "off"), /Garnish: Tom away/);
  assert.match(server.nappe("hands", "Garnish", "Tom", "on"), /Garnish: Tom here/);
  const gone_server = spawnSync(nappe, ["status", "--server", "127.0.0.1:1"], { encoding: "utf8" });
  assert.equal(gone_server.status, 1);
  assert.match(gone_server.stderr, /no answer from the server at 127.0.0.1:1/);
});

test("fire, hold, release, move the meet and gone from the keyboard, each with the line's answer", async () => {
  const screen = terminal();
  screen.run("pass", "--as", "Mara");
  await screen.sees(/8 {2}starters 6/);
  screen.keys("f");
  await screen.sees("8 starters: fired");
  await screen.sees(/emmer A, garnish/);
  const meet = async () => (await server.ask("GET", "/screens/pass")).document.tables["1"].courses.starters.meet_ms;
  const first = await meet();
  screen.keys("+");
  await screen.sees(/8 starters: meets \d\d:\d\d:\d\d/);
  await until("the meet a minute later", async () => (await meet()) === first + 60000);
  screen.keys("-");
  await until("the meet as it was", async () => (await meet()) === first);
  screen.keys("Space");
  await screen.sees("8 starters: held");
  screen.keys("Space");
  await screen.sees("8 starters: released");
  screen.keys("g");
  await screen.sees(/\[!\] anyway/);
  screen.keys("2", "!");
  await screen.sees(/8 starters: gone/);
  await until("all gone", async () => (await server.events("course_gone")).length === 1);
  await screen.sees(/gone \d\d:\d\d:\d\d, spread/);
  screen.keys("Down", "Down", "b");
  await screen.sees(/8 starters: back at the pass/);
  const by = (await server.ask("GET", "/events?limit=1000")).filter((event) => event.name === "course_fired");
  assert.equal(by.length, 1);
});

test("a speech, up and back, slower, and a plate cooked again: each in one gesture, each with the line's answer", async () => {
  const screen = terminal();
  screen.run("pass", "--as", "Mara");
  await screen.sees(/8 {2}mains 6/);
  const key = async () => {
    const { tables } = (await server.ask("GET", "/screens/pass")).document;
    return tables["1"].courses.mains.state;
  };
  while (!/▸8 {2}mains/.test(screen.text())) screen.keys("Down");
  screen.keys("f");
  // Its starters are back at the pass: the mains are fired over them only when that is meant.
  await screen.sees(/the starters of table 8 have not gone yet: say it again/);
  await screen.sees(/\[!\] anyway/);
  assert.equal(await key(), "waiting");
  screen.keys("!");
  await until("mains fired", async () => (await key()) === "fired");
  while (!/▸8 {2}mains/.test(screen.text())) screen.keys("Up");
  screen.keys("s");
  await screen.sees("8 mains: a speech");
  screen.keys("2");
  await screen.sees(/table 8: speech, 10 min/);
  await screen.sees(/8 {2}mains 6 +speech/);
  screen.keys("u");
  await screen.sees("table 8: speech over");
  screen.keys("u");
  await screen.sees("table 8: up");
  await until("held", async () => (await key()) === "held");
  screen.keys("u");
  await until("fired again", async () => (await key()) === "fired");
  screen.keys(">");
  await screen.sees("table 8: slower");
  screen.keys("3", "x");
  await screen.sees("8 mains: again, because");
  screen.keys("1");
  await until("the refire", async () => (await server.events("refire_ordered")).length === 1);
  screen.keys("c");
  await screen.sees("alone: last up, first down");
  screen.keys("Escape");
});

test("a night is played through the public interface", { timeout: 900000 }, async () => {
  server.nappe("close", "--sure");
  const words = ["play", join(root, "config/larkfold"), "--seed", "3", "--from", "19:20", "--speed", "60"];
  const night = spawn(nappe, [...words, "--server", server.address], { stdio: ["ignore", "pipe", "inherit"] });
  let told = "";
  night.stdout.on("data", (data) => (told += data));
  const ended = new Promise((done) => night.once("exit", done));
  try {
    await until("courses that leave in the fast part", () => /table \d+ starters gone, spread/.test(told), 240000);
    await until("the running clock", async () => (await server.ask("GET", "/clock")).rate === 60, 240000);
    const screen = terminal({ columns: 120, rows: 40 });
    screen.run("station", "garnish");
    await screen.sees("GARNISH");
    await screen.sees(/emmer|leek|turnips|beet|swede/, 60000);
    const before_minute = told.length;
    await until("the night going on", () => told.length > before_minute + 100, 60000);
  } finally {
    night.kill("SIGINT");
    await ended;
  }
  assert.match(told, /\d+ tables, \d+ courses, \d+ plates; .* refusals?\n$/);
  assert.equal((await server.ask("GET", "/clock")).rate, 1, "the clock is left at a speed people can live by");
});
