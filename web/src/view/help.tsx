// Keys and gestures, and what this screen is called.

import { useEffect, useRef } from "preact/hooks";
import { bindings } from "../keys.ts";
import type { Store } from "../store.ts";

const gestures: [string, string][] = [
  ["touch a table", "its plates, and what can be asked of it"],
  ["draw its knot left or right", "the meet earlier or later, by whole minutes"],
  ["draw across the pass line", "gone"],
  ["touch one plate of it", "it stays when the rest goes; cook it again, borrow for it, clear it"],
];

const reading: [string, string][] = [
  ["the shade", "how far now has come on its way to the pass"],
  ["heavy", "the pull: what sets the time, with its station"],
  ["solid", "begun"],
  ["dotted", "can wait"],
  ["dashed", "to be begun, no time to give"],
  ["waves", "ends by a cue that has not come"],
  ["[ ]", "a rest: from its shortest to its longest"],
  [")", "the end of its keep"],
  ["ring and knot apart", "promised and expected"],
];

export function Help({ store, onClose }: { store: Store; onClose(): void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  const stations = Object.entries(store.pass?.stations ?? {}).sort(([, a], [, b]) => a.order - b.order);
  return (
    <dialog ref={dialog} class="help" aria-label="Help" onClose={onClose}>
      <div class="help-body">
        <section>
          <h2>reading</h2>
          <dl>
            {reading.map(([what, means]) => (
              <div key={what}>
                <dt>{what}</dt>
                <dd>{means}</dd>
              </div>
            ))}
          </dl>
        </section>
        <section>
          <h2>hands</h2>
          <dl>
            {gestures.map(([what, means]) => (
              <div key={what}>
                <dt>{what}</dt>
                <dd>{means}</dd>
              </div>
            ))}
          </dl>
          <h2>this screen</h2>
          <p>
            <a href="#/devices">devices</a>: let one in, or end a pairing
          </p>
          <label>
            Who presses here{" "}
            <input
              type="text"
              defaultValue={store.by}
              maxLength={40}
              onChange={(event) => {
                store.by = event.currentTarget.value;
              }}
            />
          </label>
          <label>
            <input
              type="checkbox"
              checked={store.single_keys}
              onChange={(event) => {
                store.single_keys = event.currentTarget.checked;
              }}
            />{" "}
            Single keys work
          </label>
          <label>
            <input
              type="checkbox"
              checked={store.sound}
              onChange={(event) => {
                store.sound = event.currentTarget.checked;
              }}
            />{" "}
            A tone when something wants a decision
          </label>
          {stations.length > 0 && <h2>hand lists</h2>}
          <p class="lists">
            {stations.map(([id, station]) => (
              <a key={id} href={`#/station/${id}`}>
                {station.name}
              </a>
            ))}
          </p>
        </section>
        <section>
          <h2>keys</h2>
          <dl>
            {bindings
              .filter((binding) => binding.shown !== "")
              .map((binding) => (
                <div key={binding.does}>
                  <dt>
                    <kbd>{binding.shown}</kbd>
                  </dt>
                  <dd>{binding.help}</dd>
                </div>
              ))}
          </dl>
        </section>
      </div>
      <form method="dialog">
        <button type="submit">close</button>
      </form>
    </dialog>
  );
}
