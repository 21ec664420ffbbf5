// Kitchen time over the network.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { Live } from "./lib/live.mjs";
import { Napped, sleep } from "./lib/napped.mjs";

/** Offset and delay of RFC 5905, section 8. */
const measure = ({ t1, t2, t3, t4 }) => ({ offset: (t2 - t1 + (t3 - t4)) / 2, delay: t4 - t1 - (t3 - t2) });

let napped;
before(async () => (napped = await new Napped({ args: ["--demo"] }).start()));
after(() => napped.remove());

test("the arithmetic of RFC 5905: a symmetric and an asymmetric path", () => {
  // theta = ((T2-T1)+(T3-T4))/2, delta = (T4-T1)-(T3-T2); the numbers are computed from these definitions.
  assert.deepEqual(measure({ t1: 0, t2: 135, t3: 137, t4: 22 }), { offset: 125, delay: 20 });
  const far = measure({ t1: 1000000, t2: 1005030, t3: 1005040, t4: 1000090 });
  assert.deepEqual(far, { offset: 4990, delay: 80 });
  assert.ok(Math.abs(far.offset - 5000) <= far.delay / 2);
});

test("a device with a wrong clock finds kitchen time to within half the delay", async () => {
  const live = new Live(napped.url);
  await live.opened;
  const wrong = () => performance.now() + 123456; // a steady clock of its own
  let best;
  for (let n = 0; n < 8; ++n) {
    const answer = live.later((m) => m.type === "clock");
    const t1 = wrong();
    live.send({ type: "clock", t1 });
    const got = await answer;
    const t4 = wrong();
    assert.equal(got.t1, t1, "t1 must come back as it was sent");
    assert.ok(got.t3 >= got.t2);
    const one = measure({ t1, t2: got.t2, t3: got.t3, t4 });
    if (!best || one.delay < best.delay) best = one;
  }
  // The server and this test stand on one machine: at rate 1 kitchen time is the system's. 2 ms for the rounding of both.
  assert.ok(Math.abs(wrong() + best.offset - Date.now()) <= best.delay / 2 + 3, JSON.stringify(best));
  await live.close();
});

test("the demo clock is set and runs at its rate; everybody is told", async () => {
  const live = new Live(napped.url);
  await live.opened;
  await live.next((m) => m.type === "welcome");
  const told = live.later((m) => m.type === "welcome");
  const at_ms = Date.now() + 3600e3;
  const response = await napped.post("/demo/clock", { rate: 60, at_ms });
  assert.equal(response.status, 200);
  const set = await response.json();
  assert.equal(set.rate, 60);
  assert.ok(set.now_ms >= at_ms && set.now_ms < at_ms + 60e3);
  assert.equal((await told).rate, 60);
  const before = await napped.json("/clock");
  const started = performance.now();
  await sleep(500);
  const now = await napped.json("/clock");
  const gone = (performance.now() - started) * 60;
  assert.ok(Math.abs(now.now_ms - before.now_ms - gone) < 0.2 * gone, `${now.now_ms - before.now_ms} of ${gone}`);
  assert.equal(now.now, new Date(now.now_ms).toISOString());
  await live.close();
});

test("after kill -9 kitchen time has gone on", async () => {
  await napped.post("/demo/clock", { rate: 60 });
  const { now_ms } = await napped.json("/clock");
  const started = Date.now();
  await napped.kill("SIGKILL");
  await sleep(300);
  await napped.start();
  const after = await napped.json("/clock");
  const gone = (Date.now() - started) * 60;
  assert.equal(after.rate, 60);
  assert.ok(after.now_ms >= now_ms + 300 * 60, `${after.now_ms - now_ms}`);
  assert.ok(after.now_ms <= now_ms + gone + 60e3);
});

test("the clock cannot go back before what has happened, and takes no nonsense", async () => {
  const refused = await napped.post("/demo/clock", { at_ms: 1000 });
  assert.equal(refused.status, 409);
  assert.equal((await refused.json()).code, "conflict");
  for (const body of [{}, { rate: -1 }, { rate: 1e9 }, { rate: "fast" }, { at_ms: 1.5 }, { speed: 2 }, []]) {
    const answer = await napped.post("/demo/clock", body);
    assert.equal(answer.status, 400, JSON.stringify(body));
  }
});
