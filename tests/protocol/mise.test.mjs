// The mise and the record as a house uses them: the real client against the real napped, the kitchen's clock moved on.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { must, nappe, run } from "./lib/nappe.mjs";
import { larkfold, program, serving, until } from "./lib/napped.mjs";

const refused = (napped, ...args) => {
  const done = run(napped, ...args);
  assert.notEqual(done.code, 0, `${args.join(" ")}: ${done.out}`);
  return done.err;
};

const flat = (text) => text.replace(/\s+/g, " ");

const day = Math.ceil(Date.now() / 86400e3) * 86400e3;
const at = (hour, minute = 0) => day + (hour * 60 + minute) * 60e3;
const clock = async (napped, ms) => {
  const answer = await napped.post("/demo/clock", { rate: 1, at_ms: ms });
  assert.equal(answer.status, 200, await answer.text());
};
/** The demo house with its clock at this time of tomorrow, and a service open. */
const house = async (t, hour, minute = 0) => {
  const napped = await serving(t, { kitchen: larkfold, station: "garnish", args: ["--demo"] });
  await clock(napped, at(hour, minute));
  return napped;
};
const made = (napped, kind, ...args) => {
  const id = /^([a-z_]+-\d{8}(?:-\d+)?):/.exec(must(napped, "batch", "made", kind, ...args, "--by", "Tom"))[1];
  must(napped, "batch", "label", id, "--by", "Tom");
  return id;
};

test("row 12: 48 covers, 40 %, ratio 0.85 and 6 usable portions in the fridge ask for 19 more, from the batches of the record", async (t) => {
  const napped = await house(t, 9);
  const loin = ["--kept-in", "walk-in", "--kept-c", "3"];
  const first = made(napped, "loin", "--portions", "4", "--days", "1", ...loin);
  const second = made(napped, "loin", "--portions", "2", "--days", "2", ...loin);
  made(napped, "loin", "--portions", "9", "--life", "240", ...loin); // ends at one o'clock: not tonight
  must(napped, "batch", "made", "loin", "--portions", "7", "--days", "1", ...loin, "--by", "Tom"); // no label, no use
  const list = must(napped, "prep", larkfold);
  const flat = list.replace(/\s+/g, " ");
  assert.match(flat, /hogget loins, trimmed and tied: 25 wanted \(mean 19\.2\), 6 there, 19 more/);
  assert.ok(flat.includes(`4 of ${first} (walk-in, use by`) && flat.includes(`2 of ${second} (walk-in, use by`), flat);
  assert.match(flat, /none of loin-\d{8}-3: it ends .*, before the last plates; none of loin-\d{8}-4: it has no label/);
  for (const line of list.split("\n")) assert.ok([...line].length <= 80, `wider than 80: ${line}`);

  // Grams give whole portions, and without a server the sheet's own count stands.
  const without = spawnSync(nappe, ["prep", larkfold], { encoding: "utf8", env: { ...process.env, NAPPE_SERVER: undefined } });
  assert.match(without.stdout.replace(/\s+/g, " "), /hogget loins, trimmed and tied: 25 wanted \(mean 19\.2\), 6 there, 19 more; make/);
  assert.match(refused({ ...napped, port: 1 }, "prep", larkfold), /127\.0\.0\.1:1/);
});

test("row 60: after a power cut every batch in every fridge has a verdict with its reason", async (t) => {
  const napped = await house(t, 17);
  const cold = made(napped, "swede_puree", "--grams", "3000");
  const fish = made(napped, "mackerel_cured", "--portions", "20");
  const frozen = made(napped, "frozen_buttermilk", "--portions", "30");
  const butter = made(napped, "brown_butter", "--grams", "500");
  const warm = made(napped, "yeast_broth", "--grams", "4000");
  must(napped, "batch", "chill", warm, "80", "--air", "-5", "--probe", "blue", "--by", "Tom");
  must(napped, "probe", "read", "blue", "4.1", "--place", "walk-in", "--by", "Dov");
  must(napped, "probe", "read", "blue", "2", "--place", "larder fridge", "--by", "Dov");
  assert.match(must(napped, "power", "list"), /no power cut is on record/);
  await clock(napped, at(21, 20));
  assert.match(must(napped, "power", "off", "--by", "Mara"), /keep every door shut/);
  await clock(napped, at(21, 26));
  const back = must(napped, "power", "back", "--by", "Mara");
  const tonight = made(napped, "damson_stock", "--grams", "1200");
  must(napped, "batch", "chill", tonight, "80", "--air", "-5", "--probe", "blue", "--by", "Tom");
  assert.match(flat(must(napped, "power", "list")), new RegExp(`cooling ${tonight}: waiting; its time to be cold runs on: read it`));
  must(napped, "batch", "split", tonight, "2", "--by", "Tom");
  assert.match(flat(must(napped, "power", "list")), new RegExp(`cooling ${tonight}-b: not read since it was split; its time to be cold runs on`));
  for (const id of [cold, fish, frozen]) assert.match(flat(back), new RegExp(`read it ${id}: The power was off for 6 min, not read since`));
  assert.ok(!back.includes(butter), "what needs no cold is not asked about");
  must(napped, "probe", "read", "blue", "4.4", "--place", "walk-in", "--by", "Dov");
  must(napped, "probe", "read", "blue", "9.5", "--place", "larder fridge", "--by", "Dov");
  must(napped, "probe", "read", "blue", "-13", "--batch", frozen, "--by", "Dov");
  const list = flat(must(napped, "power", "list"));
  assert.match(list, new RegExp(`throw ${warm}: nobody read it before its time to be cold was over`));
  assert.match(list, new RegExp(`walk-in .*within ${cold}: .*4\\.4 C read .*Within the limit of Larkfold`));
  assert.match(list, new RegExp(`larder fridge throw ${fish}: .*9\\.5 C read .*clock runs from its last good reading`));
  assert.match(list, new RegExp(`pastry freezer within ${frozen}`));
  assert.match(list, /responsible person decide/);
  assert.match(refused(napped, "batch", "keep", fish, "--by", "Dov"), /may not be used: the power cut/);
  must(napped, "batch", "throw", fish, "power cut", "--by", "Dov");
  assert.match(must(napped, "record", "batch", cold), /after the power cut: within\. The power was off for 6 min/);
});

test("row 60: what nobody reads after a long cut is thrown, also when the server itself was without power", async (t) => {
  const napped = await house(t, 9);
  const cold = made(napped, "swede_puree", "--grams", "3000");
  must(napped, "probe", "read", "blue", "4.1", "--place", "walk-in", "--by", "Dov");
  await napped.kill();
  await napped.start();
  await clock(napped, at(15));
  const off = must(napped, "power", "off", "--ago", "330", "--by", "Mara");
  assert.match(off, new RegExp(`${cold}: throw\\. .*no good reading is younger than 4 h: nothing shows`));
  must(napped, "power", "back", "--ago", "10", "--by", "Mara");
  assert.match(must(napped, "batch", "list"), new RegExp(`${cold} .*not for use: the power cut`));
  assert.equal(spawnSync(program, ["--verify", napped.journal]).status, 0);
});

test("what was written about guests is in no file and no answer a quarter of an hour after the table has gone", async (t) => {
  const napped = await house(t, 19);
  const files = () => ["", "-wal"].map((end) => napped.journal + end).filter(existsSync).map((file) => readFileSync(file, "latin1")).join("");
  must(napped, "ticket", `2: 1m2m"no dill for Ms Quince" "birthday of Ms Quince"`);
  assert.ok(files().includes("Ms Quince"), "it is kept while the table is here");
  assert.match(await (await napped.fetch("/events?limit=1000")).text(), /birthday of Ms Quince/);
  await napped.kill(); // and is there again after a power cut
  await napped.start();
  assert.match(await (await napped.fetch("/screens/pass")).text(), /birthday of Ms Quince/);
  const gone = await napped.command({ gone: { ticket: 1, course: "starters", sure: true } }, "Mara");
  assert.equal(gone.status, 200, await gone.text());
  await clock(napped, at(19, 30));
  await until("the words to go", async () => (await napped.json("/events?limit=1000")).some((event) => event.name === "words_dropped"));
  assert.ok(!files().includes("Quince"), "in no file");
  for (const path of ["/events?limit=1000", "/screens/pass", "/screens/station:larder"])
    assert.ok(!(await (await napped.fetch(path)).text()).includes("Quince"), path);
  assert.match(must(napped, "record", "check"), /as it was written/);
  await napped.kill();
  await napped.start();
  assert.equal(spawnSync(program, ["--verify", napped.journal]).status, 0);
  assert.match(must(napped, "record", "check"), /as it was written/);
});

test("a note that was altered beside the chain is found as well", async (t) => {
  const napped = await house(t, 19);
  must(napped, "ticket", `2: 1m "a birthday"`);
  spawnSync("sqlite3", [napped.journal, "UPDATE words SET words = 'a wedding'"]);
  assert.match(refused(napped, "record", "check"), /the words \/order\/note of event \d+ \(ticket_sent\) are not as they were written/);
});

test("slips of the finger are refused with what would be right, and meant things are said again", async (t) => {
  const napped = await house(t, 11);
  const by = ["--by", "Tom"];
  const wrong = (...args) => refused(napped, ...args).replace(/Run with --help for more information\.\s*/, "");
  assert.match(wrong("batch", "made", "swede_pure", ...by), /has no "swede_pure"; did you mean "swede_puree"\?/);
  assert.match(wrong("batch", "made", "jelly", ...by), /has no "jelly"; known are .*emulsion/);
  assert.match(wrong("batch", "made", "swede_puree", "--by", "Tmo"), /nobody called "Tmo" works here; did you mean "Tom"\? .*--stranger$/m);
  assert.match(wrong("batch", "made", "swede_puree", "--grams", "1e12", ...by), /give a whole number from 1 to 1000000, not "1e12"/);
  assert.match(wrong("batch", "made", "swede_puree", "--grams", "-3", ...by), /give a whole number from 1 to 1000000/);
  assert.match(wrong("batch", "made", "swede_puree", "--days", "-1", ...by), /give a whole number from 0 to 1000/);
  assert.match(wrong("batch", "made", "swede_puree", "--kept-in", "walk-im", ...by), /a place called "walk-im"; did you mean "walk-in"\?/);
  for (const nonsense of ["nan", "inf", "1e99", "warm"])
    assert.match(wrong("probe", "read", "blue", nonsense, "--place", "walk-in", ...by), /give degrees Celsius from -60 to 300, such as 4\.5, not/);
  assert.match(wrong("probe", "read", "blue", "4", "--place", "walk in", ...by), /did you mean "walk-in"\?/);
  must(napped, "probe", "read", "blue", "4", "--place", "ice chest", "--sure", ...by);
  must(napped, "probe", "read", "blue", "4", "--place", "ice chest", ...by); // known from now on
  assert.match(must(napped, "batch", "made", "quince_jelly", "--days", "2", "--sure", "--by", "Piet", "--stranger"), /^quince_jelly-/);
  const id = made(napped, "swede_puree", "--grams", "7000");
  must(napped, "batch", "chill", id, "90", "--air", "-5", "--probe", "blue", ...by);
  must(napped, "probe", "read", "blue", "72", "--batch", id, ...by);
  const odd = wrong("probe", "read", "blue", "95", "--batch", id, ...by);
  assert.match(odd, /95 C after 72 C while .* is being cooled: is that the right probe, the right batch\?.*--sure$/m);
  assert.match(must(napped, "probe", "read", "blue", "95", "--batch", id, "--sure", ...by), /warmer while cooling; said to be right/);
});

test("row 18: weights 6.00 and 5.20 kg ten minutes apart predict 1.20 kg after 50 more minutes", () => {
  const said = spawnSync(nappe, ["weigh", "6.00", "5.20", "1.20", "--minutes", "10"], { encoding: "utf8" });
  assert.equal(said.stdout, "1.2 kg after 50 min more at this rate (0.080 kg a minute); 6 min more if the last tenth is turned down\n");
  assert.equal(spawnSync(nappe, ["weigh", "5.2", "5.2", "1.2", "--minutes", "10"]).status, 1);
});

test("a chill alert gives one order, and a handover says each thing once and whole", async (t) => {
  const napped = await house(t, 11, 5);
  const id = made(napped, "swede_puree", "--grams", "7000");
  must(napped, "batch", "chill", id, "90", "--air", "-5", "--probe", "blue", "--by", "Tom");
  await clock(napped, at(11, 25));
  must(napped, "probe", "read", "blue", "72", "--batch", id, "--by", "Tom");
  const alert = await until("the alert", async () => Object.values((await napped.json("/screens/station:garnish")).document.alerts ?? {}).find((one) => one.kind === "chill_late"));
  assert.match(alert.says, new RegExp(`^${id}: will miss 8 °C within 90 min as it stands: [^.]*[^.]$`));
  assert.equal(alert.do, "split it, stir it or use ice, and read it again");
  must(napped, "batch", "split", id, "2", "--by", "Tom");
  const down = run(napped, "close-down", "--note", "two loins short", "--by", "Dov"); // code 1: they want a word
  for (const share of ["a", "b"])
    assert.equal(down.out.split(`${id}-${share} in walk-in: still being cooled, not read since it was split.`).length, 2, down.out);
  assert.doesNotMatch(down.out, /: \.|: $/m);
});

test("CSV: what a spreadsheet would run is words, numbers stay numbers, and an altered record says so", async (t) => {
  const napped = await house(t, 11);
  must(napped, "probe", "read", "=HYPERLINK(1)", "-14.5", "--place", "pastry freezer", "--by", "+Eve", "--stranger");
  const csv = must(napped, "record", "csv");
  assert.match(csv, /,pastry freezer,"'=HYPERLINK\(1\)",-14\.5,,,"'\+Eve \(not of the house\)",no,/);
  const changed = "UPDATE events SET body = replace(body, '-14.5', '-18.5') WHERE name = 'reading_taken'";
  assert.equal(spawnSync("sqlite3", [napped.journal, changed]).status, 0);
  assert.match(refused(napped, "record", "csv"), /event \d+ \(reading_taken\) is not as it was written: it was changed outside this program/);
  const anyway = run(napped, "record", "csv", "--anyway");
  assert.match(anyway.out, /-18\.5/);
  assert.match(anyway.err, /NOT AS IT WAS WRITTEN/);
  assert.equal(anyway.code, 1);
});

test("a journal changed so that it does not fit is named at the start, with the place and what to do", async (t) => {
  const napped = await house(t, 11);
  const id = made(napped, "swede_puree", "--grams", "7000");
  await napped.kill();
  const changed = `UPDATE events SET body = replace(body, '${id}', 'swede') WHERE name = 'batch_labelled'`;
  assert.equal(spawnSync("sqlite3", [napped.journal, changed]).status, 0);
  const started = spawnSync(program, [larkfold, "--journal", napped.journal, "--listen", "127.0.0.1:0"], { encoding: "utf8", timeout: 20000 });
  assert.equal(started.status, 1);
  assert.match(started.stderr, /journal .*: event \d+ \(batch_labelled\) is not as it was written: it was changed outside this program.*--journal/);
});
