// What is left that nobody has been promised: counted, off, or as many as are wanted.

import { useState } from "preact/hooks";
import { few } from "../order.ts";
import type { Store } from "../store.ts";
import { type FloorDish, floorDocument } from "../wire.ts";
import { useFloor, useLeaving } from "./hooks.ts";
import { Became } from "./order.tsx";
import { byOrder } from "./seats.tsx";

function Count({ store, id, dish }: { store: Store; id: string; dish: FloorDish }) {
  const [typed, setTyped] = useState<string | undefined>();
  // What was asked and is not shown yet: two quick touches are two fewer.
  const [asked, setAsked] = useState<{ shown: number | undefined; to: number | undefined } | undefined>();
  const left = asked !== undefined && asked.shown === dish.left ? asked.to : dish.left;
  const set = (to: number | undefined) => {
    setTyped(undefined);
    setAsked({ shown: dish.left, to });
    store.press({ set_left: to === undefined ? { dish: id } : { dish: id, left: to } });
  };
  const enter = () => {
    if (typed !== undefined && /^\d{1,3}$/.test(typed.trim())) set(Number(typed));
    else setTyped(undefined);
  };
  return (
    <li>
      <span class="dish">{dish.name}</span>
      <b class="left">{left === undefined ? "no count" : left <= 0 ? "off" : `${left}${left <= few ? "!" : ""}`}</b>
      <button
        type="button"
        aria-label={`${dish.name}, one fewer`}
        disabled={!left}
        onClick={() => set((left ?? 1) - 1)}
      >
        −
      </button>
      <button
        type="button"
        aria-label={`${dish.name}, one more`}
        disabled={left === undefined}
        onClick={() => set((left ?? 0) + 1)}
      >
        +
      </button>
      <input
        type="text"
        inputMode="numeric"
        placeholder="n left"
        maxLength={3}
        aria-label={`${dish.name}, how many are left`}
        value={typed ?? ""}
        onInput={(event) => setTyped(event.currentTarget.value)}
        onKeyDown={(event) => {
          if (event.key === "Enter") enter();
        }}
        onBlur={enter}
      />
      <button type="button" aria-label={`${dish.name} is off`} disabled={left === 0} onClick={() => set(0)}>
        off
      </button>
      <button
        type="button"
        aria-label={`${dish.name}, no count`}
        disabled={left === undefined}
        onClick={() => set(undefined)}
      >
        no count
      </button>
    </li>
  );
}

export function CountsPage({ store }: { store: Store }) {
  const document = useFloor(store);
  useLeaving();
  if (document === undefined)
    return (
      <main class="order">
        <p class="soft">The card has not come yet.</p>
        <a href="#/">the pass</a>
      </main>
    );
  const floor = floorDocument(document);
  return (
    <main class="order counts">
      <h2>
        what is left <span class="soft">that nobody has been promised</span>
        <a href="#/order">order</a>
        <a href="#/">the pass</a>
      </h2>
      <Became store={store} about="counts" />
      {byOrder(floor.courses).map(([course, { name }]) => (
        <section key={course} aria-label={name}>
          <h3>{name}</h3>
          <ul>
            {byOrder(floor.dishes)
              .filter(([, dish]) => dish.course === course)
              .map(([id, dish]) => (
                <Count key={id} store={store} id={id} dish={dish} />
              ))}
          </ul>
        </section>
      ))}
    </main>
  );
}
