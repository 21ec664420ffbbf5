// A blank device: asks the server for a word, shows it, and looks every second whether somebody has said what it is. And
// the other side of it: the devices there are. The token itself never comes here: the browser keeps it as a cookie.

export interface Door {
  fetch(path: string, init?: RequestInit): Promise<Response>;
  after(ms: number, what: () => void): number;
  cancel(timer: number): void;
}

export const look_every_ms = 1_000;
const again_ms = 5_000;

export class Asking {
  word: string | undefined;
  /** Why there is no word, in the server's sentence. */
  trouble: string | undefined;
  private secret = "";
  private timer = 0;

  constructor(
    private readonly door: Door,
    private readonly changed: () => void,
    private readonly paired: () => void,
  ) {}

  start(): void {
    void this.ask();
  }
  stop(): void {
    this.door.cancel(this.timer);
  }

  private async ask(): Promise<void> {
    try {
      const answer = await this.door.fetch("pair", { method: "POST" });
      const body = await answer.json();
      if (answer.status === 201) {
        this.word = body.word;
        this.secret = body.secret;
        this.trouble = undefined;
        this.later(look_every_ms, () => void this.look());
      } else {
        this.trouble = body.detail;
        this.later(again_ms, () => void this.ask());
      }
    } catch {
      this.trouble = "The server does not answer.";
      this.later(again_ms, () => void this.ask());
    }
    this.changed();
  }

  private async look(): Promise<void> {
    try {
      const answer = await this.door.fetch("pair", { headers: { Authorization: `Bearer ${this.secret}` } });
      if (answer.status === 200 && (await answer.json()).state === "paired") return this.paired();
      // Forgotten after ten minutes, or with the server's end: a new word.
      if (answer.status === 404) return void this.ask();
    } catch {
      // The server is away for a moment: the word still stands.
    }
    this.later(look_every_ms, () => void this.look());
  }

  private later(ms: number, what: () => void): void {
    this.door.cancel(this.timer);
    this.timer = this.door.after(ms, what);
  }
}

/** The secret of an address that a QR code brought (`#/pair/SECRET`): good once, for whoever opens it first. */
export function broughtSecret(hash: string): string | undefined {
  return /^#\/pair\/([\w-]{8,200})$/.exec(hash)?.[1];
}

/** Fetches what was said of this device already; where to go then, or a sentence why not. */
export async function redeem(door: Door, secret: string): Promise<{ to: string } | { trouble: string }> {
  try {
    const answer = await door.fetch("pair", { headers: { Authorization: `Bearer ${secret}` } });
    const body = await answer.json();
    if (answer.status === 200 && body.state === "paired") {
      if (body.role === "station") return { to: `#/station/${body.station}` };
      return { to: body.role === "floor" ? "#/order" : "#/" };
    }
    return { trouble: "This code has been used, or is older than ten minutes: have a new one printed." };
  } catch {
    return { trouble: "The server does not answer." };
  }
}

export interface Device {
  name: string;
  role: string;
  station?: string;
  open: number;
}
export interface Devices {
  devices: { [name: string]: Device };
  asking: { [word: string]: { from: string; for_s: number } };
}

export const roles = ["pass", "floor", "probe", "manager"] as const;

/** What may be said of a word: "station garnish", ..., "pass", ... as value and text. */
export function choices(stations: string[]): string[] {
  return [...stations.map((station) => `station ${station}`), ...roles];
}

/** The body that says so. */
export function pairBody(word: string, choice: string): { word: string; role: string; station?: string } {
  const [role, ...station] = choice.split(" ");
  return station.length > 0 ? { word, role: role ?? "", station: station.join(" ") } : { word, role: role ?? "" };
}
