// A ticket while it is being taken: by position and course, by touch. What can be had, and whether it can be sent, the
// server says; this only keeps what was touched.

import type { FloorDocument, Order } from "./wire.ts";

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

export interface Draft {
  table: string | undefined;
  /** Position -> course -> dish. */
  plates: { [position: number]: { [course: string]: string } };
  allergies: { [position: number]: string[] };
  position: number;
}

export const empty: Draft = { table: undefined, plates: {}, allergies: {}, position: 1 };

/** Gives the position at hand this dish; again: takes it away. */
export function give(draft: Draft, course: string, dish: string): Draft {
  const had = { ...draft.plates[draft.position] };
  if (had[course] === dish) delete had[course];
  else had[course] = dish;
  return { ...draft, plates: { ...draft.plates, [draft.position]: had } };
}

export function toggleAllergy(draft: Draft, name: string): Draft {
  const had = draft.allergies[draft.position] ?? [];
  const now = had.includes(name) ? had.filter((other) => other !== name) : [...had, name];
  return { ...draft, allergies: { ...draft.allergies, [draft.position]: now } };
}

/** How many of a dish are in the draft. */
export function counted(draft: Draft, dish: string): number {
  return Object.values(draft.plates)
    .flatMap((plates) => Object.values(plates))
    .filter((other) => other === dish).length;
}

export function orderOf(draft: Draft, floor: FloorDocument): Order {
  const courses = Object.entries(floor.courses)
    .sort(([, a], [, b]) => a.order - b.order)
    .map(([course]) => ({
      course,
      plates: Object.entries(draft.plates)
        .filter(([, plates]) => plates[course] !== undefined)
        .map(([position, plates]) => ({
          position: Number(position),
          dish: plates[course] ?? "",
          left_off: [],
          change: "",
        })),
    }))
    .filter((course) => course.plates.length > 0);
  const guests = Object.entries(draft.allergies)
    .filter(([, names]) => names.length > 0)
    .map(([position, names]) => ({ position: Number(position), allergies: names }));
  return { table: draft.table ?? "", guests, courses, note: "" };
}

/** The open ticket of this table, the latest: what an order at it would be added to. */
export function openTicket(floor: FloorDocument, table: string): number | undefined {
  const open = Object.values(floor.tickets)
    .filter((ticket) => ticket.table === table)
    .filter((ticket) => Object.values(ticket.courses).some((course) => course.state !== "gone"))
    .map((ticket) => ticket.ticket);
  return open.length > 0 ? Math.max(...open) : undefined;
}
