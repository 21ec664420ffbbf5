// A ticket while it is being taken or changed: by position and course, by touch or by keys. What can be had, and whether it
// can be sent, the server says; this only keeps what was touched.

import type { FloorDocument, FloorTicket, Keyed, Order } from "./wire.ts";

/** The fourteen groups of Regulation (EU) 1169/2011, Annex II, by the names the line knows. */
export const allergens = [
  "gluten",
  "crustaceans",
  "egg",
  "fish",
  "peanuts",
  "soya",
  "milk",
  "nuts",
  "celery",
  "mustard",
  "sesame",
  "sulphites",
  "lupin",
  "molluscs",
];

/** So few of a dish left are worth an exclamation mark, as on the floor's other screens. */
export const few = 5;

export interface Plate {
  dish: string;
  left_off: string[];
  change: string;
}

export interface Draft {
  table: string | undefined;
  /** The ticket that is changed or added to; none: a new one. */
  ticket: number | undefined;
  /** Position -> course -> plate. */
  plates: { [position: number]: { [course: string]: Plate } };
  allergies: { [position: number]: string[] };
  position: number;
  /** The course that was touched last: what is left off is left off its plate. */
  course: string | undefined;
}

export const empty: Draft = {
  table: undefined,
  ticket: undefined,
  plates: {},
  allergies: {},
  position: 1,
  course: undefined,
};

function withPlate(draft: Draft, course: string, plate: Plate | undefined): Draft {
  const had = { ...draft.plates[draft.position] };
  if (plate === undefined) delete had[course];
  else had[course] = plate;
  return { ...draft, course, plates: { ...draft.plates, [draft.position]: had } };
}

/** Gives the position at hand this dish; again: takes it away. */
export function give(draft: Draft, course: string, dish: string): Draft {
  const had = draft.plates[draft.position]?.[course];
  return withPlate(draft, course, had?.dish === dish ? undefined : { dish, left_off: [], change: "" });
}

/** Leaves a part off the plate at hand; again: puts it back. */
export function toggleLeftOff(draft: Draft, course: string, part: string): Draft {
  const had = draft.plates[draft.position]?.[course];
  if (had === undefined) return draft;
  const left_off = had.left_off.includes(part) ? had.left_off.filter((one) => one !== part) : [...had.left_off, part];
  return withPlate(draft, course, { ...had, left_off });
}

/** Words for the cook, of the plate at hand. */
export function reword(draft: Draft, course: string, change: string): Draft {
  const had = draft.plates[draft.position]?.[course];
  return had === undefined ? draft : withPlate(draft, course, { ...had, change });
}

export function toggleAllergy(draft: Draft, name: string): Draft {
  const had = draft.allergies[draft.position] ?? [];
  const now = had.includes(name) ? had.filter((other) => other !== name) : [...had, name];
  return { ...draft, allergies: { ...draft.allergies, [draft.position]: now } };
}

/** What this ticket has been told of a position already; it can be added to and never taken back. */
export function toldBefore(ticket: FloorTicket | undefined, position: number): string[] {
  const text = ticket?.positions[String(position)]?.allergies ?? "";
  return text === "" ? [] : text.toLowerCase().split(", ");
}

/** The draft of a change: the ticket as it stands. */
export function draftOf(ticket: FloorTicket): Draft {
  const draft: Draft = { ...empty, table: ticket.table, ticket: ticket.ticket, plates: {}, allergies: {} };
  for (const [position, seat] of Object.entries(ticket.positions)) {
    const at = Number(position);
    draft.allergies[at] = toldBefore(ticket, at);
    const plates: { [course: string]: Plate } = {};
    for (const [course, wanted] of Object.entries(seat.wanted ?? {}))
      plates[course] = {
        dish: wanted.dish,
        left_off: Object.keys(wanted.left_off ?? {}),
        change: wanted.change ?? "",
      };
    draft.plates[at] = plates;
  }
  return draft;
}

/** How many of a dish are in the draft beyond what its ticket has been promised. */
export function counted(draft: Draft, dish: string, before: FloorTicket | undefined): number {
  const had = Object.values(before?.positions ?? {}).flatMap((seat) => Object.values(seat.wanted ?? {}));
  return (
    Object.values(draft.plates)
      .flatMap((plates) => Object.values(plates))
      .filter((plate) => plate.dish === dish).length - had.filter((wanted) => wanted.dish === dish).length
  );
}

function same(plate: Plate | undefined, wanted: Plate | undefined): boolean {
  return JSON.stringify(plate) === JSON.stringify(wanted);
}

/** Everything of the draft; of a change only what differs from the ticket, a plate taken away as an empty dish. */
export function orderOf(draft: Draft, floor: FloorDocument, before?: FloorTicket): Order {
  const old = before === undefined ? undefined : draftOf(before);
  const positions = [...new Set([...Object.keys(draft.plates), ...Object.keys(old?.plates ?? {})].map(Number))].sort(
    (a, b) => a - b,
  );
  const courses = Object.entries(floor.courses)
    .sort(([, a], [, b]) => a.order - b.order)
    .map(([course]) => ({
      course,
      plates: positions.flatMap((position) => {
        const plate = draft.plates[position]?.[course];
        const had = old?.plates[position]?.[course];
        if (plate === undefined) return had === undefined ? [] : [{ position, dish: "", left_off: [], change: "" }];
        return old !== undefined && same(plate, had) ? [] : [{ position, ...plate }];
      }),
    }))
    .filter((course) => course.plates.length > 0);
  const guests = Object.entries(draft.allergies)
    .map(([position, names]) => ({
      position: Number(position),
      allergies: names.filter((name) => !toldBefore(before, Number(position)).includes(name)),
    }))
    .filter(({ allergies }) => allergies.length > 0);
  return { table: draft.table ?? "", guests, courses, note: "" };
}

/** The tickets at this table that have not gone, the latest first: what an order there could be added to. */
export function openTickets(floor: FloorDocument, table: string): FloorTicket[] {
  return Object.values(floor.tickets)
    .filter((ticket) => ticket.table === table)
    .filter((ticket) => Object.values(ticket.courses).some((course) => course.state !== "gone"))
    .sort((a, b) => b.ticket - a.ticket);
}

/** The table a few typed digits mean: the only one that begins so, or the one that is so named when that is said. */
export function tableTyped(tables: Keyed<unknown>, typed: string, whole: boolean): string | undefined {
  const fits = Object.keys(tables).filter((id) => id.startsWith(typed));
  if (whole || fits.length === 1) return fits.length === 1 ? fits[0] : fits.find((id) => id === typed);
  return undefined;
}

/** The dish a letter means for the position at hand: of the first course it has no plate in, else of any. */
export function dishTyped(
  draft: Draft,
  floor: FloorDocument,
  letter: string,
): [course: string, dish: string] | undefined {
  const found = Object.entries(floor.dishes)
    .filter(([, dish]) => dish.letter === letter)
    .sort(([, a], [, b]) => a.order - b.order);
  const free = found.find(([, dish]) => draft.plates[draft.position]?.[dish.course] === undefined) ?? found[0];
  return free === undefined ? undefined : [free[1].course, free[0]];
}

/** The allergen a few typed letters mean, once only one begins so. */
export function allergenTyped(typed: string): string | undefined {
  const fits = allergens.filter((name) => name.startsWith(typed));
  return fits.length === 1 ? fits[0] : undefined;
}
