// The wire itself: RFC 6455, byte by byte.
import assert from "node:assert/strict";
import { connect } from "node:net";
import { after, before, test } from "node:test";
import WebSocket from "ws";
import { Live } from "./lib/live.mjs";
import { Napped, until } from "./lib/napped.mjs";

let napped;
before(async () => (napped = await new Napped().start()));
after(() => napped.remove());

/** A plain TCP connection that collects what comes. */
function raw() {
  const socket = connect(napped.port, "127.0.0.1");
  const peer = { socket, bytes: Buffer.alloc(0) };
  socket.on("data", (data) => (peer.bytes = Buffer.concat([peer.bytes, data])));
  peer.ended = new Promise((done) => socket.on("close", done));
  socket.on("error", () => {});
  return peer;
}

const handshake = (port, extra = "") =>
  `GET /live HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n` +
  `Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nSec-WebSocket-Version: 13\r\n${extra}\r\n`;

async function upgraded() {
  const peer = raw();
  peer.socket.write(handshake(napped.port));
  await until("the handshake", () => peer.bytes.includes("\r\n\r\n"));
  // Behind the handshake comes the welcome, unmasked.
  await until("the welcome", () => peer.bytes.length > peer.bytes.indexOf("\r\n\r\n") + 20);
  peer.head = peer.bytes.subarray(0, peer.bytes.indexOf("\r\n\r\n") + 4).toString();
  peer.bytes = peer.bytes.subarray(peer.head.length);
  return peer;
}

/** A client frame, masked with the key of RFC 6455, 5.7. */
function frame(opcode, payload, { masked = true, fin = true, mask = Buffer.from([0x37, 0xfa, 0x21, 0x3d]) } = {}) {
  const data = Buffer.from(payload);
  const head = [(fin ? 0x80 : 0) | opcode];
  const bit = masked ? 0x80 : 0;
  if (data.length < 126) head.push(bit | data.length);
  else if (data.length < 65536) head.push(bit | 126, data.length >> 8, data.length & 255);
  else head.push(bit | 127, 0, 0, 0, 0, (data.length >>> 24) & 255, (data.length >> 16) & 255, (data.length >> 8) & 255, data.length & 255);
  if (!masked) return Buffer.concat([Buffer.from(head), data]);
  return Buffer.concat([Buffer.from(head), mask, data.map((byte, at) => byte ^ mask[at % 4])]);
}

/** The close code in the last close frame that came, or null. */
async function closeCode(peer) {
  await peer.ended;
  const at = peer.bytes.lastIndexOf(0x88);
  return at >= 0 && peer.bytes[at + 1] >= 2 ? peer.bytes.readUInt16BE(at + 2) : null;
}

test("the handshake example of RFC 6455, 1.3", async () => {
  const peer = await upgraded();
  assert.match(peer.head, /^HTTP\/1\.1 101 /);
  assert.match(peer.head, /\r\nSec-WebSocket-Accept: s3pPLMBiTxaQ9kYGzzhZRbK\+xOo=\r\n/i);
  assert.match(peer.head, /\r\nUpgrade: websocket\r\n/i);
  assert.match(peer.head, /\r\nConnection: upgrade\r\n/i);
  assert.equal(peer.bytes[0], 0x81, "a text frame, whole");
  assert.equal(peer.bytes[1] & 0x80, 0, "servers do not mask");
  peer.socket.destroy();
});

test("masking as in RFC 6455, 5.7", () => {
  assert.deepEqual(frame(1, "Hello"), Buffer.from("818537fa213d7f9f4d5158", "hex"));
});

test("a ping is answered by a pong with the same payload", async () => {
  const peer = await upgraded();
  await until("quiet", () => peer.bytes.length > 0);
  peer.bytes = Buffer.alloc(0);
  peer.socket.write(Buffer.from("898537fa213d7f9f4d5158", "hex"));
  await until("the pong", () => peer.bytes.length >= 7);
  assert.deepEqual(peer.bytes, Buffer.from("8a0548656c6c6f", "hex"));
  peer.socket.destroy();
});

test("a message in fragments is one message", async () => {
  const peer = await upgraded();
  peer.bytes = Buffer.alloc(0);
  peer.socket.write(Buffer.concat([frame(1, '{"type":"clo', { fin: false }), frame(0, 'ck","t1":5}')]));
  await until("the clock", () => peer.bytes.includes('"t1":5'));
  peer.socket.destroy();
});

test("an unmasked frame of a client closes with 1002", async () => {
  const peer = await upgraded();
  peer.socket.write(frame(1, '{"type":"clock","t1":1}', { masked: false }));
  assert.equal(await closeCode(peer), 1002);
  assert.ok(!peer.bytes.includes('"t1"'));
});

test("a frame over 64 KiB closes with 1009, one of exactly that is read", async () => {
  const peer = await upgraded();
  const whole = (size) => {
    const text = '{"type":"clock","t1":77}';
    return text + " ".repeat(size - text.length);
  };
  peer.socket.write(frame(1, whole(65536)));
  await until("the clock", () => peer.bytes.includes('"t1":77'));
  peer.socket.write(frame(1, whole(65537)));
  assert.equal(await closeCode(peer), 1009);
});

test("many small fragments do not get around the bound", async () => {
  const peer = await upgraded();
  peer.socket.write(frame(1, " ".repeat(60000), { fin: false }));
  peer.socket.write(frame(0, " ".repeat(6000), { fin: true }));
  assert.equal(await closeCode(peer), 1009);
});

test("text that is no UTF-8 closes with 1007, binary with 1003", async () => {
  const bad = await upgraded();
  bad.socket.write(frame(1, Buffer.from([0x7b, 0xff, 0xfe])));
  assert.equal(await closeCode(bad), 1007);
  const binary = await upgraded();
  binary.socket.write(frame(2, "{}"));
  binary.socket.write(Buffer.concat([frame(8, Buffer.from([0x03, 0xeb]))]));
  assert.equal(await closeCode(binary), 1003);
});

test("a page from elsewhere may not connect, one from here may", async () => {
  const elsewhere = new Live(napped.url, { origin: "http://elsewhere.example" });
  await assert.rejects(elsewhere.opened, /403/);
  const here = new Live(napped.url, { origin: napped.base });
  await here.opened;
  await here.close();
});

test("a handshake that is none is refused", async () => {
  for (const [from, to] of [["Sec-WebSocket-Version: 13", "Sec-WebSocket-Version: 8"], ["Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n", ""]]) {
    const peer = raw();
    peer.socket.write(handshake(napped.port).replace(from, to));
    await until("an answer", () => peer.bytes.includes("\r\n\r\n"));
    assert.match(peer.bytes.toString(), /^HTTP\/1\.1 4(00|26) /);
    peer.socket.destroy();
  }
});

test("the socket closes cleanly when the device says goodbye", async () => {
  const live = new Live(napped.url);
  await live.opened;
  assert.ok([1000, 1005].includes((await live.close()).code)); // the device gave no code
  const other = new WebSocket(napped.url);
  await new Promise((done) => other.on("open", done));
  const closed = new Promise((done) => other.on("close", done));
  other.close(1000);
  assert.equal(await closed, 1000);
  await until("no session left", async () => /napped_sessions 0\.0/.test(await (await napped.fetch("/metrics")).text()));
});
