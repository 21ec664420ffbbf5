// Presses that the server has not answered yet. Each stands in the browser's storage under its own key, so that a reload
// loses none and two pages of one device never overwrite each other. A press leaves only when it is answered: it may be
// sent many times, and the server knows its id (never lost, never twice).

import type { Command } from "./wire.ts";

export interface KeyValue {
  readonly length: number;
  key(index: number): string | null;
  getItem(key: string): string | null;
  setItem(key: string, value: string): void;
  removeItem(key: string): void;
}

const prefix = "nappe.press.";

function isCommand(value: unknown): value is Command {
  if (typeof value !== "object" || value === null) return false;
  const command = value as Partial<Command>;
  return typeof command.id === "string" && typeof command.at_ms === "number" && typeof command.do === "object";
}

export class Outbox {
  /** Presses that could not be stored (storage full or forbidden): kept here, lost by a reload. */
  private unstored = new Map<string, string>();

  constructor(private readonly storage: KeyValue) {}

  /** False when a press waits that a reload would lose. */
  get safe(): boolean {
    return this.unstored.size === 0;
  }

  /** Keeps the press, after all that wait already. */
  put(command: Command): void {
    const key = prefix + command.id;
    const last = this.entries().at(-1)?.order ?? 0;
    const text = JSON.stringify({ order: last + 1, command });
    try {
      this.storage.setItem(key, text);
    } catch {
      this.unstored.set(key, text);
    }
  }

  /** The server answered: done or refused, the press is over. */
  settle(id: string): void {
    this.unstored.delete(prefix + id);
    this.storage.removeItem(prefix + id);
  }

  /** Every press without an answer, in the order of the presses. Entries that cannot be read are skipped, never deleted. */
  list(): Command[] {
    return this.entries().map((entry) => entry.command);
  }

  private entries(): { order: number; command: Command }[] {
    const found: { order: number; command: Command }[] = [];
    const read = (text: string | null | undefined) => {
      try {
        const entry = JSON.parse(text ?? "null");
        if (entry !== null && typeof entry.order === "number" && isCommand(entry.command)) found.push(entry);
      } catch {
        // not ours, or written by a newer page
      }
    };
    for (let i = 0; i < this.storage.length; ++i) {
      const key = this.storage.key(i);
      if (key?.startsWith(prefix)) read(this.storage.getItem(key));
    }
    for (const text of this.unstored.values()) read(text);
    return found.sort((a, b) => a.order - b.order || a.command.at_ms - b.command.at_ms);
  }

  has(id: string): boolean {
    return this.unstored.has(prefix + id) || this.storage.getItem(prefix + id) !== null;
  }
}

/** An id nobody else makes: 16 random bytes in base64url. */
export function newId(random: (bytes: Uint8Array<ArrayBuffer>) => Uint8Array): string {
  const bytes = random(new Uint8Array(16));
  return btoa(String.fromCharCode(...bytes))
    .replaceAll("+", "-")
    .replaceAll("/", "_")
    .replaceAll("=", "");
}
