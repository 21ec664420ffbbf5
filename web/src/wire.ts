// What travels between the page and the server: screen documents, commands, and the frames of the socket. Held to the
// server by the example documents in tests/protocol/examples; what each member means stands in common/wire/screens.hpp.
// Instants are kitchen time in milliseconds since 1970 (`_ms`).

export type Keyed<T> = { [key: string]: T };

export interface Person {
  name: string;
  counts: number;
  present: boolean;
}

export interface Station {
  name: string;
  order: number;
  hands: number;
  people: Keyed<Person>;
}

export type ThreadState = "waiting" | "going" | "resting" | "ready";

export interface Thread {
  pan: number;
  what: string;
  letter: string;
  station: string;
  n: number;
  state: ThreadState;
  from_ms: number;
  to_ms: number;
  can_wait?: boolean;
  cue_open?: boolean;
  rest?: { min_ms: number; max_ms: number };
  until_ms?: number;
  shared?: string;
  words?: string;
  over?: "usual" | "most";
}

export interface Plate {
  dish: string;
  name: string;
  state: "cooking" | "standing" | "gone" | "blocked";
  since_ms?: number;
  until_ms?: number;
  words?: string;
  change?: string;
  missing?: string;
  /** Component -> "emmer holds wheat". */
  blocked?: Keyed<string>;
  /** Component -> its name: what can be cooked again alone. */
  parts?: Keyed<string>;
  borrowed?: Keyed<string>;
  lent?: Keyed<string>;
}

/** How a course is carried: a plate with an allergy alone, in the last trips. */
export interface Carry {
  hands: number;
  call_ms?: number;
  trips: Keyed<string>;
}

export interface Pause {
  why: "speech" | "up";
  since_ms: number;
  until_ms?: number;
}

export interface Course {
  name: string;
  order: number;
  covers: number;
  state: "waiting" | "fired" | "held" | "gone";
  meet_ms?: number;
  expected_ms?: number;
  drift_ms?: number;
  word_ms?: number;
  could_ms?: number;
  clear_ms?: number;
  latest_ms?: number;
  latest_what?: string;
  gone_ms?: number;
  spread_ms?: number;
  carry?: Carry;
  pull?: string;
  threads: Keyed<Thread>;
  plates: Keyed<Plate>;
}

export interface Table {
  ticket: number;
  table: string;
  covers: number;
  room: string;
  walk_ms: number;
  sent_ms: number;
  note?: string;
  allergies?: Keyed<string>;
  joined?: string;
  order?: number;
  pause?: Pause;
  pace_minutes?: number;
  courses: Keyed<Course>;
}

export interface Standing {
  ticket: number;
  table: string;
  course: string;
  up: number;
  of: number;
  hands?: number;
  until_ms?: number;
  walk_ms: number;
  missing?: string;
  send_now?: boolean;
}

export interface Lender {
  what: string;
  ticket: number;
  table: string;
  until_ms: number;
}

export interface Service {
  name: string;
  open: boolean;
  closed_ms?: number;
  /** What the house's clocks show is UTC plus this. */
  utc_offset_minutes?: number;
}

export interface Short {
  name: string;
  /** There is work, and nobody there: how late it is cannot be said. */
  nobody?: true;
  behind_ms?: number;
  from_ms?: number;
  table?: string;
}

export interface Alert {
  alert: number;
  kind: string;
  says: string;
  do: string;
  since_ms: number;
  answered: boolean;
  escalated: boolean;
  shelved_until_ms?: number;
  rank: number;
  station?: string;
  pan?: number;
  table?: string;
  also?: Keyed<string>;
}

/** A table that is booked again and cannot be free by then. */
export interface Wanted {
  ticket: number;
  table: string;
  booked_ms: number;
  covers: number;
  course: string;
  leaves_ms: number;
  free_ms: number;
  says: string;
}

export interface PassDocument {
  service: Service;
  stations: Keyed<Station>;
  tables: Keyed<Table>;
  standing: Keyed<Standing>;
  short: Keyed<Short>;
  load: Keyed<Keyed<number>>;
  off: Keyed<{ name: string; left: number }>;
  lend: Keyed<Lender>;
  wanted: Keyed<Wanted>;
  alerts: Keyed<Alert>;
  colour?: string;
}

export interface HandItem {
  pan: number;
  letter: string;
  vessel: string;
  step: string;
  round: number;
  move: string;
  what: string;
  n: number;
  tables: string;
  words?: string;
  change?: string;
  how?: string;
  at_ms: number;
  soonest_ms: number;
  state: "coming" | "ready" | "doing";
  guess?: boolean;
}

export interface HeatItem {
  pan: number;
  letter: string;
  what: string;
  n: number;
  tables: string;
  doing: string;
  next_ms: number;
  then: string;
}

export interface StationDocument {
  service: Service;
  station: { id: string; name: string };
  hands: Keyed<Person>;
  next?: string;
  /** Nobody has pressed here since: the list follows the plan, and guesses. */
  quiet_since_ms?: number;
  list: Keyed<HandItem>;
  heat: Keyed<HeatItem>;
  behind: { ms: number; from_ms?: number; table?: string; nobody?: true };
  waits: Keyed<string>;
  alerts: Keyed<Alert>;
  colour?: string;
}

// --- the floor -------------------------------------------------------------------------------------------------------

export interface FloorDish {
  name: string;
  letter: string;
  course: string;
  order: number;
  left?: number;
  /** Component -> its name: what a guest may go without. */
  parts?: Keyed<string>;
}

/** What a position wanted, as it would be said again. */
export interface Wanted {
  dish: string;
  left_off?: Keyed<string>;
  change?: string;
}

export interface FloorTicket {
  ticket: number;
  table: string;
  covers: number;
  sent_ms: number;
  note?: string;
  pause?: Pause;
  order?: number;
  courses: Keyed<{ state: Course["state"]; word_ms?: number; clear_ms?: number; gone_ms?: number }>;
  positions: Keyed<{ plates?: Keyed<string>; allergies?: string; wanted?: Keyed<Wanted> }>;
}

export interface FloorDocument {
  service: Service;
  courses: Keyed<{ name: string; order: number }>;
  dishes: Keyed<FloorDish>;
  tables: Keyed<{ seats: number; room: string; walk_ms: number; order: number }>;
  tickets: Keyed<FloorTicket>;
}

/** A floor document with every collection there. */
export function floorDocument(value: unknown): FloorDocument {
  const given = (typeof value === "object" && value !== null ? value : {}) as Partial<FloorDocument>;
  return {
    service: given.service ?? { name: "", open: false },
    courses: given.courses ?? {},
    dishes: given.dishes ?? {},
    tables: given.tables ?? {},
    tickets: given.tickets ?? {},
  };
}

/** A ticket before it is sent, as common/line/order.hpp has it. */
export interface Order {
  table: string;
  guests: { position: number; allergies: string[] }[];
  courses: { course: string; plates: { position: number; dish: string; left_off: string[]; change: string }[] }[];
  note: string;
}

// --- commands: the names and members of common/line/command.hpp ------------------------------------------------------

export type Action =
  | { fire: { ticket: number; course: string; meet_ms?: number; sure?: boolean } }
  | { hold: { ticket: number; course: string } }
  | { release: { ticket: number; course: string; meet_ms?: number } }
  | { move_meet: { ticket: number; course: string; meet_ms: number; sure?: boolean } }
  | { gone: { ticket: number; course: string; but?: number[]; sure?: boolean } }
  | { bring_back: { ticket: number; course: string; positions?: number[] } }
  | { send_ticket: { order: Order; sure?: boolean } }
  | { change_ticket: { ticket: number; order: Order; sure?: boolean } }
  | { cancel_ticket: { ticket: number; reason: string } }
  | { move_positions: { ticket: number; into?: number; moves: { from: number; to: number }[] } }
  | { move_table: { ticket: number; table: string } }
  | { split_table: { ticket: number; positions: number[]; table?: string } }
  | { merge_tables: { ticket: number; into: number } }
  | { set_left: { dish: string; left?: number } }
  | { tell_allergy: { ticket: number; position: number; allergies: string[] } }
  | { clear_plate: { ticket: number; course: string; position: number } }
  | { refire: { ticket: number; course: string; position: number; components?: string[]; reason: string } }
  | { borrow: { ticket: number; course: string; position: number; components?: string[]; reason: string } }
  | { speech: { ticket: number; minutes: number } }
  | { table_up: { ticket: number } }
  | { table_back: { ticket: number } }
  | { pace: { ticket: number; minutes: number } }
  | { acknowledge: { alert: number } }
  | { shelve: { alert: number; until_ms: number } };

export interface Command {
  id: string;
  by: string;
  at_ms: number;
  do: Action;
}

// --- the socket ------------------------------------------------------------------------------------------------------

export interface Problem {
  type: string;
  title: string;
  status: number;
  code: string;
  detail: string;
}

export type ServerMessage =
  | { type: "welcome"; version: string; epoch: string; now_ms: number; rate: number }
  | { type: "document"; screen: string; epoch: string; number: number; document: unknown }
  | { type: "patch"; screen: string; number: number; patch: unknown }
  | { type: "clock"; t1: number; t2: number; t3: number; rate: number }
  | { type: "done"; id: string; number: number; ticket?: number; says?: string }
  | { type: "refused"; id: string; problem: Problem }
  | { type: "error"; problem: Problem };

export type ClientMessage =
  | { type: "hello"; device: string }
  | { type: "subscribe"; screen: string; epoch?: string; number?: number }
  | { type: "unsubscribe"; screen: string }
  | { type: "clock"; t1: number }
  | { type: "command"; command: Command };

/** The frame as a message, or nothing if it is not JSON with a type we know. */
export function readMessage(text: string): ServerMessage | undefined {
  try {
    const value: unknown = JSON.parse(text);
    if (typeof value !== "object" || value === null || !("type" in value)) return undefined;
    const known = ["welcome", "document", "patch", "clock", "done", "refused", "error"];
    return known.includes(String(value.type)) ? (value as ServerMessage) : undefined;
  } catch {
    return undefined;
  }
}

/** A pass document with every collection there, whatever the server left out because it was empty. */
export function passDocument(value: unknown): PassDocument {
  const given = (typeof value === "object" && value !== null ? value : {}) as Partial<PassDocument>;
  return {
    ...given,
    service: given.service ?? { name: "", open: false },
    stations: given.stations ?? {},
    tables: given.tables ?? {},
    standing: given.standing ?? {},
    short: given.short ?? {},
    load: given.load ?? {},
    off: given.off ?? {},
    lend: given.lend ?? {},
    wanted: given.wanted ?? {},
    alerts: given.alerts ?? {},
  };
}

/** A station document, likewise. */
export function stationDocument(value: unknown): StationDocument {
  const given = (typeof value === "object" && value !== null ? value : {}) as Partial<StationDocument>;
  return {
    ...given,
    service: given.service ?? { name: "", open: false },
    station: given.station ?? { id: "", name: "" },
    hands: given.hands ?? {},
    list: given.list ?? {},
    heat: given.heat ?? {},
    behind: given.behind ?? { ms: 0 },
    waits: given.waits ?? {},
    alerts: given.alerts ?? {},
  };
}
