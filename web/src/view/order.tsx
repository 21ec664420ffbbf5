// Taking an order by touch: the table, then each position's plates, its allergies on the person.

import { useEffect, useState } from "preact/hooks";
import { allergens, counted, type Draft, empty, give, openTicket, orderOf, toggleAllergy } from "../order.ts";
import type { Store } from "../store.ts";
import { type FloorDocument, floorDocument } from "../wire.ts";
import { clockText } from "../words.ts";
import { RefusalView } from "./hand.tsx";

function byOrder<T extends { order: number }>(things: { [key: string]: T }): [string, T][] {
  return Object.entries(things).sort(([, a], [, b]) => a.order - b.order);
}

/** "starters word 20:07", "mains could meet 20:31": what to tell the table now. */
function tableSays(floor: FloorDocument, table: string): string {
  return Object.values(floor.tickets)
    .filter((ticket) => ticket.table === table)
    .flatMap((ticket) =>
      Object.entries(ticket.courses)
        .filter(([, course]) => course.state !== "gone")
        .map(([id, course]) => {
          const name = floor.courses[id]?.name ?? id;
          if (course.word_ms !== undefined) return `${name} ${clockText(course.word_ms)}`;
          return course.could_ms === undefined ? `${name} wait` : `${name} could be ${clockText(course.could_ms)}`;
        })
        .slice(0, 1),
    )
    .join(", ");
}

function Tables(props: { floor: FloorDocument; draft: Draft; onTable(table: string): void }) {
  const { floor, draft } = props;
  return (
    <ul class="order-tables" aria-label="Tables">
      {byOrder(floor.tables).map(([id, table]) => (
        <li key={id}>
          <button type="button" aria-pressed={draft.table === id} onClick={() => props.onTable(id)}>
            <b class="number">{id}</b>
            <span class="about">
              <span class="soft">{table.seats} seats</span>
              <span>{tableSays(floor, id)}</span>
            </span>
          </button>
        </li>
      ))}
    </ul>
  );
}

/** The table as it sits: half of the positions on one side, half on the other, numbered around. */
function Seats(props: { floor: FloorDocument; draft: Draft; seats: number; onPosition(position: number): void }) {
  const { floor, draft, seats } = props;
  const far = Math.floor(seats / 2);
  const rows = [Array.from({ length: far }, (_, i) => i + 1), Array.from({ length: seats - far }, (_, i) => seats - i)];
  return (
    <div class="seats">
      {rows.map((row, side) => (
        <div key={side === 0 ? "far" : "near"} class="side">
          {row.map((position) => {
            const plates = draft.plates[position] ?? {};
            const names = byOrder(floor.courses)
              .map(([course]) => floor.dishes[plates[course] ?? ""]?.name)
              .filter((name) => name !== undefined);
            const allergies = draft.allergies[position] ?? [];
            return (
              <button
                key={position}
                type="button"
                aria-pressed={draft.position === position}
                onClick={() => props.onPosition(position)}
              >
                <b class="number">{position}</b>
                <span class="about">
                  {names.map((name) => (
                    <span key={name}>{name}</span>
                  ))}
                  {allergies.length > 0 && <b class="caps">no {allergies.join(", no ")}</b>}
                </span>
              </button>
            );
          })}
        </div>
      ))}
    </div>
  );
}

function Card(props: { floor: FloorDocument; draft: Draft; onDish(course: string, dish: string): void }) {
  const { floor, draft } = props;
  return (
    <div class="card">
      {byOrder(floor.courses).map(([course, { name }]) => (
        <fieldset key={course}>
          <legend>{name}</legend>
          {byOrder(floor.dishes)
            .filter(([, dish]) => dish.course === course)
            .map(([id, dish]) => {
              const left = dish.left === undefined ? undefined : dish.left - counted(draft, id);
              const has = draft.plates[draft.position]?.[course] === id;
              return (
                <button
                  key={id}
                  type="button"
                  aria-pressed={has}
                  disabled={!has && left !== undefined && left <= 0}
                  onClick={() => props.onDish(course, id)}
                >
                  {dish.name}
                  {left !== undefined && <span class="soft"> {left <= 0 ? "off" : `${left} left`}</span>}
                </button>
              );
            })}
        </fieldset>
      ))}
    </div>
  );
}

export function OrderPage({ store }: { store: Store }) {
  const [draft, setDraft] = useState<Draft>(empty);
  const [asking, setAsking] = useState(false);
  useEffect(() => {
    store.connection.want("floor");
    return () => store.connection.unwant("floor");
  }, [store]);
  const document = store.screen("floor");
  if (document === undefined)
    return (
      <main class="order">
        <p class="soft">The card has not come yet.</p>
        <a href="#/">the pass</a>
      </main>
    );
  const floor = floorDocument(document);
  const table = draft.table === undefined ? undefined : floor.tables[draft.table];
  const order = orderOf(draft, floor);
  const plates = order.courses.reduce((sum, course) => sum + course.plates.length, 0);
  const ticket = draft.table === undefined ? undefined : openTicket(floor, draft.table);
  const send = (added: number | undefined) => {
    store.press(
      added === undefined ? { send_ticket: { order } } : { change_ticket: { ticket: added, order, sure: false } },
    );
    setDraft(empty);
  };
  const refusals = store.refusals.filter((refusal) => refusal.about === "order");
  const said = store.said_back.filter((one) => one.about === "order").at(-1);
  const waits = store.pending.filter((press) => press.about === "order").at(-1);
  return (
    <main class="order">
      <h2>
        order {table !== undefined && <b class="number">{draft.table}</b>} <a href="#/">the pass</a>
      </h2>
      {refusals.map((refusal) => (
        <RefusalView
          key={refusal.at_steady}
          refusal={refusal}
          onAgain={undefined}
          onDismiss={(one) => store.dismiss(one)}
        />
      ))}
      {waits !== undefined && (
        <p role="status">
          {waits.what}, {store.connection.live ? "sent" : "kept until the link is back"}
        </p>
      )}
      {waits === undefined && said !== undefined && <p role="status">{said.sentence}</p>}
      <Tables floor={floor} draft={draft} onTable={(id) => setDraft({ ...empty, table: id })} />
      {table !== undefined && (
        <>
          <Seats
            floor={floor}
            draft={draft}
            seats={table.seats}
            onPosition={(position) => setDraft({ ...draft, position })}
          />
          <div class="take">
            <Card floor={floor} draft={draft} onDish={(course, dish) => setDraft(give(draft, course, dish))} />
            <button type="button" aria-expanded={asking} onClick={() => setAsking(!asking)}>
              position {draft.position} must not eat
            </button>
            {asking && (
              <div class="allergens">
                {allergens.map((name) => (
                  <button
                    key={name}
                    type="button"
                    aria-pressed={draft.allergies[draft.position]?.includes(name) ?? false}
                    onClick={() => setDraft(toggleAllergy(draft, name))}
                  >
                    {name}
                  </button>
                ))}
              </div>
            )}
          </div>
          <div class="send">
            {ticket !== undefined && (
              <button type="button" class="first" disabled={plates === 0} onClick={() => send(ticket)}>
                change or add to ticket {ticket}
              </button>
            )}
            <button
              type="button"
              class={ticket === undefined ? "first" : ""}
              disabled={plates === 0}
              onClick={() => send(undefined)}
            >
              {ticket === undefined ? "send" : "a new ticket,"} {plates} {plates === 1 ? "plate" : "plates"}
            </button>
          </div>
        </>
      )}
    </main>
  );
}
