// The hand list in a real terminal: presses, the link cut, the server killed, sizes, colour, poor terminals.
import assert from "node:assert/strict";
import { after, afterEach, before, test } from "node:test";
import { execFileSync, spawnSync } from "node:child_process";
import { Server, Terminal, nappe, sleep, until } from "./terminal.mjs";

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

const tables_of_four = ["5", "7", "8", "10", "11", "12", "13", "15"];
/** A table with a pan full of emmer at garnish, so that no other table's can join it, fired. Answers its number. */
async function fire_emmer() {
  const table = tables_of_four.shift();
  server.nappe("ticket", `${table}: 1e 2e 3e 4e`);
  server.nappe("fire", table, "starters");
  return table;
}
const ended = async () => (await server.events("step_ended")).filter((event) => !event.body.inferred).length;

test("a press on the bar moves the list on, and the same key again takes it back", async () => {
  await fire_emmer();
  const screen = terminal();
  screen.run("station", "garnish");
  const first = await screen.sees(/emmer, pan A/);
  assert.match(first, /GARNISH {2}Ines, Tom/);
  assert.match(first, /^.{71}\d\d:\d\d:\d\d/m, "the clock stands at the right");
  const before_press = await ended();
  screen.keys("Space");
  await screen.sees("done. The same key again within 3 s: not done");
  await until("the press in the record", async () => (await ended()) === before_press + 1);
  screen.keys("Space");
  await screen.sees("not done: toast emmer A");
  await until("the press taken back", async () => (await server.events("step_reopened")).length === 1);
  await sleep(3300);
  screen.keys("Enter");
  await until("the second press", async () => (await ended()) === before_press + 2);
  await screen.sees(/on the heat/);
});

test("the server killed: the screen says so, keeps presses through its own restart, and hands them in once", async () => {
  await fire_emmer();
  const screen = terminal();
  screen.run("station", "garnish");
  await screen.sees(/TABLE|table/);
  const before_cut = await ended();
  await server.kill();
  await screen.sees(/on its own since 20:\d\d:\d\d/);
  screen.keys("Enter");
  await screen.sees(/on its own since 20:\d\d:\d\d, 1 press kept/);
  // The screen's own box is switched off and on: the press is in its file.
  screen.keys("q");
  await screen.sees("left with 0");
  screen.close();
  const again = terminal();
  again.run("station", "garnish");
  await again.sees("no server yet, 1 press kept");
  await server.start();
  await again.sees(/GARNISH {2}Ines, Tom {2,}(?!.*kept)/);
  await until("the press in the record", async () => (await ended()) > before_cut);
  const text = await again.sees(/^(?!.*kept)/s);
  assert.ok(!text.includes("on its own"));
  await sleep(500);
  const presses = (await server.events()).filter((event) => event.name === "pressed");
  const ids = presses.map((event) => event.command_id);
  assert.equal(new Set(ids).size, ids.length, "no press twice");
});

test("sizes from 40 x 12 to 120 x 40, and smaller ones do no harm", async () => {
  await fire_emmer();
  const screen = terminal();
  screen.run("station", "garnish");
  await screen.sees("space done   m one more");
  screen.resize(120, 40);
  await screen.sees("who waits for whom");
  screen.resize(40, 12);
  const small = await screen.sees("space done  m more");
  assert.ok(small.split("\n").every((line) => line.length <= 40));
  screen.resize(12, 4);
  await sleep(300);
  screen.resize(80, 24);
  await screen.sees("space done   m one more");
  screen.keys("q");
  await screen.sees("left with 0");
});

test("help and hands lie over the screen", async () => {
  const screen = terminal();
  screen.run("station", "garnish", "--as", "Ines");
  await screen.sees("GARNISH");
  screen.keys("h");
  await screen.sees("it's there: the rounds end");
  screen.keys("h");
  screen.keys("p");
  await screen.sees(/2 {2}Tom +here/);
  screen.keys("2");
  await screen.sees(/GARNISH {2}Ines, Tom away/);
  screen.keys("p", "2");
  await screen.sees(/GARNISH {2}Ines, Tom {3}/);
});

// A colour in an escape sequence: 30 to 37, 90 to 97, or 38;...
const coloured = /\x1b\[(?:[0-9;]*;)?(?:3[0-8]|9[0-7])(?:;[0-9;]*)?m/;

test("colour only with colour wanted: NO_COLOR, --no-colour and vt100 have none", async () => {
  await fire_emmer();
  // A move whose give is over is the one coloured thing.
  await server.ask("POST", "/demo/clock", { rate: 1, at_ms: (await server.ask("GET", "/clock")).now_ms + 600000 });
  const variants = [
    { env: { TERM: "xterm-256color" }, words: [], wanted: true },
    { env: { TERM: "xterm" }, words: [], wanted: true },
    { env: { TERM: "xterm-256color", NO_COLOR: "1" }, words: [], wanted: false },
    { env: { TERM: "xterm-256color" }, words: ["--no-colour"], wanted: false },
    { env: { TERM: "vt100" }, words: [], wanted: false },
  ];
  for (const { env, words, wanted } of variants) {
    const screen = terminal({ env });
    screen.run("station", "garnish", ...words);
    await screen.sees(/GARNISH/);
    await screen.sees(/give|doing|! /);
    await sleep(300);
    assert.equal(coloured.test(screen.colours()), wanted, `${JSON.stringify(env)} ${words}:\n${screen.colours()}`);
    screen.close();
  }
});

test("a terminal that cannot: one sentence and exit code 1", async () => {
  const dumb = terminal({ env: { TERM: "dumb" } });
  dumb.run("station", "garnish");
  const text = (await dumb.sees("left with 1")).replaceAll("\n", "");
  assert.match(text, /TERM=dumb cannot move its cursor.*`nappe status` prints/);
  const pipe = spawnSync(nappe, ["pass"], { encoding: "utf8", env: { ...process.env, TERM: "xterm" } });
  assert.equal(pipe.status, 1);
  assert.match(pipe.stderr, /not a terminal/);
  const unknown = terminal({ env: { TERM: "no-such-terminal" } });
  unknown.run("pass");
  await unknown.sees(/nothing is known about the terminal/);
});

test("without UTF-8 every letter is ASCII", async () => {
  const screen = terminal({ env: { LC_ALL: "C" } });
  screen.run("station", "garnish");
  const text = await screen.sees(/-{40}/);
  assert.ok(/^[\x20-\x7e\n]*$/.test(text), text);
});

test("a station that is not there is one sentence, and the screen can still be left", async () => {
  const screen = terminal();
  screen.run("station", "grill");
  await screen.sees(/no screen "station:grill"|station:grill/);
  screen.keys("q");
  await screen.sees("left with 0");
});

test("the terminal is given back as it was, also on SIGTERM", async () => {
  const screen = terminal();
  screen.run("station", "garnish");
  await screen.sees("GARNISH");
  const shell = Number(screen.tmux("display-message", "-p", "#{pane_pid}").trim());
  const children = execFileSync("ps", ["-o", "pid=", "--ppid", String(shell)], { encoding: "utf8" });
  const client = Number(children.trim().split(/\s+/)[0]);
  process.kill(client, "SIGTERM");
  const text = await screen.sees("left with 0");
  assert.ok(!text.includes("GARNISH"), "the screen is the shell's again");
});
