// Just enough of MQTT 3.1.1 (OASIS) to measure a broker: connect, subscribe, publish with QoS 0 and 1.
import { connect } from "node:net";

const text = (value) => {
  const bytes = Buffer.from(value);
  return Buffer.concat([Buffer.from([bytes.length >> 8, bytes.length & 255]), bytes]);
};

/** Fixed header: type and flags, remaining length in seven-bit groups (2.2.3). */
function packet(first, ...parts) {
  const body = Buffer.concat(parts);
  const length = [];
  let left = body.length;
  do {
    length.push((left & 127) | (left > 127 ? 128 : 0));
    left >>= 7;
  } while (left > 0);
  return Buffer.concat([Buffer.from([first, ...length]), body]);
}

export class Mqtt {
  constructor(port, id) {
    this.bytes = Buffer.alloc(0);
    this.waiting = new Map();
    this.socket = connect(port, "127.0.0.1");
    this.socket.setNoDelay(true);
    this.socket.on("data", (data) => this.take(data));
    this.onMessage = () => {};
    this.connected = this.answer(2);
    this.socket.on("connect", () => this.socket.write(packet(0x10, text("MQTT"), Buffer.from([4, 2, 0, 0]), text(id))));
  }
  answer(type) {
    return new Promise((done) => this.waiting.set(type, done));
  }
  take(data) {
    this.bytes = Buffer.concat([this.bytes, data]);
    for (;;) {
      let length = 0;
      let at = 1;
      let more = true;
      for (let shift = 0; more; shift += 7, ++at) {
        if (at >= this.bytes.length) return;
        length |= (this.bytes[at] & 127) << shift;
        more = (this.bytes[at] & 128) !== 0;
      }
      if (this.bytes.length < at + length) return;
      this.hear(this.bytes[0], this.bytes.subarray(at, at + length));
      this.bytes = this.bytes.subarray(at + length);
    }
  }
  hear(first, body) {
    const type = first >> 4;
    if (type === 3) {
      const qos = (first >> 1) & 3;
      const topic = body.readUInt16BE(0);
      this.onMessage(body.length - 2 - topic - (qos > 0 ? 2 : 0));
      if (qos > 0) this.socket.write(packet(0x40, body.subarray(2 + topic, 4 + topic)));
    }
    this.waiting.get(type)?.();
    this.waiting.delete(type);
  }
  subscribe(topic, qos) {
    const done = this.answer(9);
    this.socket.write(packet(0x82, Buffer.from([0, 1]), text(topic), Buffer.from([qos])));
    return done;
  }
  publish(topic, payload, qos, id) {
    const mark = qos > 0 ? Buffer.from([id >> 8, id & 255]) : Buffer.alloc(0);
    this.socket.write(packet(0x30 | (qos << 1), text(topic), mark, payload));
  }
  close() {
    this.socket.destroy();
  }
}
