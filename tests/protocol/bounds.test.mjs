// What one device gone mad can take from the others, and what is read while the kitchen is at work.
import assert from "node:assert/strict";
import { request } from "node:http";
import { connect } from "node:net";
import { test } from "node:test";
import { serving, sleep, until } from "./lib/napped.mjs";

/** One GET from an address of this machine's own. */
const get_from = (napped, localAddress, path) =>
  new Promise((done, failed) => {
    request({ host: "127.0.0.1", port: napped.port, path, localAddress, agent: false }, (answer) => {
      let text = "";
      answer.on("data", (data) => (text += data));
      answer.on("end", () => done({ status: answer.statusCode, text }));
    })
      .on("error", failed)
      .end();
  });

test("an address that opens a thousand connections is cut short; another is served as ever", async (t) => {
  const napped = await serving(t);
  const sockets = [];
  let closed = 0;
  t.after(() => sockets.forEach((socket) => socket.destroy()));
  for (let n = 0; n < 700; ++n) {
    const socket = connect({ host: "127.0.0.1", port: napped.port, localAddress: "127.0.0.1" });
    socket.on("error", () => {});
    socket.on("close", () => (closed += 1));
    sockets.push(socket);
    if (n % 50 === 49) await sleep(5);
  }
  // The console's own connections may be among those of 127.0.0.1.
  await until("those too many to be closed", () => closed >= 700 - 640);
  assert.ok(closed <= 700 - 640 + 8, `${closed} of 700 closed`);
  const other = await get_from(napped, "127.0.0.2", "/healthz");
  assert.equal(other.status, 200);
  sockets.forEach((socket) => socket.destroy());
  await until("this address to be served again", () => get_from(napped, "127.0.0.1", "/healthz").then(() => true, () => false));
});

test("what is read while commands come in is durable: every event it counts can be fetched", async (t) => {
  const napped = await serving(t);
  let busy = true;
  const presses = (async () => {
    for (let n = 0; busy; ++n) await napped.ticket(`${1 + (n % 4)}: 1t`);
  })();
  let read = 0;
  for (const end = Date.now() + 3000; Date.now() < end; ++read) {
    const [{ events }, page] = await Promise.all([napped.json("/record"), napped.json("/record/check")]);
    assert.equal(page.whole, true);
    const [last] = await napped.json(`/events?after=${events - 1}&limit=1`);
    assert.equal(last?.seq, events, "an event that was counted is not there");
  }
  busy = false;
  await presses;
  assert.ok(read > 20, `${read} reads`);
});

test("pages of the record that nobody can read so fast are refused, and the kitchen goes on", async (t) => {
  const napped = await serving(t);
  let refused = 0;
  await until(
    "a page to be refused",
    async () => {
      const pages = await Promise.all(Array.from({ length: 200 }, () => napped.fetch("/record/readings.csv")));
      for (const page of pages) assert.ok([200, 429].includes(page.status), String(page.status));
      refused += pages.filter((page) => page.status === 429).length;
      await Promise.all(pages.map((page) => page.text()));
      return refused > 0;
    },
    20000,
  );
  assert.equal((await napped.ticket("2: 1t")).status, 201);
  assert.equal((await napped.fetch("/record/readings.csv")).status, 200);
});
