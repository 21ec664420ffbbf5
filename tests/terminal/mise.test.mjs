// Two-hour things on the hand list of a real terminal.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { Server, Terminal, until } from "./terminal.mjs";

const server = new Server();
const day = Math.ceil(Date.now() / 86400000) * 86400000;
const clock = (hour, minute, second = 0) =>
  server.ask("POST", "/demo/clock", { rate: 1, at_ms: day + ((hour * 60 + minute) * 60 + second) * 1000 });

before(async () => {
  await server.start();
});
after(async () => {
  await server.stop();
});

test("row 17: the emulsion born 17:50 leaves every list at 19:50 and its remaking is on a section's list before 19:35", async (t) => {
  await clock(17, 45);
  server.nappe("open", "Friday");
  await clock(17, 50);
  const made = server.nappe("batch", "made", "emulsion", "--portions", "16", "--by", "Bashir");
  const id = /^(emulsion-\d{8}): use by .* 19:50/.exec(made)[1];
  server.nappe("batch", "label", id, "--by", "Bashir");
  const screen = new Terminal(server);
  t.after(() => screen.close());
  screen.run("station", "sauce");
  await screen.sees("SAUCE");
  await clock(19, 30);
  const before = await screen.sees(/emulsion/);
  assert.match(before, /19:3[0-4]:/, "before 19:35");
  assert.match(before, /make +.*emulsion/, "as a move of the hands");
  await clock(19, 49, 58);
  await screen.sees(/19:49:5\d/);
  await screen.sees(/emulsion/);
  await clock(19, 50);
  await until("the emulsion to leave the list", () => !screen.text().includes("emulsion"));
  const { screens } = await server.ask("GET", "/screens");
  for (const name of Object.keys(screens)) {
    const { document } = await server.ask("GET", `/screens/${name}`);
    assert.ok(!JSON.stringify(document).includes(id), `${name} still has the batch`);
    assert.ok(!JSON.stringify(document.list ?? {}).includes("emulsion"), `${name} still lists it`);
  }
  assert.match(server.nappe("batch", "list"), new RegExp(`${id} .*not for use: past its use-by`));
});
