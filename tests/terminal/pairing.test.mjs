// A blank device in a real terminal: it shows a word, the pass says what it is, it works; its pairing ends, it asks
// again. And the paper line when the server is dead.
import assert from "node:assert/strict";
import { execFileSync, spawnSync } from "node:child_process";
import { readFileSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";
import { after, afterEach, before, test } from "node:test";
import { Server, Terminal, nappe, until } from "./terminal.mjs";

const server = new Server(["--pairing"]);
const open = [];
const terminal = (options) => {
  const made = new Terminal(server, options);
  open.push(made);
  return made;
};
const state = (name) => ({ env: { XDG_STATE_HOME: join(server.folder, name) } });

before(async () => {
  server.args.push("--paper", join(server.folder, "paper"));
  await server.start();
  await server.open();
});
afterEach(() => {
  for (const one of open.splice(0)) one.close();
});
after(() => server.stop());

async function word_on(screen) {
  const text = await screen.sees(/nappe pair [a-z]{4} as/);
  return /nappe pair ([a-z]{4}) as/.exec(text)[1];
}

test("row 68: a blank device is a working garnish screen, well within three minutes", async () => {
  server.nappe("ticket", "5: 1e 2e 3e 4e");
  server.nappe("fire", "5", "starters");
  const began = performance.now();
  const screen = terminal(state("blank"));
  screen.run("screen");
  const shown = await screen.sees(/does not know this screen yet/);
  assert.match(shown, /██/, "the word in large letters");
  const word = await word_on(screen);
  assert.match(server.nappe("devices"), new RegExp(`${word} +asks from 127\\.0\\.0\\.1`));
  assert.match(server.nappe("pair", word, "as", "station", "garnish"), /garnish is paired as station garnish/);
  await screen.sees(/GARNISH/);
  await screen.sees(/emmer, pan A/);
  screen.keys("Space");
  await until("its press in the record", async () => (await server.events("step_ended")).some((e) => !e.body.inferred));
  const seconds = (performance.now() - began) / 1000;
  assert.ok(seconds < 180, `${seconds} s`);
  assert.match(server.nappe("devices"), /garnish +station garnish +paired .* by console, here/);

  // Its token is kept where only its user can read it; a restart needs no word.
  const folder = join(server.folder, "blank", "nappe");
  const file = readdirSync(folder).find((name) => name.endsWith("_screen.device"));
  assert.equal(statSync(join(folder, file)).mode & 0o777, 0o600);
  screen.keys("q");
  await screen.sees("left with 0");
  const again = terminal(state("blank"));
  again.run("screen");
  await again.sees(/GARNISH/);

  // Ended in one place: within moments it is a blank device, with a new word.
  server.nappe("devices", "revoke", "garnish");
  const asks = await word_on(again);
  assert.notEqual(asks, "");
  server.nappe("pair", asks, "as", "pass");
  await again.sees(/Friday/);
});

test("a station that was named shows its word too, and is told when it is paired as another", async () => {
  const screen = terminal(state("named"));
  screen.run("station", "sauce");
  const text = await screen.sees(/nappe pair [a-z]{4} as station sauce/);
  const word = /nappe pair ([a-z]{4}) as/.exec(text)[1];
  server.nappe("pair", word, "as", "station", "fish");
  await screen.sees("this screen is paired as station fish");
  await screen.sees("left with 1");
});

test("a wrong word, a wrong role and a command without a token are refused in one sentence", () => {
  const run = (...args) => spawnSync(nappe, [...args, "--server", server.address], { encoding: "utf8", env: { ...process.env, XDG_STATE_HOME: join(server.folder, "none") } });
  const token = ["--token-file", server.token_file];
  assert.match(run("pair", "none", "as", "floor", ...token).stderr, /no device shows the word "none"/);
  assert.notEqual(run("pair", "none", "as", "cook", ...token).status, 0);
  assert.match(run("fire", "5", "mains").stderr, /this device is not paired/);
  assert.match(run("devices", "revoke", "nobody", ...token).stderr, /no device is called "nobody"/);
});

test("row 58: the paper line comes from the server, and from its folder when the server is dead", async () => {
  const roll = server.nappe("paper");
  assert.ok(roll.split("\n").every((line) => line.length <= 42), roll);
  assert.match(roll, /GARNISH/);
  assert.match(roll, /TABLE 5/);
  assert.ok(server.nappe("paper", "--size", "a4").split("\n").every((line) => line.replace("\f", "").length <= 80));
  // The mains have gone: the server is told, writes paper, and serves on from its battery.
  server.process.kill("SIGPWR");
  const file = join(server.folder, "paper", "paper-roll.txt");
  await until("the paper", () => readFileSync(file, "utf8").includes("TABLE 5"));
  await server.kill();
  const dead = spawnSync(nappe, ["paper", "--server", server.address, "--from", join(server.folder, "paper")], { encoding: "utf8" });
  assert.equal(dead.status, 0, dead.stderr);
  assert.match(dead.stdout, /TABLE 5/);
  assert.match(dead.stderr, /this is the last paper it wrote/);
  assert.equal(spawnSync(nappe, ["paper", "--server", server.address]).status, 1);
  await server.start();
});
