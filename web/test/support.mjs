// A storage, a world with its own time, and a server in the same process: the connection's tests play with all three.

export class MemoryStorage {
  map = new Map();
  get length() {
    return this.map.size;
  }
  key(index) {
    return [...this.map.keys()][index] ?? null;
  }
  getItem(key) {
    return this.map.get(key) ?? null;
  }
  setItem(key, value) {
    this.map.set(key, String(value));
  }
  removeItem(key) {
    this.map.delete(key);
  }
}

/** Simulated time: nothing happens until run() is called. */
export class TestWorld {
  time = 1_000;
  timers = new Map();
  last = 0;
  sockets = [];
  constructor(random, connect) {
    this.random = random;
    this.connect = connect;
  }
  steady() {
    return this.time;
  }
  after(ms, what) {
    this.timers.set(++this.last, { at: this.time + ms, what });
    return this.last;
  }
  cancel(timer) {
    this.timers.delete(timer);
  }
  open() {
    const socket = { onopen: null, onclose: null, onmessage: null, sent: [], closed: false };
    socket.send = (text) => {
      if (socket.closed) throw new Error("closed");
      socket.sent.push(JSON.parse(text));
      socket.peer?.(JSON.parse(text));
    };
    socket.close = () => {
      socket.closed = true;
    };
    this.sockets.push(socket);
    this.connect(socket);
    return socket;
  }
  /** The socket in use. */
  get socket() {
    return this.sockets[this.sockets.length - 1];
  }
  run(ms) {
    const end = this.time + ms;
    for (;;) {
      let next;
      for (const [timer, entry] of this.timers) {
        if (entry.at <= end && (next === undefined || entry.at < next[1].at)) next = [timer, entry];
      }
      if (next === undefined) break;
      this.timers.delete(next[0]);
      this.time = Math.max(this.time, next[1].at);
      next[1].what();
    }
    this.time = end;
  }
}

/** The server's side of the protocol: one document, a memory of commands, a wire that may lose either direction. */
export class TestServer {
  epoch = "e1";
  number = 1;
  document = { service: { name: "Friday", open: true }, tables: {} };
  patches = new Map();
  done = new Map();
  carried_out = [];
  up = true;
  /** Chance that an answer never arrives because the wire breaks first. */
  breaks = () => false;
  /** Chance that it asks to be told again. */
  busy = () => false;
  world;

  attach(world) {
    this.world = world;
  }
  connect(socket) {
    this.world.after(5, () => {
      if (!this.up) return this.cut(socket);
      socket.peer = (message) => this.world.after(5, () => this.hear(socket, message));
      socket.onopen?.();
    });
  }
  cut(socket) {
    socket.closed = true;
    socket.peer = undefined;
    socket.onclose?.();
  }
  say(socket, message) {
    this.world.after(5, () => {
      if (!socket.closed && socket.peer) socket.onmessage?.({ data: JSON.stringify(message) });
    });
  }
  hear(socket, message) {
    if (socket.closed || !socket.peer) return;
    if (message.type === "hello") {
      this.say(socket, { type: "welcome", version: "0", epoch: this.epoch, now_ms: this.now(), rate: 1 });
    } else if (message.type === "clock") {
      this.say(socket, { type: "clock", t1: message.t1, t2: this.now(), t3: this.now(), rate: 1 });
    } else if (message.type === "subscribe") this.subscribe(socket, message);
    else if (message.type === "command") this.command(socket, message.command);
  }
  now() {
    return this.world.time + 500_000;
  }
  subscribe(socket, { screen, epoch, number }) {
    socket.subscribed = true;
    if (epoch === this.epoch && number <= this.number) {
      for (let n = number + 1; n <= this.number; ++n)
        this.say(socket, { type: "patch", screen, number: n, patch: this.patches.get(n) });
      return;
    }
    this.say(socket, { type: "document", screen, epoch: this.epoch, number: this.number, document: this.document });
  }
  /** Changes the document; `lost` sockets do not hear of it. */
  patch(patch, apply, lost = false) {
    this.document = apply(this.document);
    this.patches.set(++this.number, patch);
    const socket = this.world.socket;
    if (!lost && socket?.subscribed && !socket.closed)
      this.say(socket, { type: "patch", screen: "pass", number: this.number, patch });
  }
  command(socket, command) {
    if (this.breaks()) return this.cut(socket); // before it is durable
    if (this.busy()) {
      const problem = { type: "about:blank", title: "Too many", status: 429, code: "too_many", detail: "in a second" };
      return this.say(socket, { type: "refused", id: command.id, problem });
    }
    if (!this.done.has(command.id)) {
      this.carried_out.push(command);
      this.done.set(command.id, command.do.hold?.course === "refuse");
    }
    if (this.breaks()) return this.cut(socket); // durable, but the answer is lost
    this.say(
      socket,
      this.done.get(command.id)
        ? {
            type: "refused",
            id: command.id,
            problem: { type: "about:blank", title: "Refused", status: 409, code: "conflict", detail: "no" },
          }
        : { type: "done", id: command.id, number: this.carried_out.length },
    );
  }
}
