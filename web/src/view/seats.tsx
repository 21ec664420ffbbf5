// A table as it sits: half of the positions on one side, half on the other, numbered around.

import type { ComponentChildren } from "preact";
import type { FloorDocument, FloorTicket } from "../wire.ts";

export function byOrder<T extends { order: number }>(things: { [key: string]: T }): [string, T][] {
  return Object.entries(things).sort(([, a], [, b]) => a.order - b.order);
}

/** So many positions: the table's own, or more where tables were pushed together. */
export function seatsOf(floor: FloorDocument, table: string, tickets: FloorTicket[]): number {
  const taken = tickets.flatMap((ticket) => Object.keys(ticket.positions).map(Number));
  return Math.max(floor.tables[table]?.seats ?? 0, ...taken);
}

/** "NO GLUTEN, NO MILK" of what a ticket says of a position. */
export function noWords(allergies: string | undefined): string {
  return allergies === undefined || allergies === "" ? "" : `NO ${allergies.replaceAll(", ", ", NO ")}`;
}

export function Seats(props: {
  seats: number;
  pressed(position: number): boolean;
  disabled?(position: number): boolean;
  inside(position: number): ComponentChildren;
  onPosition(position: number): void;
}) {
  const far = Math.floor(props.seats / 2);
  const rows = [
    Array.from({ length: far }, (_, i) => i + 1),
    Array.from({ length: props.seats - far }, (_, i) => props.seats - i),
  ];
  return (
    <div class="seats">
      {rows.map((row, side) => (
        <div key={side === 0 ? "far" : "near"} class="side">
          {row.map((position) => (
            <button
              key={position}
              type="button"
              aria-pressed={props.pressed(position)}
              disabled={props.disabled?.(position) ?? false}
              onClick={() => props.onPosition(position)}
            >
              <span class="unseen">position</span>
              <b class="number">{position}</b>
              <span class="about">{props.inside(position)}</span>
            </button>
          ))}
        </div>
      ))}
    </div>
  );
}

/** What a position of a ticket has and must not have. */
export function SeatOf({ ticket, position }: { ticket: FloorTicket; position: number }) {
  const seat = ticket.positions[String(position)];
  const words = noWords(seat?.allergies);
  return (
    <>
      {Object.entries(seat?.plates ?? {}).map(([course, plate]) => (
        <span key={course}>{plate}</span>
      ))}
      {words !== "" && <b class="caps">{words}</b>}
    </>
  );
}
