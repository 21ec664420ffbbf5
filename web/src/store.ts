// What the page knows, in one place: the documents, the link, the presses on their way and what became of them.

import { insisted, said, subject } from "./actions.ts";
import { KitchenClock } from "./clock.ts";
import { Connection, type Held, type World } from "./connection.ts";
import { newId, Outbox } from "./queue.ts";
import { type Action, type Command, type PassDocument, type Problem, passDocument } from "./wire.ts";
import { keepHouseTime } from "./words.ts";

/** A refusal stays this long beside what it is about. */
export const refusal_ms = 20_000;
/** A link that comes up within this long was never worth a word. */
export const connecting_ms = 1_500;

export interface Refusal {
  /** Course key or alert key. */
  about: string;
  sentence: string;
  /** What to say to insist, if it can be insisted on. */
  again: Action | undefined;
  at_steady: number;
}

/** What an act was read back as. */
export interface ReadBack {
  about: string;
  sentence: string;
  at_steady: number;
}

export interface Pending {
  about: string;
  what: string;
  at_ms: number;
}

export interface Storage {
  readonly length: number;
  key(index: number): string | null;
  getItem(key: string): string | null;
  setItem(key: string, value: string): void;
  removeItem(key: string): void;
}

const kept_screen = "nappe.screen.";
const kept_clock = "nappe.clock";
const kept_by = "nappe.by";
const kept_singles = "nappe.single-keys";
const kept_sound = "nappe.sound";

export class Store {
  readonly clock: KitchenClock;
  readonly connection: Connection;
  pass: PassDocument | undefined;
  /** Presses without an answer, oldest first. */
  pending: Pending[] = [];
  refusals: Refusal[] = [];
  said_back: ReadBack[] = [];
  /** Changes with everything above, for whoever draws. */
  version = 0;

  private readonly outbox: Outbox;
  private readonly commands = new Map<string, Command>();
  private listeners = new Set<() => void>();
  private saved_steady = Number.NEGATIVE_INFINITY;
  private readonly born_steady: number;

  constructor(
    private readonly world: World,
    private readonly storage: Storage,
    private readonly fill: (bytes: Uint8Array<ArrayBuffer>) => Uint8Array,
  ) {
    this.born_steady = world.steady();
    this.clock = new KitchenClock(() => world.steady());
    this.outbox = new Outbox(storage);
    this.connection = new Connection(world, this.clock, this.outbox, this.by, {
      changed: (screen) => this.changed(screen),
      link: () => this.tell(),
      done: (id, says) => this.answered(id, undefined, says),
      refused: (id, problem) => this.answered(id, problem),
      settled: () => this.refresh(),
    });
    this.restore();
    this.connection.want("pass");
  }

  /** Who presses here. */
  get by(): string {
    return this.storage.getItem(kept_by) ?? "pass";
  }
  set by(name: string) {
    this.write(kept_by, name.trim() || "pass");
    this.tell();
  }

  get single_keys(): boolean {
    return this.storage.getItem(kept_singles) !== "off";
  }
  set single_keys(on: boolean) {
    this.write(kept_singles, on ? "on" : "off");
    this.tell();
  }

  /** A tone when something new wants a decision. Silent until somebody here asks for it. */
  get sound(): boolean {
    return this.storage.getItem(kept_sound) === "on";
  }
  set sound(on: boolean) {
    this.write(kept_sound, on ? "on" : "off");
    this.tell();
  }

  /** Cut off: since when, kitchen time. `undefined` while connected, and for the first moment of trying. */
  get cut_since_ms(): number | undefined {
    if (this.connection.live) return undefined;
    if (this.connection.heard_ms !== undefined) return this.connection.heard_ms;
    if (this.world.steady() - this.born_steady < connecting_ms) return undefined;
    return this.last_known_ms ?? this.clock.now();
  }
  /** When the document that is shown was last known to be true, after a reload with the server away. */
  private last_known_ms: number | undefined;

  get safe(): boolean {
    return this.outbox.safe;
  }

  screen(name: string): unknown {
    return this.connection.held.get(name)?.document;
  }

  subscribe(listener: () => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  press(action: Action): void {
    const command: Command = { id: newId(this.fill), by: this.by, at_ms: Math.round(this.clock.now()), do: action };
    this.commands.set(command.id, command);
    this.outbox.put(command);
    const about = subject(action);
    this.refusals = this.refusals.filter((refusal) => refusal.about !== about);
    this.connection.sendPresses();
    this.refresh();
  }

  /** Lets refusals go whose time is over. */
  forget(): void {
    const now = this.world.steady();
    const fresh = (one: { at_steady: number }) => now - one.at_steady < refusal_ms;
    if (this.refusals.every(fresh) && this.said_back.every(fresh)) return;
    this.refusals = this.refusals.filter(fresh);
    this.said_back = this.said_back.filter(fresh);
    this.tell();
  }

  dismiss(refusal: Refusal): void {
    this.refusals = this.refusals.filter((other) => other !== refusal);
    this.tell();
  }

  /** Keeps what is shown for a reload without the server. */
  save(): void {
    for (const [screen, held] of this.connection.held) this.write(kept_screen + screen, JSON.stringify(held));
    const known_ms = this.connection.live ? this.clock.now() : (this.connection.heard_ms ?? this.last_known_ms);
    this.write(kept_clock, JSON.stringify({ ...this.clock.saved(), known_ms }));
    this.saved_steady = this.world.steady();
  }

  private restore(): void {
    try {
      const clock = JSON.parse(this.storage.getItem(kept_clock) ?? "null");
      if (clock !== null && Number.isFinite(clock.offset) && clock.rate > 0)
        this.clock.restore(clock.offset, clock.rate);
      if (Number.isFinite(clock?.known_ms)) this.last_known_ms = clock.known_ms;
      const floor = JSON.parse(this.storage.getItem(`${kept_screen}floor`) ?? "null") as Held | null;
      if (floor !== null && typeof floor.epoch === "string" && Number.isFinite(floor.number))
        this.connection.held.set("floor", floor);
      const held = JSON.parse(this.storage.getItem(`${kept_screen}pass`) ?? "null") as Held | null;
      if (held !== null && typeof held.epoch === "string" && Number.isFinite(held.number)) {
        this.connection.held.set("pass", held);
        this.readPass(held.document);
      }
    } catch {
      // What was kept cannot be read: begin with nothing, the server has everything.
    }
    for (const command of this.outbox.list()) this.commands.set(command.id, command);
    this.refresh();
  }

  private changed(screen: string): void {
    if (screen === "pass") this.readPass(this.screen("pass"));
    if (this.world.steady() - this.saved_steady > 2_000) this.save();
    this.tell();
  }

  private readPass(document: unknown): void {
    this.pass = passDocument(document);
    keepHouseTime(this.pass.service.utc_offset_minutes);
  }

  private answered(id: string, problem: Problem | undefined, says?: string): void {
    const command = this.commands.get(id) ?? this.outbox.list().find((waiting) => waiting.id === id);
    this.commands.delete(id);
    if (says !== undefined && command !== undefined) {
      const about = subject(command.do);
      const at_steady = this.world.steady();
      this.said_back = [...this.said_back.filter((one) => one.about !== about), { about, sentence: says, at_steady }];
    }
    if (problem !== undefined && command !== undefined) {
      this.refusals = [
        ...this.refusals.filter((refusal) => refusal.about !== subject(command.do)),
        {
          about: subject(command.do),
          sentence: problem.detail,
          again: insisted(command, problem),
          at_steady: this.world.steady(),
        },
      ];
    }
  }

  private refresh(): void {
    this.pending = this.outbox.list().map((command) => ({
      about: subject(command.do),
      what: said(command.do),
      at_ms: command.at_ms,
    }));
    this.tell();
  }

  private tell(): void {
    ++this.version;
    for (const listener of this.listeners) listener();
  }

  private write(key: string, value: string): void {
    try {
      this.storage.setItem(key, value);
    } catch {
      // Full or forbidden: the page works on, only a reload forgets.
    }
  }
}
