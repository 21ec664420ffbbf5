// The wire to the server: keeps the documents current, sends presses until they are answered, sets the clock, and comes
// back by itself. The socket, the timers and the randomness come in, so that tests can play all of it.

import type { KitchenClock } from "./clock.ts";
import { type Json, mergePatch } from "./merge.ts";
import type { Outbox } from "./queue.ts";
import { type ClientMessage, type Problem, readMessage, type ServerMessage } from "./wire.ts";

export interface Socket {
  send(text: string): void;
  close(): void;
  onopen: (() => void) | null;
  onclose: (() => void) | null;
  onmessage: ((event: { data: string }) => void) | null;
}

export interface World {
  open(): Socket;
  /** Milliseconds that never step back. */
  steady(): number;
  random(): number;
  after(ms: number, what: () => void): number;
  cancel(timer: number): void;
}

/** One screen document and how far it has come. */
export interface Held {
  epoch: string;
  number: number;
  document: Json;
}

export interface Listener {
  /** The document of a screen is another one now. */
  changed(screen: string): void;
  /** The link came or went. */
  link(): void;
  /** `says`: what the act is read back as, when it needs it. */
  done(id: string, says: string | undefined): void;
  refused(id: string, problem: Problem): void;
  /** A press has left the outbox. */
  settled(): void;
}

export const ping_every_ms = 4_000;
/** No answer for so long: the link is gone, whatever the socket says. */
export const silence_ms_max = 10_000;
/** No answer to a press for so long: it is sent again, with the same id. */
export const answer_ms_max = 5_000;
/** Refusals of the moment, not of the press: the server asks to be told again. */
const later_codes = ["too_many", "unavailable"];
const put_off_ms = 1_200;
/** A server that never can is a refusal after all. */
export const put_off_max = 25;
const back_off_ms_min = 400;
const back_off_ms_max = 8_000;
/** Quick samples first, so that the clock is right within a second. */
const first_pings_ms = [0, 150, 400, 800];

/** How long to wait before the n-th try (from 0): doubles, bounded, and never the same for two screens. */
export function backOff(tries: number, random: number): number {
  const whole = Math.min(back_off_ms_max, back_off_ms_min * 2 ** Math.min(tries, 10));
  return whole / 2 + (whole / 2) * random;
}

export class Connection {
  readonly held = new Map<string, Held>();
  /** Connected and welcomed. */
  live = false;
  /** When something was last heard, kitchen time; nothing yet: undefined. */
  heard_ms: number | undefined;

  private socket: Socket | undefined;
  private screens = new Set<string>();
  private tries = 0;
  private timers = new Set<number>();
  private heard_steady = 0;
  /** Screens that were asked for anew: patches for them are stale until the answer comes. */
  private asked = new Set<string>();
  /** The press that has been sent and not answered. */
  private flying: { id: string } | undefined;
  private put_off = new Map<string, number>();

  constructor(
    private readonly world: World,
    private readonly clock: KitchenClock,
    private readonly outbox: Outbox,
    private readonly device: string,
    private readonly listener: Listener,
  ) {}

  start(): void {
    this.connect();
  }

  /** Try at once: the network came back, or somebody looks at the page again. */
  hurry(): void {
    if (this.socket === undefined) this.connect();
    else if (this.live) this.ping();
  }

  want(screen: string): void {
    if (this.screens.has(screen)) return;
    this.screens.add(screen);
    if (this.live) this.subscribe(screen);
  }

  unwant(screen: string): void {
    if (!this.screens.delete(screen)) return;
    if (this.live) this.say({ type: "unsubscribe", screen });
  }

  /**
   * Sends the oldest press of the outbox, and the next one when it is answered: so they are carried out in the order of the
   * hands, whatever is refused for a moment or lost on the way. Cut off, it waits for the next welcome.
   */
  sendPresses(): void {
    if (!this.live || this.flying !== undefined) return;
    const [command] = this.outbox.list();
    if (command === undefined) return;
    const flight = { id: command.id };
    this.flying = flight;
    this.say({ type: "command", command });
    this.later(answer_ms_max, () => this.landed(flight));
  }

  /** The press in the air is answered, or has been waited for long enough: the oldest one goes (again). */
  private landed(flight: { id: string } | undefined): void {
    if (flight === undefined || this.flying !== flight) return;
    this.flying = undefined;
    this.sendPresses();
  }

  private answered(id: string, problem: Problem | undefined, says?: string): void {
    const flight = this.flying?.id === id ? this.flying : undefined;
    if (problem !== undefined && later_codes.includes(problem.code)) {
      const tries = (this.put_off.get(id) ?? 0) + 1;
      this.put_off.set(id, tries);
      if (tries < put_off_max) {
        this.later(put_off_ms, () => this.landed(flight));
        return;
      }
    }
    this.put_off.delete(id);
    if (problem === undefined) this.listener.done(id, says);
    else this.listener.refused(id, problem);
    this.outbox.settle(id);
    this.listener.settled();
    this.landed(flight);
  }

  private connect(): void {
    this.clearTimers();
    this.heard_steady = this.world.steady();
    const socket = this.world.open();
    this.socket = socket;
    socket.onopen = () => this.say({ type: "hello", device: this.device });
    socket.onmessage = (event) => {
      if (this.socket === socket) this.hear(event.data);
    };
    socket.onclose = () => {
      if (this.socket === socket) this.lost();
    };
    this.watch();
  }

  private lost(): void {
    const socket = this.socket;
    this.socket = undefined;
    if (socket !== undefined) {
      socket.onopen = socket.onmessage = socket.onclose = null;
      socket.close();
    }
    this.clearTimers();
    const was_live = this.live;
    this.live = false;
    this.asked.clear();
    this.flying = undefined;
    this.later(backOff(this.tries++, this.world.random()), () => this.connect());
    if (was_live || this.tries === 1) this.listener.link();
  }

  /** A socket may stay open long after its wire was pulled. */
  private watch(): void {
    this.later(1_000, () => {
      if (this.world.steady() - this.heard_steady > silence_ms_max) this.lost();
      else this.watch();
    });
  }

  private hear(text: string): void {
    const message = readMessage(text);
    if (message === undefined) return;
    this.heard_steady = this.world.steady();
    this.take(message);
    this.heard_ms = this.clock.now();
  }

  private take(message: ServerMessage): void {
    switch (message.type) {
      case "welcome":
        this.welcomed(message.now_ms, message.rate);
        break;
      case "document":
        this.asked.delete(message.screen);
        this.held.set(message.screen, {
          epoch: message.epoch,
          number: message.number,
          document: message.document as Json,
        });
        this.listener.changed(message.screen);
        break;
      case "patch":
        this.patched(message.screen, message.number, message.patch as Json);
        break;
      case "clock":
        this.clock.take(message.t1, message.t2, message.t3, this.world.steady(), message.rate);
        break;
      case "done":
        this.answered(message.id, undefined, message.says);
        break;
      case "refused":
        this.answered(message.id, message.problem);
        break;
      case "error":
        break;
      default:
        message satisfies never;
    }
  }

  private welcomed(now_ms: number, rate: number): void {
    this.tries = 0;
    this.live = true;
    this.clock.reconnected();
    this.clock.guess(now_ms, rate);
    for (const screen of this.screens) this.subscribe(screen);
    this.sendPresses();
    for (const ms of first_pings_ms) this.later(ms, () => this.ping());
    this.keepPinging();
    this.listener.link();
  }

  private patched(screen: string, number: number, patch: Json): void {
    const held = this.held.get(screen);
    if (held === undefined || this.asked.has(screen)) {
      // After a subscription with a number the server sends the missing patches: the next one answers it.
      if (held === undefined || number !== held.number + 1) return;
      this.asked.delete(screen);
    }
    if (number <= held.number) return;
    if (number !== held.number + 1) {
      this.subscribe(screen);
      return;
    }
    this.held.set(screen, { epoch: held.epoch, number, document: mergePatch(held.document, patch) });
    this.listener.changed(screen);
  }

  private subscribe(screen: string): void {
    const held = this.held.get(screen);
    if (held === undefined) this.say({ type: "subscribe", screen });
    else {
      this.asked.add(screen);
      this.say({ type: "subscribe", screen, epoch: held.epoch, number: held.number });
    }
  }

  private keepPinging(): void {
    this.later(ping_every_ms, () => {
      this.ping();
      this.keepPinging();
    });
  }

  private ping(): void {
    this.say({ type: "clock", t1: this.world.steady() });
  }

  private say(message: ClientMessage): void {
    try {
      this.socket?.send(JSON.stringify(message));
    } catch {
      // The socket is closing; presses stand in the outbox and the rest is asked again after the next welcome.
    }
  }

  private later(ms: number, what: () => void): void {
    const timer = this.world.after(ms, () => {
      this.timers.delete(timer);
      what();
    });
    this.timers.add(timer);
  }

  private clearTimers(): void {
    for (const timer of this.timers) this.world.cancel(timer);
    this.timers.clear();
  }
}
