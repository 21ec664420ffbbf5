// Taking an order, or changing one, by touch and by keys: the table, then each position's plates, its allergies on the
// person; what can be had, and when it could be, stands there before anything is sent.

import { useEffect, useRef, useState } from "preact/hooks";
import { loadWords, useCard, useDrafted } from "../ask.ts";
import {
  allergens,
  allergenTyped,
  counted,
  type Draft,
  dishTyped,
  draftOf,
  empty,
  few,
  give,
  openTickets,
  orderOf,
  reword,
  tableTyped,
  toggleAllergy,
  toggleLeftOff,
  toldBefore,
} from "../order.ts";
import type { Store } from "../store.ts";
import { type FloorDocument, type FloorTicket, floorDocument } from "../wire.ts";
import { clockText, list, plural } from "../words.ts";
import { RefusalView } from "./hand.tsx";
import { useFloor } from "./hooks.ts";
import { byOrder, Seats, seatsOf } from "./seats.tsx";
import { closedWords } from "./station.tsx";

/** "starters 20:07", "mains could be 20:31": the word for each table's next course, what to tell the table now. */
function tableSays(floor: FloorDocument, table: string): string {
  return openTickets(floor, table)
    .flatMap((ticket) =>
      byOrder(floor.courses)
        .map(([id, { name }]) => ({ name, course: ticket.courses[id] }))
        .filter(({ course }) => course !== undefined && course.state !== "gone")
        .slice(0, 1)
        .map(({ name, course }) => {
          if (course?.word_ms === undefined) return `${name} wait`;
          return `${name} ${course.state === "waiting" ? "could be " : ""}${clockText(course.word_ms)}`;
        }),
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
              <span class="soft">{plural(table.seats, "seat", "seats")}</span>
              <span>{tableSays(floor, id)}</span>
            </span>
          </button>
        </li>
      ))}
    </ul>
  );
}

/** What a position of the draft has: dishes with what is left off, and what it must not eat. */
function Drawn({ floor, draft, position }: { floor: FloorDocument; draft: Draft; position: number }) {
  const plates = draft.plates[position] ?? {};
  const allergies = draft.allergies[position] ?? [];
  return (
    <>
      {byOrder(floor.courses).map(([course]) => {
        const plate = plates[course];
        if (plate === undefined) return null;
        const parts = floor.dishes[plate.dish]?.parts ?? {};
        const words = [
          floor.dishes[plate.dish]?.name ?? plate.dish,
          ...plate.left_off.map((part) => `no ${parts[part] ?? part}`),
          plate.change,
        ];
        return <span key={course}>{words.filter((word) => word !== "").join(", ")}</span>;
      })}
      {allergies.length > 0 && <b class="caps">no {allergies.join(", no ")}</b>}
    </>
  );
}

function Dishes(props: {
  floor: FloorDocument;
  draft: Draft;
  before: FloorTicket | undefined;
  card: ReturnType<typeof useCard>;
  onDish(course: string, dish: string): void;
}) {
  const { floor, draft } = props;
  return (
    <div class="card">
      {byOrder(floor.courses).map(([course, { name }]) => (
        <fieldset key={course}>
          <legend>{name}</legend>
          {byOrder(floor.dishes)
            .filter(([, dish]) => dish.course === course)
            .map(([id, dish]) => {
              const left = dish.left === undefined ? undefined : dish.left - counted(draft, id, props.before);
              const has = draft.plates[draft.position]?.[course]?.dish === id;
              const answer = props.card?.dishes[id];
              const no = answer?.answer === "no";
              return (
                <button
                  key={id}
                  type="button"
                  aria-pressed={has}
                  disabled={!has && (no || (left !== undefined && left <= 0))}
                  onClick={() => props.onDish(course, id)}
                >
                  <span class="dish-name">
                    <i aria-hidden="true">{dish.letter}</i> {dish.name}
                    {left !== undefined && left <= 0 && <b> off</b>}
                    {left !== undefined && left > 0 && (
                      <b>
                        {" "}
                        {left}
                        {left <= few && "!"}
                      </b>
                    )}
                  </span>
                  {answer !== undefined && answer.answer !== "yes" && (
                    <span class={no ? "why" : "why strong"}>{answer.says}</span>
                  )}
                </button>
              );
            })}
        </fieldset>
      ))}
    </div>
  );
}

/** The plate in hand: what may be left off it, and words for the cook. */
function InHand(props: { floor: FloorDocument; draft: Draft; onDraft(draft: Draft): void }) {
  const { floor, draft, onDraft } = props;
  const { course } = draft;
  const plate = course === undefined ? undefined : draft.plates[draft.position]?.[course];
  if (course === undefined || plate === undefined) return null;
  const dish = floor.dishes[plate.dish];
  return (
    <fieldset class="in-hand">
      <legend class="unseen">
        position {draft.position}, {dish?.name}
      </legend>
      {Object.entries(dish?.parts ?? {}).map(([part, name]) => (
        <button
          key={part}
          type="button"
          aria-pressed={plate.left_off.includes(part)}
          onClick={() => onDraft(toggleLeftOff(draft, course, part))}
        >
          no {name}
        </button>
      ))}
      <label>
        <span class="soft">{dish?.name}, words for the cook</span>{" "}
        <input
          type="text"
          maxLength={200}
          value={plate.change}
          onInput={(event) => onDraft(reword(draft, course, event.currentTarget.value))}
        />
      </label>
    </fieldset>
  );
}

/** What is said back before it is sent: who can have what, when it could be, whose hands it fills. */
function Before(props: {
  draft: Draft;
  card: ReturnType<typeof useCard>;
  drafted: ReturnType<typeof useDrafted>;
  live: boolean;
}) {
  const { draft, card, drafted, live } = props;
  const allergies = draft.allergies[draft.position] ?? [];
  return (
    <div class="before" role="status">
      {allergies.length > 0 && (
        <p>
          <b>
            position {draft.position}, {list(allergies)}:{" "}
            {card === undefined
              ? live
                ? "asking"
                : "what they can have is not known while the link is away"
              : `${card.says}: tell the guest now`}
          </b>
        </p>
      )}
      {drafted?.problem !== undefined && <p class="problem">{drafted.problem}</p>}
      {drafted?.why !== undefined && <p>{drafted.why}</p>}
      {drafted?.load.map((load) => (
        <p key={load.name} class={load.full ? "strong" : "soft"}>
          {loadWords(load)}
        </p>
      ))}
    </div>
  );
}

function Allergens({
  draft,
  before,
  onDraft,
}: {
  draft: Draft;
  before: FloorTicket | undefined;
  onDraft(d: Draft): void;
}) {
  const told = toldBefore(before, draft.position);
  return (
    <div class="allergens">
      {allergens.map((name) => (
        <button
          key={name}
          type="button"
          aria-pressed={draft.allergies[draft.position]?.includes(name) ?? false}
          disabled={told.includes(name)}
          onClick={() => onDraft(toggleAllergy(draft, name))}
        >
          {name}
        </button>
      ))}
    </div>
  );
}

interface Taking {
  floor: FloorDocument;
  draft: Draft;
  asking: boolean;
  setDraft(draft: Draft): void;
  setAsking(on: boolean): void;
  choose(table: string): void;
  send(): void;
}

/** Keys of this page: "8:" the table, then digits for positions and letters for dishes; "!" and the allergen. */
function useOrderKeys(store: Store, taking: Taking | undefined): void {
  const typed = useRef("");
  const listen = useRef<(event: KeyboardEvent) => void>(() => {});
  listen.current = (event) => {
    const target = event.target as HTMLElement;
    if (taking === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
    if (target.matches("input, textarea, select")) return;
    const { floor, draft, asking } = taking;
    const { key } = event;
    if (key === "Escape") {
      if (asking) taking.setAsking(false);
      else if (draft.table !== undefined) taking.setDraft(empty);
      else location.hash = "#/";
      typed.current = "";
      return;
    }
    if (key === "Enter" && !target.matches("button, a") && draft.table !== undefined) return taking.send();
    if (!store.single_keys || key.length !== 1) return;
    if (draft.table === undefined) {
      const whole = key === ":";
      if (!whole && !/[\w]/.test(key)) return;
      if (!whole) typed.current += key;
      const table = tableTyped(floor.tables, typed.current, whole);
      if (whole || table !== undefined) typed.current = "";
      if (table !== undefined) taking.choose(table);
      event.preventDefault();
      return;
    }
    if (asking) {
      typed.current += key.toLowerCase();
      const name = allergenTyped(typed.current);
      if (name !== undefined) {
        taking.setDraft(toggleAllergy(draft, name));
        taking.setAsking(false);
      }
      if (name !== undefined || !allergens.some((one) => one.startsWith(typed.current))) typed.current = "";
      event.preventDefault();
      return;
    }
    if (key === "!") {
      typed.current = "";
      taking.setAsking(true);
    } else if (/[1-9]/.test(key)) {
      taking.setDraft({ ...draft, position: Number(key) });
    } else {
      const dish = dishTyped(draft, floor, key);
      if (dish === undefined) return;
      taking.setDraft(give(draft, ...dish));
    }
    event.preventDefault();
  };
  useEffect(() => {
    const heard = (event: KeyboardEvent) => listen.current(event);
    document.addEventListener("keydown", heard);
    return () => document.removeEventListener("keydown", heard);
  }, []);
}

function WhichTicket(props: { open: FloorTicket[]; draft: Draft; onTicket(ticket: FloorTicket | undefined): void }) {
  const { open, draft } = props;
  if (open.length === 0) return null;
  return (
    <nav class="which" aria-label="Which ticket">
      {open.map((ticket) => (
        <button
          key={ticket.ticket}
          type="button"
          aria-pressed={draft.ticket === ticket.ticket}
          onClick={() => props.onTicket(ticket)}
        >
          change ticket {ticket.ticket}, {plural(ticket.covers, "cover", "covers")}
        </button>
      ))}
      <button type="button" aria-pressed={draft.ticket === undefined} onClick={() => props.onTicket(undefined)}>
        a new ticket
      </button>
      {draft.ticket !== undefined && <a href={`#/table/${draft.ticket}`}>seats, tables, cancel</a>}
    </nav>
  );
}

/** What became of the last one: refused, on its way, or read back. */
export function Became({ store, about }: { store: Store; about: string }) {
  const refusals = store.refusals.filter((refusal) => refusal.about === about);
  const said = store.said_back.filter((one) => one.about === about).at(-1);
  const waits = store.pending.filter((press) => press.about === about).at(-1);
  return (
    <>
      {refusals.map((refusal) => (
        <RefusalView
          key={refusal.at_steady}
          refusal={refusal}
          onAgain={(again) => store.press(again)}
          onDismiss={(one) => store.dismiss(one)}
        />
      ))}
      {waits !== undefined && (
        <p role="status">
          {waits.what}, {store.connection.live ? "sent" : "kept until the link is back"}
        </p>
      )}
      {waits === undefined && said !== undefined && <p role="status">{said.sentence}</p>}
    </>
  );
}

function Sending(props: { draft: Draft; count: number; told: boolean; onSend(): void }) {
  const { draft, count, told } = props;
  const nothing = count === 0 && !told;
  return (
    <div class="send">
      <button type="button" class="first" disabled={nothing} onClick={props.onSend}>
        {draft.ticket === undefined
          ? `send ${plural(count, "plate", "plates")}`
          : nothing
            ? `ticket ${draft.ticket} as it stands`
            : `change ticket ${draft.ticket}: ${count > 0 ? plural(count, "plate", "plates") : "what somebody must not eat"}`}
      </button>
    </div>
  );
}

export function OrderPage({ store, table: at }: { store: Store; table: string | undefined }) {
  const [draft, setDraft] = useState<Draft>(empty);
  const [asking, setAsking] = useState(false);
  const document = useFloor(store);
  const floor = document === undefined ? undefined : floorDocument(document);
  const allergies = draft.allergies[draft.position] ?? [];
  const number = String(store.connection.held.get("floor")?.number ?? 0);
  const card = useCard(allergies, floor?.service.name ?? "");
  const open = floor === undefined || draft.table === undefined ? [] : openTickets(floor, draft.table);
  const before = open.find((ticket) => ticket.ticket === draft.ticket);
  const order = floor === undefined ? undefined : orderOf(draft, floor, before);
  const count = order?.courses.reduce((sum, course) => sum + course.plates.length, 0) ?? 0;
  const drafted = useDrafted(draft.ticket === undefined && count > 0 ? order : undefined, number);

  const choose = (table: string) => {
    const there = floor === undefined ? undefined : openTickets(floor, table)[0];
    setAsking(false);
    setDraft(there === undefined ? { ...empty, table } : draftOf(there));
  };
  useEffect(() => {
    if (at !== undefined && floor !== undefined && at in floor.tables && draft.table === undefined) choose(at);
  }, [at, floor !== undefined]);
  const send = () => {
    if (order === undefined || (count === 0 && order.guests.length === 0)) return;
    store.press(
      draft.ticket === undefined
        ? { send_ticket: { order } }
        : { change_ticket: { ticket: draft.ticket, order, sure: false } },
    );
    setAsking(false);
    setDraft(empty);
  };
  const taking = floor === undefined ? undefined : { floor, draft, asking, setDraft, setAsking, choose, send };
  useOrderKeys(store, taking);

  if (floor === undefined)
    return (
      <main class="order">
        <p class="soft">The card has not come yet.</p>
        <a href="#/">the pass</a>
      </main>
    );
  const table = draft.table === undefined ? undefined : floor.tables[draft.table];
  const course = floor.courses[drafted?.course ?? ""]?.name ?? "";
  return (
    <main class="order">
      <h2>
        order {table !== undefined && <b class="number">{draft.table}</b>}
        {table !== undefined && table.walk_ms >= 30_000 && (
          <span class="soft">
            {table.room}, {Math.round(table.walk_ms / 1000)} s walk
          </span>
        )}
        {drafted?.word_ms !== undefined && (
          <span class="can-be" role="status">
            can be: {course} {clockText(drafted.word_ms)}
          </span>
        )}
        <a href="#/counts">what is left</a>
        <a href="#/">the pass</a>
      </h2>
      <Became store={store} about="order" />
      {!floor.service.open && <p class="strong">{closedWords(floor.service)}</p>}
      <Tables floor={floor} draft={draft} onTable={choose} />
      {table === undefined || draft.table === undefined ? (
        <p class="soft keys">
          Type the table, then position and dish: <kbd>8:1eh2mp</kbd>; <kbd>!</kbd> an allergy; <kbd>Enter</kbd> sends.
        </p>
      ) : (
        <>
          <WhichTicket
            open={open}
            draft={draft}
            onTicket={(ticket) => setDraft(ticket === undefined ? { ...empty, table: draft.table } : draftOf(ticket))}
          />
          <Seats
            seats={seatsOf(floor, draft.table, open)}
            pressed={(position) => draft.position === position}
            inside={(position) => <Drawn floor={floor} draft={draft} position={position} />}
            onPosition={(position) => setDraft({ ...draft, position })}
          />
          <Before draft={draft} card={card} drafted={drafted} live={store.connection.live} />
          <div class="take">
            <Dishes
              floor={floor}
              draft={draft}
              before={before}
              card={card}
              onDish={(of, dish) => setDraft(give(draft, of, dish))}
            />
            <InHand floor={floor} draft={draft} onDraft={setDraft} />
            <button type="button" class="must-not" aria-expanded={asking} onClick={() => setAsking(!asking)}>
              position {draft.position} must not eat
            </button>
            {asking && <Allergens draft={draft} before={before} onDraft={setDraft} />}
          </div>
          <Sending draft={draft} count={count} told={(order?.guests.length ?? 0) > 0} onSend={send} />
        </>
      )}
    </main>
  );
}
