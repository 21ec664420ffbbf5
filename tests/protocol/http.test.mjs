// The HTTP interface, held to its own description: every path and every status in it is exercised here.
import assert from "node:assert/strict";
import { execFileSync, spawnSync } from "node:child_process";
import { statSync } from "node:fs";
import { Agent } from "node:http";
import { after, before, test } from "node:test";
import asyncapiSpecs from "@asyncapi/specs";
import { Validator } from "@seriousme/openapi-schema-validator";
import Ajv from "ajv";
import addFormats from "ajv-formats";
import { Live } from "./lib/live.mjs";
import { ask, Described } from "./lib/described.mjs";
import { Napped, serving, until } from "./lib/napped.mjs";

let napped;
let described;

/** Asks and checks the answer against the description. */
async function call(method, path, options = {}, server = napped) {
  const answer = await ask(server.base, method, path, options);
  described.check(method, path, answer.status, answer.headers["content-type"] ?? "", answer.text);
  return { ...answer, body: /json/.test(answer.headers["content-type"]) && !/ndjson/.test(answer.headers["content-type"]) ? JSON.parse(answer.text) : null };
}

const json = { "Content-Type": "application/json" };
const post = (path, body, headers = json, server = napped) =>
  call("POST", path, { body: typeof body === "string" ? body : JSON.stringify(body), headers }, server);
// These tests send the same lines again and again, and mean it.
const ticket = (line, key = crypto.randomUUID(), headers = {}, server = napped) =>
  post("/tickets?sure=true", line, { "Content-Type": "text/plain", ...(key && { "Idempotency-Key": key }), ...headers }, server);
const command = (action, id = crypto.randomUUID(), server = napped) =>
  post("/commands", { id, by: "Ada", at_ms: Date.now(), do: action }, json, server);

before(async () => {
  napped = await new Napped({ args: ["--demo"] }).start();
  described = new Described(await napped.json("/openapi.json"));
});
after(() => napped.remove());

test("the description is valid OpenAPI 3.1", async () => {
  const result = await new Validator().validate(await napped.json("/openapi.json"));
  assert.ok(result.valid, JSON.stringify(result.errors));
  await call("GET", "/openapi.json");
});

test("a command is described by its name and members, as the server reads it", async () => {
  const { schemas } = (await napped.json("/openapi.json")).components;
  const actions = schemas.Command.properties.do.properties;
  assert.deepEqual(actions.fire.required, ["ticket", "course"]);
  const ajv = new Ajv.default({ strict: false });
  const validate = ajv.compile(schemas.Command);
  const asked = (action) => ({ id: crypto.randomUUID(), by: "Ada", at_ms: Date.now(), do: action });
  // Whatever the description allows the server reads, and what it does not allow the server calls invalid.
  const cases = [
    [{ set_left: { dish: "toast", left: 40 } }, true],
    [{ set_left: { dish: "toast" } }, true],
    [{ set_left: { left: 40 } }, false],
    [{ set_left: { dish: "toast", lef: 40 } }, false],
    [{ set_left: { dish: 7 } }, false],
    [{ fire: { ticket: 4711, course: "mains" } }, true],
    [{ fire: { ticket: -1, course: "mains" } }, false],
    [{ fire: { ticket: 4711, course: "x".repeat(65) } }, false],
    [{ speech: { ticket: 4711, minutes: 2.5 } }, false],
    [{ throw_batch: {} }, false],
    [{ fly: {} }, false],
    [{}, false],
    [{ undo: { station: "stove" }, one_more: { pan: 1 } }, false],
  ];
  for (const [action, fine] of cases) {
    assert.equal(validate(asked(action)), fine, JSON.stringify(action));
    const { status } = await post("/commands", asked(action));
    assert.equal(status !== 400, fine, `${JSON.stringify(action)} ${status}`);
  }
});

test("the description of the socket is valid AsyncAPI 3.0", async () => {
  const { body } = await call("GET", "/asyncapi.json");
  const ajv = new Ajv.default({ strict: false, allErrors: true });
  addFormats.default(ajv);
  const schema = asyncapiSpecs.schemasWithoutId?.["3.0.0"] ?? asyncapiSpecs.schemas["3.0.0"];
  const validate = ajv.compile(schema);
  assert.ok(validate(body), JSON.stringify(validate.errors?.slice(0, 5)));
});

test("what the socket sends is what its description says", async () => {
  const { body: document } = await call("GET", "/asyncapi.json");
  const ajv = new Ajv.default({ strict: false });
  ajv.addSchema({ $id: "doc", components: document.components });
  const live = new Live(napped.url);
  await live.opened;
  await live.subscribe("pass");
  live.send({ type: "clock", t1: 1.5 });
  live.send("nonsense");
  await live.command({ set_left: { dish: "toast", left: 50 } });
  await live.command({ set_left: { dish: "nothing", left: 1 } });
  for (const type of ["welcome", "document", "patch", "clock", "done", "refused", "error"]) {
    const message = { ...(await live.next((m) => m.type === type)) };
    delete message.arrived;
    const payload = document.components.messages[type].payload;
    const text = JSON.stringify(payload).replaceAll("#/components", "doc#/components");
    const validate = ajv.compile(JSON.parse(text));
    assert.ok(validate(message), `${type}: ${JSON.stringify(validate.errors)} ${JSON.stringify(message)}`);
  }
  await live.close();
});

test("health, clock, kitchen, screens, record", async () => {
  assert.equal((await call("GET", "/healthz")).body.status, "ok");
  assert.ok(Math.abs((await call("GET", "/clock")).body.now_ms - Date.now()) < 2000);
  assert.equal((await call("GET", "/kitchen")).body.name, "Stopwatch");
  assert.deepEqual(Object.keys((await call("GET", "/screens")).body.screens), ["floor", "pass", "station:bench", "station:stove"]);
  assert.equal((await call("GET", "/screens/station:stove")).body.document.station.id, "stove");
  assert.equal((await call("GET", "/screens/station%3Astove")).body.screen, "station:stove");
  assert.equal((await call("GET", "/screens/nowhere")).status, 404);
  assert.match((await call("GET", "/record")).body.fingerprint, /^\S{8,}$/);
});

test("a ticket as a line: 201, where it is, and what was understood", async () => {
  const sent = await ticket("2: 1e 2t 3t!milk \"by the window\"");
  assert.equal(sent.status, 201);
  assert.equal(sent.headers.location, `/tickets/${sent.body.ticket}`);
  assert.equal(sent.body.table, "2");
  assert.match(sent.body.says, /table 2/);
  assert.match(sent.body.says, /osition 3: no milk/);
  const read = await call("GET", sent.headers.location);
  assert.equal(read.body.note, "by the window");
  assert.deepEqual(read.body.guests, [{ position: 3, allergies: ["milk"] }]);
  assert.deepEqual(read.body.courses[0].plates.map((p) => [p.position, p.dish]), [[1, "egg"], [2, "toast"], [3, "toast"]]);
});

test("the card for an allergy: what can be had, what only with changes, what not and why", async () => {
  const free = await call("GET", "/card");
  assert.equal(free.status, 200);
  assert.deepEqual(Object.values(free.body.dishes).map((dish) => dish.answer), ["yes", "yes"]);
  const card = (await call("GET", "/card?without=eggs,milk")).body;
  assert.deepEqual(card.dishes.egg, { answer: "no", says: "no egg (egg)" });
  assert.equal(card.dishes.toast.answer, "yes");
  assert.equal(card.says, "not egg (egg); toast yes");
  const wrong = await call("GET", "/card?without=mlik");
  assert.equal(wrong.status, 400);
  assert.match(wrong.body.detail, /did you mean "milk"/);
});

test("21: the same order once more is asked about, and said again it is sent", async () => {
  const once = { "Content-Type": "text/plain", "Idempotency-Key": "once" };
  const first = await post("/tickets", "2: 1t 2t", once);
  assert.equal(first.status, 201);
  const again = await post("/tickets", "2: 1t 2t", { ...once, "Idempotency-Key": "twice" });
  assert.equal(again.status, 409);
  assert.match(again.body.detail, /table 2 already has this order, sent at \d\d:\d\d/);
  const sure = await post("/tickets?sure=true", "2: 1t 2t", { "Content-Type": "text/plain", "Idempotency-Key": "sure" });
  assert.equal(sure.status, 201);
  for (const one of [first.body.ticket, sure.body.ticket]) await command({ cancel_ticket: { ticket: one, reason: "twice" } });
});

test("a draft: what sending a ticket would mean, and nothing is sent", async () => {
  const line = { "Content-Type": "text/plain" };
  const before = (await call("GET", "/record")).body.events;
  const draft = await post("/draft", "2: 1e 2t", line);
  assert.equal(draft.status, 200);
  assert.equal(draft.body.plates, 2);
  assert.ok(draft.body.word_ms >= draft.body.could_ms);
  assert.equal((await call("GET", "/record")).body.events, before);
  assert.equal((await post("/draft", "2: 1", line)).status, 400);
  assert.equal((await post("/draft", "99: 1e", line)).status, 404);
  assert.equal((await post("/draft", "2: 1e", { "Content-Type": "text/html" })).status, 415);
  assert.equal((await command({ set_left: { dish: "toast", left: 0 } })).status, 200);
  assert.equal((await post("/draft", "2: 1t", line)).status, 409);
  assert.equal((await command({ set_left: { dish: "toast" } })).status, 200);
});

test("a ticket as JSON, with a line or an order", async () => {
  const headers = () => ({ ...json, "Idempotency-Key": `"${crypto.randomUUID()}"` });
  assert.equal((await post("/tickets", { line: "1: 1t", by: "Wren" }, headers())).status, 201);
  const order = { table: "3", courses: [{ course: "mains", plates: [{ position: 1, dish: "toast" }] }] };
  const sent = await post("/tickets", { order, by: "Wren", at_ms: Date.now() }, headers());
  assert.equal(sent.status, 201);
  const { body } = await call("GET", "/events?limit=1000");
  assert.equal(body.filter((e) => e.name === "ticket_sent").at(-1).body.ticket, sent.body.ticket);
});

test("an Idempotency-Key is needed, repeats the answer, and belongs to one ticket", async () => {
  const key = crypto.randomUUID();
  assert.equal((await ticket("1: 1t", null)).status, 400);
  assert.equal((await ticket("1: 1t", "two words")).status, 400);
  const first = await ticket("1: 1t 2t", key);
  assert.equal(first.status, 201);
  const { events } = (await call("GET", "/record")).body;
  for (let n = 0; n < 5; ++n) {
    const again = await ticket("1: 1t 2t", key);
    assert.deepEqual([again.status, again.headers.location, again.text], [201, first.headers.location, first.text]);
  }
  assert.equal((await ticket("1: 1t 2t 3t", key)).status, 422);
  assert.equal((await call("GET", "/record")).body.events, events);
  // Ten at the same instant are one ticket, too.
  const together = crypto.randomUUID();
  const all = await Promise.all(Array.from({ length: 10 }, () => ticket("3: 1t", together)));
  assert.equal(new Set(all.map((a) => a.body.ticket)).size, 1);
});

test("a refusal is remembered as well: the same key is refused again though it would fit by now", async () => {
  assert.equal((await command({ set_left: { dish: "egg", left: 0 } })).status, 200);
  const key = crypto.randomUUID();
  const refused = await ticket("2: 1e", key);
  assert.equal(refused.status, 409);
  assert.equal(refused.body.code, "refused");
  assert.equal((await command({ set_left: { dish: "egg" } })).status, 200);
  assert.deepEqual((await ticket("2: 1e", key)).body, refused.body);
  assert.equal((await ticket("2: 1e")).status, 201);
});

test("every way a ticket can be wrong is one sentence with its place", async () => {
  const wrong = [["", 400], ["nonsense", 400], ["99: 1e", 0], ["1: 1z", 0], ["1: 1e 1t", 0], ["1: 1e!dust", 0]];
  for (const [line, status] of wrong) {
    const answer = await ticket(line);
    assert.ok(status ? answer.status === status : [400, 404, 409].includes(answer.status), `${line}: ${answer.text}`);
  }
  const key = () => ({ "Idempotency-Key": crypto.randomUUID() });
  assert.equal((await post("/tickets", "1: 1e", { "Content-Type": "text/html", ...key() })).status, 415);
  for (const body of ["{", "[]", "{}", { line: "1: 1t", order: { table: "1" } }, { line: 7 }, { order: 7 }, { line: "1: 1t", size: 2 }, { line: "1: 1t", at_ms: "now" }]) {
    const answer = await post("/tickets", body, { ...json, ...key() });
    assert.equal(answer.status, 400, `${JSON.stringify(body)}: ${answer.text}`);
  }
  assert.equal((await call("GET", "/tickets/4000000")).status, 404);
  assert.equal((await call("GET", "/tickets/x")).status, 404);
});

test("commands: done, unreadable, unknown, no longer fitting, reused", async () => {
  const id = crypto.randomUUID();
  const action = { set_left: { dish: "toast", left: 40 } };
  const body = { id, by: "Ada", at_ms: Date.now(), do: action };
  const done = await post("/commands", body);
  assert.equal(done.status, 200);
  assert.deepEqual((await post("/commands", body)).body, done.body);
  assert.equal((await post("/commands", { ...body, do: { set_left: { dish: "toast", left: 41 } } })).status, 422);
  assert.equal((await command({ dance: {} })).status, 400);
  assert.equal((await post("/commands", "{")).status, 400);
  assert.equal((await post("/commands", body, { "Content-Type": "text/plain" })).status, 415);
  assert.equal((await command({ fire: { ticket: 4000000, course: "mains" } })).status, 404);
  assert.equal((await command({ open_service: { name: "again", document: "" } })).status, 409);
});

test("the record is read in pages, as an array or as lines", async () => {
  const all = (await call("GET", "/events?limit=1000")).body;
  assert.ok(all.length > 10);
  assert.deepEqual(all.map((e) => e.seq), all.map((_, n) => n + 1));
  const page = (await call("GET", "/events?after=3&limit=4")).body;
  assert.deepEqual(page, all.slice(3, 7));
  const lines = await call("GET", "/events?after=3&limit=4", { headers: { Accept: "application/x-ndjson" } });
  assert.deepEqual(lines.text.trimEnd().split("\n").map(JSON.parse), page);
  for (const query of ["after=-1", "after=x", "limit=0", "limit=1001", "after=1e3"]) {
    assert.equal((await call("GET", `/events?${query}`)).status, 400, query);
  }
});

test("the metrics are OpenMetrics to an outside reader", async (t) => {
  const { text, headers } = await call("GET", "/metrics");
  assert.equal(headers["content-type"], "application/openmetrics-text; version=1.0.0; charset=utf-8");
  assert.ok(text.endsWith("# EOF\n"));
  const python = ["/usr/bin/python3", "python3"].find(
    (name) => spawnSync(name, ["-c", "import prometheus_client.openmetrics.parser"]).status === 0);
  if (!python) return t.skip("python3-prometheus-client is not installed");
  const script = "import sys; from prometheus_client.openmetrics.parser import text_string_to_metric_families as read\n" +
    "print('\\n'.join(f.name + ' ' + f.type for f in read(sys.stdin.read())))";
  const families = execFileSync(python, ["-c", script], { input: text }).toString().trim().split("\n");
  for (const family of ["napped_commands counter", "napped_commit_seconds histogram", "napped_sessions gauge"]) {
    assert.ok(families.includes(family), family);
  }
});

test("the socket's path without an upgrade, with one, and from elsewhere", async () => {
  const plain = await call("GET", "/live");
  assert.equal(plain.status, 426);
  assert.equal(plain.headers.upgrade, "websocket");
  const upgrade = { Connection: "Upgrade", Upgrade: "websocket", "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==", "Sec-WebSocket-Version": "13" };
  assert.equal((await call("GET", "/live", { headers: upgrade })).status, 101);
  assert.equal((await call("GET", "/live", { headers: { ...upgrade, Origin: "http://elsewhere.example" } })).status, 403);
});

test("no page from elsewhere and no other name for this machine gets an answer", async () => {
  const other = await ask(napped.base, "GET", "/kitchen", { headers: { Host: "elsewhere.example" } });
  assert.equal(other.status, 403);
  const page = await ask(napped.base, "POST", "/commands", { headers: { ...json, Origin: "http://elsewhere.example" }, body: "{}" });
  assert.equal(page.status, 403);
  assert.equal(JSON.parse(page.text).code, "forbidden");
});

test("paths that are not there, methods that are not for them, HEAD", async () => {
  for (const path of ["/nothing", "/screens/", "/tickets", "/../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/%zz"]) {
    const { status, headers } = await ask(napped.base, "GET", path);
    assert.ok([400, 404, 405].includes(status), `${path} ${status}`);
    assert.equal(headers["content-type"], "application/problem+json");
  }
  const wrong = await ask(napped.base, "DELETE", "/tickets");
  assert.equal(wrong.status, 405);
  assert.equal(wrong.headers.allow, "POST");
  assert.equal((await ask(napped.base, "PUT", "/clock")).headers.allow, "GET, HEAD");
  const head = await ask(napped.base, "HEAD", "/kitchen");
  const get = await ask(napped.base, "GET", "/kitchen");
  assert.equal(head.status, 200);
  assert.equal(head.text, "");
  assert.equal(head.headers["content-length"], String(get.text.length));
});

test("a body or headers that are too large are refused, and the server goes on", async () => {
  const large = await ask(napped.base, "POST", "/commands", { headers: json, body: "x".repeat(300 << 10) });
  assert.equal(large.status, 413);
  assert.equal(JSON.parse(large.text).code, "too_many");
  const headers = await ask(napped.base, "GET", "/healthz", { headers: { "X-Long": "x".repeat(15 << 10), "X-Longer": "y".repeat(3 << 10) } });
  assert.equal(headers.status, 431);
  assert.equal((await call("GET", "/healthz")).status, 200);
});

test("the demo's clock: set, unreadable, backwards; and none without --demo", async (t) => {
  const { now_ms } = (await call("GET", "/clock")).body;
  assert.equal((await post("/demo/clock", { at_ms: now_ms + 1000, rate: 1 })).status, 200);
  assert.equal((await post("/demo/clock", { rate: -1 })).status, 400);
  assert.equal((await post("/demo/clock", { at_ms: 5 })).status, 409);
  const real = await serving(t);
  assert.equal((await post("/demo/clock", { rate: 2 }, json, real)).status, 404);
});

test("before any service is open the house can be read, and a ticket is refused", async (t) => {
  const closed = await serving(t, { open: null });
  assert.deepEqual(Object.keys((await call("GET", "/screens", {}, closed)).body.screens), ["floor", "pass"]);
  assert.equal((await call("GET", "/kitchen", {}, closed)).body.name, "Stopwatch");
  assert.equal((await call("GET", "/card", {}, closed)).status, 409);
  assert.equal((await ticket("1: 1t", undefined, {}, closed)).status, 409);
  assert.equal((await command({ set_left: { dish: "toast", left: 1 } }, undefined, closed)).status, 409);
  // A device that came too early gets its screen when the service opens.
  const early = new Live(closed.url);
  await early.opened;
  const document = early.later((m) => m.type === "document" && m.screen === "station:stove");
  early.send({ type: "subscribe", screen: "station:stove" });
  assert.equal((await command({ open_service: { name: "Late", document: "" } }, undefined, closed)).status, 200);
  assert.equal((await document).document.service.name, "Late");
  await early.close();
});

test("too many writes at once over HTTP", async (t) => {
  const busy = await serving(t);
  const agent = new Agent({ keepAlive: true, maxSockets: 50 });
  const flood = (path) => Array.from({ length: 1800 }, () => ask(busy.base, "POST", path, { headers: json, body: "{", agent }));
  for (const path of ["/commands", "/tickets", "/draft"]) {
    const answers = await Promise.all(flood(path));
    for (const answer of answers) described.check("POST", path, answer.status, answer.headers["content-type"], answer.text);
    const turned = answers.filter((a) => a.status === 429);
    assert.ok(turned.length > 20, `${turned.length}`);
    assert.equal(turned[0].headers["retry-after"], "1");
  }
  agent.destroy();
});

test("too many devices on the socket", async (t) => {
  const busy = await serving(t);
  const devices = Array.from({ length: 512 }, () => new Live(busy.url));
  await Promise.all(devices.map((device) => device.opened));
  const upgrade = { Connection: "Upgrade", Upgrade: "websocket", "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==", "Sec-WebSocket-Version": "13" };
  assert.equal((await call("GET", "/live", { headers: upgrade }, busy)).status, 503);
  await devices[0].close();
  await until("a place", async () => (await call("GET", "/live", { headers: upgrade }, busy)).status === 101);
  for (const device of devices) device.socket.terminate();
});

test("after a disk fault nothing is taken, everybody is told, and a new start has all that was acknowledged", async (t) => {
  const broken = await serving(t, { args: ["--demo"] });
  const live = new Live(broken.url);
  await live.opened;
  await live.subscribe("pass");
  const kept = (await ticket("1: 1t", undefined, {}, broken)).body;
  const { events } = (await call("GET", "/record", {}, broken)).body;
  // Screens are planned beside the line: what was acknowledged is on them a moment later.
  await until("the ticket on the pass", () => JSON.stringify(live.screens.pass ?? {}).includes('"dish":"toast"'));
  // From now on the log cannot grow: writes fail as on a full disk.
  const size = statSync(`${broken.journal}-wal`).size;
  execFileSync("prlimit", [`--pid=${broken.child.pid}`, `--fsize=${size}:${size}`]);
  const number = live.screens.pass.number;
  const lost = await live.command({ set_left: { dish: "toast", left: 3 } });
  assert.equal(lost.type, "refused");
  assert.equal(lost.problem.code, "unavailable");
  assert.match(lost.problem.detail, /nothing more is taken/);
  assert.equal((await call("GET", "/healthz", {}, broken)).status, 503);
  assert.equal((await call("GET", "/kitchen", {}, broken)).status, 503);
  assert.equal((await call("GET", "/card", {}, broken)).status, 503);
  assert.equal((await call("GET", "/record", {}, broken)).status, 503);
  assert.equal((await call("GET", `/tickets/${kept.ticket}`, {}, broken)).status, 503);
  assert.equal((await ticket("2: 1t", undefined, {}, broken)).status, 503);
  assert.equal((await command({ set_left: { dish: "toast", left: 4 } }, undefined, broken)).status, 503);
  assert.equal((await post("/draft", "2: 1t", { "Content-Type": "text/plain" }, broken)).status, 503);
  assert.equal((await post("/demo/clock", { rate: 2 }, json, broken)).status, 503);
  assert.equal(live.screens.pass.number, number, "nothing undurable is ever shown");
  assert.match((await ask(broken.base, "GET", "/metrics")).text, /napped_journal_failed 1/);
  await live.close();
  await broken.kill("SIGKILL");
  await broken.start();
  assert.ok((await call("GET", "/record", {}, broken)).body.events >= events);
  assert.equal((await call("GET", `/tickets/${kept.ticket}`, {}, broken)).body.table, "1");
});

test("a journal that can no longer be read says so", async (t) => {
  const broken = await serving(t);
  execFileSync("sqlite3", [broken.journal, "ALTER TABLE events RENAME TO elsewhere"]);
  assert.equal((await call("GET", "/events", {}, broken)).status, 503);
  await broken.kill("SIGKILL");
});

test("batches and readings go in, pages and CSV come out, and a refusal says why", async () => {
  const made = await command({ make_batch: { kind: "soup", use_by_days: 2, kept_in: "walk-in", kept_c: 4, labelled: true } });
  assert.equal(made.status, 200);
  const [id, batch] = Object.entries((await call("GET", "/batches")).body.batches)[0];
  assert.match(id, /^soup-\d{8}$/);
  assert.equal(batch.by, "Ada");
  const reading = await post("/readings", { probe: "blue", batch: id, celsius: 4.2, by: "Ada" });
  assert.match(reading.body.says, /^Reading 1: 4\.2 C\. .*limit of /);
  assert.equal((await post("/readings", { probe: "blue", batch: "none", celsius: 4 })).status, 404);
  const wrong = await post("/readings", { probe: "blue", batch: id, celsius: "warm" });
  assert.equal(wrong.status, 400);
  assert.equal(wrong.body.where ?? wrong.body.pointer, "/celsius");
  assert.equal((await post("/readings", "{}", { "Content-Type": "text/plain" })).status, 415);
  const page = await call("GET", `/record/batches/${id}`);
  assert.match(page.text, /<h1>Batch soup-/);
  assert.match(page.text, /4\.2 C/);
  assert.ok(!/https?:|src=|<script/.test(page.text), "the page needs nothing else");
  assert.match((await call("GET", `/record/batches/${id}?as=text`)).text, /made\s+.* by Ada/);
  assert.equal((await call("GET", "/record/batches/none")).status, 404);
  const csv = (await call("GET", "/record/readings.csv")).text.split("\r\n");
  assert.match(csv[1], /^1,[^,]+,[^,]+,no,soup-\d{8},,blue,4\.2,,,Ada,no,$/);
  assert.equal((await call("GET", "/record/check")).body.whole, true);
  const kitchen = (await call("GET", "/kitchen")).body;
  const egg = (await (await ticket("2: 1e")).body).ticket;
  const drawn = kitchen.components[0].id;
  await command({ make_batch: { kind: drawn, use_by_days: 1, portions: 5, labelled: true } });
  await command({ fire: { ticket: egg, course: "mains" } });
  assert.equal((await command({ gone: { ticket: egg, course: "mains", sure: true } })).status, 200);
  assert.match((await call("GET", "/record/plates/2?course=mains&position=1")).text, new RegExp(`table 2 mains position 1, .*from ${drawn}-`));
  assert.equal((await call("GET", "/record/plates/nobody")).status, 404);
  assert.equal((await call("GET", "/record/plates/1?position=none")).status, 400);
  for (const batch of Object.keys((await call("GET", "/batches")).body.batches))
    assert.equal((await command({ throw_batch: { batch, reason: "the test is over" } })).status, 200);
});

test("the paper line: a till roll or a page", async () => {
  await call("GET", "/paper");
  assert.ok((await call("GET", "/paper?size=a4")).text.split("\n").every((line) => line.replace("\f", "").length <= 80));
  assert.equal((await call("GET", "/paper?size=a5")).status, 400);
});

test("pairing: asked, answered, fetched, ended", async (t) => {
  const gated = await serving(t, { args: ["--pairing"] });
  const by = (token) => ({ Authorization: `Bearer ${token}` });
  const ask_word = async () => (await call("POST", "/pair", {}, gated)).body;
  const say = (token, body, headers = json) => post("/devices", body, { ...headers, ...by(token) }, gated);
  const asked = await ask_word();
  await call("GET", "/pair", { headers: by(asked.secret) }, gated);
  assert.equal((await say(gated.token, { word: asked.word, role: "station", station: "stove" })).status, 201);
  const { token } = (await call("GET", "/pair", { headers: by(asked.secret) }, gated)).body;
  assert.equal((await post("/draft", "2: 1t", { "Content-Type": "text/plain", ...by(token) }, gated)).status, 403);
  assert.equal((await call("GET", "/pair", { headers: by(asked.secret) }, gated)).status, 404);
  assert.equal((await call("GET", "/me", { headers: by(token) }, gated)).body.station, "stove");
  assert.equal((await call("GET", "/me", {}, gated)).status, 401);
  await ask_word();
  const { body } = await call("GET", "/devices", { headers: by(gated.token) }, gated);
  assert.deepEqual([Object.keys(body.devices), Object.keys(body.asking).length], [["stove"], 1]);
  assert.equal((await call("GET", "/devices", { headers: by(token) }, gated)).status, 403);
  assert.equal((await say(gated.token, "[]")).status, 400);
  assert.equal((await say(gated.token, "{}", { "Content-Type": "text/plain" })).status, 415);
  assert.equal((await say(token, { word: "leek", role: "floor" })).status, 403);
  assert.equal((await say(gated.token, { word: "none", role: "floor" })).status, 404);
  assert.equal((await say(gated.token, { word: (await ask_word()).word, role: "floor", name: "stove" })).status, 409);
  const fire = { id: "f", by: "Ada", at_ms: Date.now(), do: { fire: { ticket: 1, course: "mains" } } };
  assert.equal((await post("/commands", fire, { ...json, ...by(token) }, gated)).status, 403);
  assert.equal((await call("DELETE", "/devices/stove", { headers: by(token) }, gated)).status, 403);
  assert.equal((await call("DELETE", "/devices/stove", { headers: by(gated.token) }, gated)).status, 200);
  assert.equal((await call("DELETE", "/devices/stove", { headers: by(gated.token) }, gated)).status, 404);
  for (let n = 0; n < 25; ++n) await call("GET", "/me", { headers: by("guess") }, gated);
  assert.equal((await call("GET", "/me", { headers: by("guess") }, gated)).status, 429);
  let status = 201;
  for (let n = 0; n < 25 && status === 201; ++n) ({ status } = await call("POST", "/pair", {}, gated));
  assert.equal(status, 429);
});

test("every path and status that is described has been seen", () => {
  assert.deepEqual(described.unseen(), []);
});
