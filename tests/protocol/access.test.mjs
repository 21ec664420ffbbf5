// Who may come in and who may do what, asked from outside.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import WebSocket from "ws";
import { Live } from "./lib/live.mjs";
import { Napped, serving, sleep, until } from "./lib/napped.mjs";

let napped;
before(async () => (napped = await new Napped({ args: ["--pairing"] }).start()));
after(() => napped.remove());

const bearer = (token) => ({ headers: { Authorization: `Bearer ${token}` } });

/** A request as a device with this token; without one as a stranger. */
async function as(token, method, path, body, headers = {}, server = napped) {
  const response = await fetch(server.base + path, {
    method,
    headers: { ...(token && bearer(token).headers), ...(body && { "Content-Type": "application/json" }), ...headers },
    body: body && JSON.stringify(body),
  });
  const text = await response.text();
  return { status: response.status, headers: response.headers, body: text && /json/.test(response.headers.get("content-type")) ? JSON.parse(text) : text };
}

/** Pairs a blank device; its token. */
async function paired(role, extra = {}, server = napped) {
  const asked = await as(undefined, "POST", "/pair", undefined, {}, server);
  assert.equal(asked.status, 201);
  const said = await as(server.token, "POST", "/devices", { word: asked.body.word, role, ...extra }, {}, server);
  assert.equal(said.status, 201, JSON.stringify(said.body));
  const fetched = await as(asked.body.secret, "GET", "/pair", undefined, {}, server);
  assert.equal(fetched.body.state, "paired");
  return { ...fetched.body, cookie: fetched.headers.get("set-cookie"), secret: asked.body.secret };
}

const command = (token, action, server = napped) =>
  as(token, "POST", "/commands", { id: crypto.randomUUID(), by: "Ada", at_ms: Date.now(), do: action }, {}, server);

/** The status an upgrade is refused with. */
function refusedUpgrade(options, path = "") {
  return new Promise((done, failed) => {
    const socket = new WebSocket(napped.url + path, options);
    socket.on("unexpected-response", (_, response) => {
      response.resume();
      done({ status: response.statusCode, headers: response.headers });
    });
    socket.on("open", () => (socket.terminate(), failed(new Error("it was let in"))));
    socket.on("error", () => {});
  });
}

test("nothing but the page, the descriptions and the door is there for a stranger", async () => {
  for (const path of ["/screens", "/screens/pass", "/clock", "/kitchen", "/events", "/record", "/metrics", "/tickets/1", "/me", "/devices"]) {
    const { status, headers, body } = await as(undefined, "GET", path);
    assert.equal(status, 401, path);
    assert.match(headers.get("www-authenticate"), /^Bearer/);
    assert.match(body.detail, /not paired/);
  }
  for (const path of ["/commands", "/tickets", "/devices", "/demo/clock"]) {
    assert.equal((await as(undefined, "POST", path, {})).status, 401, path);
  }
  assert.equal((await as(undefined, "DELETE", "/devices/x")).status, 401);
  for (const path of ["/healthz", "/openapi.json", "/asyncapi.json"]) assert.equal((await as(undefined, "GET", path)).status, 200, path);
  const { status, headers } = await refusedUpgrade({});
  assert.equal(status, 401);
  assert.match(headers["www-authenticate"], /^Bearer/);
});

test("a blank device shows a word, the pass says which it is, and it is in", async () => {
  const asked = (await as(undefined, "POST", "/pair")).body;
  assert.match(asked.word, /^[a-z]{4}$/);
  assert.match(asked.secret, /^[\w-]{43}$/, "256 bits");
  assert.deepEqual((await as(asked.secret, "GET", "/pair")).body, { state: "waiting", word: asked.word });
  const listed = (await as(napped.token, "GET", "/devices")).body;
  assert.equal(listed.asking[asked.word].from, "127.0.0.1");

  const device = await as(napped.token, "POST", "/devices", { word: asked.word.toUpperCase(), role: "station", station: "stove" });
  assert.deepEqual(device.body, { name: "stove", role: "station", station: "stove" });
  const fetched = await as(asked.secret, "GET", "/pair");
  assert.match(fetched.body.token, /^[\w-]{43}$/);
  assert.match(fetched.headers.get("set-cookie"), /^nappe_token=[\w-]{43}; Path=\/; .*HttpOnly; SameSite=Strict$/);
  assert.equal((await as(asked.secret, "GET", "/pair")).status, 404, "told once");

  const me = (await as(fetched.body.token, "GET", "/me")).body;
  assert.deepEqual([me.name, me.role, me.station], ["stove", "station", "stove"]);
  assert.ok(me.commands.includes("finish_step") && !me.commands.includes("fire"));
  const live = new Live(napped.url, bearer(fetched.body.token));
  await live.opened;
  await live.subscribe("station:stove");
  assert.equal((await as(napped.token, "GET", "/devices")).body.devices.stove.open, 1);
  await live.close();
});

test("a page carries its token as a cookie, and its scripts need not see it", async () => {
  const { cookie } = await paired("pass");
  const sent = { Cookie: `other=1; ${cookie.split(";")[0]}` };
  assert.equal((await as(undefined, "GET", "/me", undefined, sent)).body.role, "pass");
  const live = new Live(napped.url, { headers: { ...sent, Origin: napped.base } });
  await live.opened;
  await live.subscribe("pass");
  await live.close();
});

test("the token is nowhere in the file, only its digest, and the file is the owner's alone", async () => {
  const { token } = await paired("floor");
  const file = join(napped.folder, "devices.db");
  const dump = spawnSync("sqlite3", [file, "SELECT * FROM devices"], { encoding: "utf8" }).stdout;
  const digest = Buffer.from(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(token))).toString("hex");
  assert.ok(dump.includes(digest));
  for (const part of [file, `${file}-journal`, `${file}-wal`, napped.journal, `${napped.journal}-wal`]) {
    let bytes = "";
    try {
      bytes = readFileSync(part, "latin1");
    } catch {
      continue;
    }
    assert.ok(!bytes.includes(token), part);
  }
  assert.equal(statSync(file).mode & 0o777, 0o600);
  assert.equal(statSync(`${file}.console`).mode & 0o777, 0o600);
});

test("what a role may not do is refused in words that say who may", async () => {
  const ticket = (await (await napped.ticket("1: 1e 2t")).json()).ticket;
  const fired = await napped.command({ fire: { ticket, course: "mains" } });
  assert.equal(fired.status, 200);
  const tokens = {};
  for (const role of ["pass", "floor", "probe", "manager"]) tokens[role] = (await paired(role)).token;
  tokens.stove = (await paired("station", { station: "stove", name: "by the window" })).token;
  tokens.bench = (await paired("station", { station: "bench" })).token;
  const lists = Object.values((await as(tokens.pass, "GET", "/screens/station:stove")).body.document.list);
  const mine = { finish_step: { pan: lists[0].pan, step: lists[0].step, round: lists[0].round } };
  const cases = [
    ["stove", { fire: { ticket, course: "mains" } }, /by the window \(station stove\) may not ask "fire": that is for pass, floor, manager/],
    ["stove", { open_service: { name: "x", document: "" } }, /pass, manager/],
    ["bench", mine, /screen of the station bench: this pan belongs to stove/],
    ["bench", { undo: { station: "stove" } }, /belongs to stove/],
    ["bench", { set_hands: { station: "stove", person: "Ada", present: false } }, /belongs to stove/],
    ["floor", mine, /may not ask "finish_step": that is for station, pass, manager/],
    ["floor", { gone: { ticket, course: "mains" } }, /pass, manager/],
    ["probe", { set_left: { dish: "egg", left: 0 } }, /station, pass, floor, manager/],
    ["probe", { send_ticket: { order: { table: "1", courses: [{ course: "mains", plates: [{ position: 1, dish: "egg" }] }] } } }, /pass, floor, manager/],
  ];
  const before = await napped.json("/record");
  for (const [who, action, says] of cases) {
    const { status, body } = await command(tokens[who], action);
    assert.equal(status, 403, `${who} ${JSON.stringify(action)} ${JSON.stringify(body)}`);
    assert.equal(body.code, "forbidden");
    assert.match(body.detail, says);
  }
  assert.deepEqual(await napped.json("/record"), before, "a refusal changes nothing and is not remembered");
  // The same on the socket.
  const live = new Live(napped.url, bearer(tokens.bench));
  await live.opened;
  const told = await live.command(mine);
  assert.equal(told.type, "refused");
  assert.match(told.problem.detail, /belongs to stove/);
  await live.close();
  // And what each may do, it can.
  assert.equal((await command(tokens.stove, mine)).status, 200);
  assert.equal((await command(tokens.floor, { tell_allergy: { ticket, position: 1, allergies: ["eggs"] } })).status, 200);
  assert.equal((await command(tokens.pass, { hold: { ticket, course: "mains" } })).status, 200);
  assert.equal((await command(tokens.manager, { release: { ticket, course: "mains" } })).status, 200);
  // Reading.
  assert.equal((await as(tokens.stove, "GET", "/screens/pass")).status, 200);
  assert.match((await as(tokens.stove, "GET", "/events")).body.detail, /pass, manager/);
  assert.equal((await as(tokens.probe, "GET", "/screens/pass")).status, 403);
  assert.equal((await as(tokens.probe, "GET", "/clock")).status, 200);
  const probe = new Live(napped.url, bearer(tokens.probe));
  await probe.opened;
  probe.send({ type: "subscribe", screen: "pass" });
  assert.match((await probe.next((m) => m.type === "error")).problem.detail, /may not watch/);
  await probe.close();
});

test("who may pair: the pass, but no manager; a station not at all", async () => {
  const pass = (await paired("pass")).token;
  const stove = (await paired("station", { station: "stove" })).token;
  const word = async () => (await as(undefined, "POST", "/pair")).body.word;
  const say = (token, body) => as(token, "POST", "/devices", body);
  assert.equal((await say(pass, { word: await word(), role: "floor" })).status, 201);
  assert.match((await say(pass, { word: await word(), role: "manager" })).body.detail, /may not make a manager/);
  assert.match((await say(stove, { word: await word(), role: "floor" })).body.detail, /may not pair/);
  assert.match((await as(stove, "GET", "/devices")).body.detail, /may not pair/);
  assert.equal((await as(stove, "DELETE", "/devices/pass")).status, 403);
  const manager = await paired("manager");
  assert.equal((await as(pass, "DELETE", `/devices/${manager.name}`)).status, 403, "the pass cannot end a manager's pairing");
});

test("a request to pair that is wrong says how", async () => {
  const { word } = (await as(undefined, "POST", "/pair")).body;
  const wrong = [
    [{ word: "none", role: "floor" }, 404, /no device shows the word "none"/],
    [{ word, role: "cook" }, 400, /station, pass, floor, probe, manager/],
    [{ word, role: "station", station: "stoev" }, 404, /there are bench, stove/],
    [{ word, role: "station" }, 404, /no station ""/],
    [{ word, role: "floor", station: "stove" }, 400, /only a station/],
    [{ word, role: "floor", name: "a/b" }, 400, /1 to 40 letters/],
    [{ word, role: "floor", name: "x".repeat(41) }, 400, /1 to 40 letters/],
    [{ word, role: "floor", colour: "red" }, 400, /"colour" is no such member/],
    [[], 400, /JSON object/],
  ];
  for (const [body, status, says] of wrong) {
    const answer = await as(napped.token, "POST", "/devices", body);
    assert.equal(answer.status, status, JSON.stringify([body, answer.body]));
    assert.match(answer.body.detail, says);
  }
  assert.equal((await as(napped.token, "POST", "/devices", { word, role: "floor", name: "once" })).status, 201);
  const again = (await as(undefined, "POST", "/pair")).body.word;
  assert.equal((await as(napped.token, "POST", "/devices", { word: again, role: "floor", name: "once" })).status, 409);
  assert.equal((await as(napped.token, "POST", "/devices", undefined, {})).status, 415);
  assert.equal((await as(napped.token, "DELETE", "/devices/nobody")).status, 404);
});

test("a pairing that is ended ends within a second, also on an open socket", async () => {
  const { token, name } = await paired("pass", { name: "lost in the taxi" });
  const live = new Live(napped.url, bearer(token));
  await live.opened;
  await live.subscribe("pass");
  const began = performance.now();
  assert.equal((await as(napped.token, "DELETE", `/devices/${encodeURIComponent(name)}`)).status, 200);
  const { code, reason } = await live.closed;
  assert.ok(performance.now() - began < 1000, `${performance.now() - began} ms`);
  assert.deepEqual([code, reason], [1008, "this device's pairing has been ended"]);
  assert.match((await as(token, "GET", "/me")).body.detail, /pairing was ended: pair again/);
  assert.equal((await refusedUpgrade(bearer(token))).status, 401);
  assert.equal((await as(napped.token, "GET", "/devices")).body.devices[name], undefined);
});

test("a device that does not read its goodbye is cut within a second, and what it still says does not count", async () => {
  const { token, name } = await paired("pass");
  const live = new Live(napped.url, bearer(token));
  await live.opened;
  live.socket._socket.pause(); // it hears nothing any more
  const before = await napped.json("/record");
  const ended = as(napped.token, "DELETE", `/devices/${name}`);
  await ended;
  for (let n = 0; n < 20; ++n) live.socket.send(JSON.stringify({ type: "command", command: { id: crypto.randomUUID(), by: "x", at_ms: Date.now(), do: { set_left: { dish: "egg", left: n } } } }), () => {});
  await sleep(1000);
  assert.deepEqual(await napped.json("/record"), before);
  const text = await (await napped.fetch("/metrics")).text();
  assert.match(text, /napped_sessions 0|napped_sessions\{?\}? 0/);
  live.socket.terminate();
});

test("pairings outlive the server; the console's token does not", async (t) => {
  const other = await serving(t, { args: ["--pairing"] });
  const stove = await paired("station", { station: "stove" }, other);
  const gone = await paired("floor", {}, other);
  await as(other.token, "DELETE", `/devices/${gone.name}`, undefined, {}, other);
  const old = other.token;
  await other.kill("SIGKILL");
  await other.start();
  assert.equal((await as(stove.token, "GET", "/me", undefined, {}, other)).body.name, "stove");
  assert.equal((await as(gone.token, "GET", "/me", undefined, {}, other)).status, 401);
  assert.equal((await as(old, "GET", "/me", undefined, {}, other)).status, 401);
  assert.notEqual(old, other.token);
});

test("a page from elsewhere may not talk to us, whatever its cookie says", async () => {
  const { token, cookie } = await paired("pass");
  const elsewhere = ["http://evil.test", "null", `https://127.0.0.1:${napped.port}`, `http://127.0.0.1:${napped.port + 1}`, `http://127.0.0.1:${napped.port}.evil.test`];
  for (const origin of elsewhere) {
    const headers = { Origin: origin, Cookie: cookie.split(";")[0] };
    assert.equal((await as(undefined, "GET", "/me", undefined, headers)).status, 403, origin);
    assert.equal((await as(undefined, "POST", "/commands", { id: "x" }, headers)).status, 403, origin);
    assert.equal((await as(undefined, "POST", "/pair", undefined, headers)).status, 403, origin);
    assert.equal((await refusedUpgrade({ headers })).status, 403, origin);
    assert.equal((await refusedUpgrade({ headers: { ...headers, ...bearer(token).headers } })).status, 403, origin);
  }
});

test("wrong tokens: each refused, many slowed down, and the right ones come in meanwhile", async (t) => {
  const other = await serving(t, { args: ["--pairing"] });
  const stove = await paired("station", { station: "stove" }, other);
  const shapes = ["x", stove.token.slice(0, 42), `${stove.token}x`, stove.token.toLowerCase(), stove.secret, "a".repeat(8000)];
  for (const token of shapes) assert.equal((await as(token, "GET", "/me", undefined, {}, other)).status, 401, token.slice(0, 50));
  const statuses = [];
  for (let n = 0; n < 40; ++n) statuses.push((await as(`guess-${n}`, "GET", "/me", undefined, {}, other)).status);
  assert.ok(statuses.filter((s) => s === 429).length >= 20, String(statuses));
  assert.equal((await as(stove.token, "GET", "/me", undefined, {}, other)).status, 200);
});

test("floods are bounded: words, sockets of a device, commands of a device", async (t) => {
  const other = await serving(t, { args: ["--pairing"] });
  const statuses = [];
  for (let n = 0; n < 40; ++n) statuses.push((await as(undefined, "POST", "/pair", undefined, {}, other)).status);
  assert.equal(statuses.filter((s) => s === 201).length, 6);
  assert.equal(statuses.filter((s) => s === 429).length, 34);
  const asking = Object.keys((await as(other.token, "GET", "/devices", undefined, {}, other)).body.asking);
  assert.equal(new Set(asking).size, 6, "each its own word");

  // The flood keeps nobody who has a word from being paired.
  const said = await as(other.token, "POST", "/devices", { word: asking[3], role: "floor" }, {}, other);
  assert.equal(said.status, 201);

  const third = await serving(t, { args: ["--pairing"] });
  const { token } = await paired("floor", { name: "many" }, third);
  const sockets = Array.from({ length: 12 }, () => new WebSocket(third.url, bearer(token)));
  const opened = await Promise.all(sockets.map((socket) => new Promise((done) => {
    socket.on("open", () => done(true));
    socket.on("error", () => done(false));
  })));
  assert.equal(opened.filter(Boolean).length, 8);
  sockets.forEach((socket) => socket.terminate());
  await until("their ends", async () => (await as(third.token, "GET", "/devices", undefined, {}, third)).body.devices.many.open === 0);

  const live = new Live(third.url, bearer(token));
  await live.opened;
  const answers = [];
  for (let n = 0; n < 800; ++n) answers.push(live.command({ set_left: { dish: "egg", left: n } }));
  const refused = (await Promise.all(answers)).filter((m) => m.problem?.code === "too_many").length;
  assert.ok(refused > 150, `${refused} refused`);
  // Another device is not slowed by it.
  const stove = (await paired("station", { station: "stove" }, third)).token;
  assert.equal((await command(stove, { set_left: { dish: "egg", left: 5 } }, third)).status, 200);
  await live.close();
});

test("where only this machine can connect, a demo needs no ceremony", async (t) => {
  const open = await serving(t);
  const me = await (await fetch(open.base + "/me")).json();
  assert.deepEqual([me.name, me.role], ["this machine", "manager"]);
  assert.equal(open.token, undefined);
});
