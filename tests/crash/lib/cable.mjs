// A cable between a screen and the server that can be pulled out: what is on its way then waits (as the network's own
// repeats would make it), new connections get no answer, and after `plug` all goes on.
import { createServer, connect } from "node:net";

export class Cable {
  /** `port()` answers where the server is now. */
  constructor(port) {
    this.port = port;
    this.out = false;
    this.pairs = new Set();
    this.server = createServer({ allowHalfOpen: false }, (near) => this.join(near));
  }

  listen() {
    return new Promise((done) => this.server.listen(0, "127.0.0.1", () => done(this)));
  }
  get address() {
    return `127.0.0.1:${this.server.address().port}`;
  }

  join(near) {
    near.on("error", () => {});
    const pair = { near, far: undefined };
    this.pairs.add(pair);
    near.on("close", () => {
      pair.far?.destroy();
      this.pairs.delete(pair);
    });
    if (this.out) near.pause();
    else this.reach(pair);
  }
  reach(pair) {
    pair.far = connect(this.port(), "127.0.0.1");
    pair.far.on("error", () => {});
    pair.far.on("close", () => pair.near.destroy());
    pair.near.on("data", (data) => pair.far.write(data));
    pair.far.on("data", (data) => pair.near.write(data));
  }

  cut() {
    this.out = true;
    for (const { near, far } of this.pairs) {
      near.pause();
      far?.pause();
    }
  }
  plug() {
    this.out = false;
    for (const pair of this.pairs) {
      if (pair.far === undefined) this.reach(pair);
      pair.near.resume();
      pair.far.resume();
    }
  }
  close() {
    for (const { near } of this.pairs) near.destroy();
    this.server.close();
  }
}
