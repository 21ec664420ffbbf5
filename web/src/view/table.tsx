// A running ticket's table: guests change seats, go to another table, tables are pushed together or part, a ticket is
// cancelled. What they ordered and what they must not eat goes with them; an allergy that moves is read out before.

import { useState } from "preact/hooks";
import type { Store } from "../store.ts";
import { type FloorDocument, type FloorTicket, floorDocument } from "../wire.ts";
import { list, plural } from "../words.ts";
import { useFloor, useLeaving } from "./hooks.ts";
import { Became } from "./order.tsx";
import { byOrder, noWords, SeatOf, Seats, seatsOf } from "./seats.tsx";

type Act = "seats" | "table" | "together" | "split" | "cancel";

const acts: [Act, string][] = [
  ["seats", "change seats"],
  ["table", "another table"],
  ["together", "push together"],
  ["split", "split off"],
  ["cancel", "cancel"],
];

const reasons = ["they left", "never came", "sent twice", "wrong table"];

/** "position 2, NO MILK, sits at 4" */
export function seatWords(ticket: FloorTicket, from: number, to: number): string {
  const words = noWords(ticket.positions[String(from)]?.allergies);
  return `position ${from}${words === "" ? "" : `, ${words},`} sits at ${to}`;
}

/** The moves of two positions changing places, or of one going to a free one. */
export function swap(ticket: FloorTicket, from: number, to: number): { from: number; to: number }[] {
  const taken = String(to) in ticket.positions;
  return taken
    ? [
        { from, to },
        { from: to, to: from },
      ]
    : [{ from, to }];
}

/** The lowest position of a ticket's table where nobody sits. */
export function freeSeat(ticket: FloorTicket, seats: number): number | undefined {
  for (let position = 1; position <= seats; ++position) if (!(String(position) in ticket.positions)) return position;
  return undefined;
}

interface Doing {
  floor: FloorDocument;
  ticket: FloorTicket;
  store: Store;
  /** Positions that were touched. */
  chosen: number[];
  setChosen(chosen: number[]): void;
}

/** Asks once more, in words, before it is done. */
function Sure(props: { says: string; label: string; onYes(): void; onNo(): void }) {
  return (
    <div class="sure" role="alert">
      <p>
        <b>{props.says}</b>
      </p>
      <p class="buttons">
        <button type="button" class="again" onClick={props.onYes}>
          {props.label}
        </button>
        <button type="button" onClick={props.onNo}>
          leave it
        </button>
      </p>
    </div>
  );
}

function others({ floor, ticket }: Doing): FloorTicket[] {
  return Object.values(floor.tickets).filter(
    (other) => other.ticket !== ticket.ticket && Object.values(other.courses).some((course) => course.state !== "gone"),
  );
}

function ChangeSeats(props: Doing) {
  const { floor, ticket, store, chosen, setChosen } = props;
  const [from, to] = chosen;
  if (from === undefined)
    return <p class="soft">Touch the two positions that change places, or one and where it goes.</p>;
  if (to !== undefined) {
    const moves = swap(ticket, from, to);
    return (
      <Sure
        says={list(moves.map((move) => seatWords(ticket, move.from, move.to)))}
        label="change seats"
        onYes={() => {
          store.press({ move_positions: { ticket: ticket.ticket, moves } });
          setChosen([]);
        }}
        onNo={() => setChosen([])}
      />
    );
  }
  return (
    <>
      <p class="soft">Position {from}: touch where it goes, or a table it joins.</p>
      <div class="targets">
        {others(props).map((other) => {
          const seat = freeSeat(other, seatsOf(floor, other.table, [other]));
          if (seat === undefined) return null;
          return (
            <button
              key={other.ticket}
              type="button"
              onClick={() => {
                store.press({
                  move_positions: { ticket: ticket.ticket, into: other.ticket, moves: [{ from, to: seat }] },
                });
                setChosen([]);
              }}
            >
              to table {other.table}, position {seat}
            </button>
          );
        })}
      </div>
    </>
  );
}

function OtherTable({ floor, ticket, store }: Doing) {
  return (
    <div class="targets">
      {byOrder(floor.tables)
        .filter(([id]) => id !== ticket.table)
        .map(([id, table]) => {
          const there = Object.values(floor.tickets).filter((other) => other.table === id);
          return (
            <button
              key={id}
              type="button"
              onClick={() => store.press({ move_table: { ticket: ticket.ticket, table: id } })}
            >
              table <b class="number">{id}</b>{" "}
              <span class="soft">
                {plural(table.seats, "seat", "seats")}
                {there.length > 0 && ", somebody sits there"}
              </span>
            </button>
          );
        })}
    </div>
  );
}

function Together(props: Doing) {
  const { ticket, store } = props;
  const [other, setOther] = useState<FloorTicket | undefined>();
  if (other !== undefined) {
    const told = Object.entries(ticket.positions)
      .map(([position, seat]) => [position, noWords(seat.allergies)])
      .filter(([, words]) => words !== "")
      .map(([position, words]) => `, position ${position} ${words}`);
    return (
      <Sure
        says={`table ${ticket.table}, ${plural(ticket.covers, "cover", "covers")}${told.join("")}, comes to table ${other.table}`}
        label="push together"
        onYes={() => {
          store.press({ merge_tables: { ticket: ticket.ticket, into: other.ticket } });
          setOther(undefined);
        }}
        onNo={() => setOther(undefined)}
      />
    );
  }
  return (
    <div class="targets">
      {others(props).map((one) => (
        <button key={one.ticket} type="button" onClick={() => setOther(one)}>
          to table <b class="number">{one.table}</b> <span class="soft">{plural(one.covers, "cover", "covers")}</span>
        </button>
      ))}
    </div>
  );
}

function Split({ floor, ticket, store, chosen, setChosen }: Doing) {
  const [table, setTable] = useState<string | undefined>();
  if (chosen.length === 0) return <p class="soft">Touch the positions that get a ticket and a meet of their own.</p>;
  const ask = () => {
    const body = { ticket: ticket.ticket, positions: [...chosen].sort((a, b) => a - b) };
    store.press({ split_table: table === undefined ? body : { ...body, table } });
    setChosen([]);
  };
  return (
    <>
      <div class="targets">
        <button type="button" aria-pressed={table === undefined} onClick={() => setTable(undefined)}>
          where they sit
        </button>
        {byOrder(floor.tables)
          .filter(([id]) => id !== ticket.table)
          .map(([id]) => (
            <button key={id} type="button" aria-pressed={table === id} onClick={() => setTable(id)}>
              at table {id}
            </button>
          ))}
      </div>
      <button type="button" class="do" onClick={ask}>
        split off {list([...chosen].sort((a, b) => a - b))}
        {table !== undefined && `, to table ${table}`}
      </button>
    </>
  );
}

function Cancel({ ticket, store }: Doing) {
  const [reason, setReason] = useState<string | undefined>();
  if (reason !== undefined)
    return (
      <Sure
        says={`ticket ${ticket.ticket} of table ${ticket.table}, ${plural(ticket.covers, "cover", "covers")}: ${reason}. What is begun becomes free for others.`}
        label="cancel the ticket"
        onYes={() => {
          store.press({ cancel_ticket: { ticket: ticket.ticket, reason } });
          location.hash = "#/";
        }}
        onNo={() => setReason(undefined)}
      />
    );
  return (
    <div class="targets">
      {reasons.map((one) => (
        <button key={one} type="button" onClick={() => setReason(one)}>
          {one}
        </button>
      ))}
    </div>
  );
}

export function TablePage({ store, ticket: number }: { store: Store; ticket: number }) {
  const [act, setAct] = useState<Act>("seats");
  const [chosen, setChosen] = useState<number[]>([]);
  const document = useFloor(store);
  useLeaving();
  const floor = document === undefined ? undefined : floorDocument(document);
  const ticket = floor?.tickets[String(number)];
  if (floor === undefined || ticket === undefined)
    return (
      <main class="order">
        <Became store={store} about={`t${number}`} />
        <p class="soft">
          {floor === undefined ? "The tables have not come yet." : `Ticket ${number} is not at any table now.`}
        </p>
        <a href="#/">the pass</a>
      </main>
    );
  const doing: Doing = { floor, ticket, store, chosen, setChosen };
  const touch = (position: number) => {
    if (chosen.includes(position)) return setChosen(chosen.filter((other) => other !== position));
    if (act === "split") return setChosen([...chosen, position]);
    if (act === "seats") setChosen(chosen.length >= 2 ? [position] : [...chosen, position]);
  };
  const taken = (position: number) => String(position) in ticket.positions;
  return (
    <main class="order table-page">
      <h2>
        table <b class="number">{ticket.table}</b>
        <span class="soft">
          ticket {ticket.ticket}, {plural(ticket.covers, "cover", "covers")}
        </span>
        <a href={`#/order/${ticket.table}`}>change the order</a>
        <a href="#/">the pass</a>
      </h2>
      <Became store={store} about={`t${number}`} />
      <nav class="which" aria-label="What changes">
        {acts.map(([one, name]) => (
          <button
            key={one}
            type="button"
            aria-pressed={one === act}
            onClick={() => {
              setAct(one);
              setChosen([]);
            }}
          >
            {name}
          </button>
        ))}
      </nav>
      <Seats
        seats={seatsOf(floor, ticket.table, [ticket])}
        pressed={(position) => chosen.includes(position)}
        disabled={(position) => !taken(position) && !(act === "seats" && chosen.length === 1)}
        inside={(position) => <SeatOf ticket={ticket} position={position} />}
        onPosition={touch}
      />
      <div class="take">
        {act === "seats" && <ChangeSeats {...doing} />}
        {act === "table" && <OtherTable {...doing} />}
        {act === "together" && <Together {...doing} />}
        {act === "split" && <Split {...doing} />}
        {act === "cancel" && <Cancel {...doing} />}
      </div>
    </main>
  );
}
