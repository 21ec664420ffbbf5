// A station's hand list to look at, for whoever has no terminal at hand: only its alerts can be answered here.

import type { ComponentChildren } from "preact";
import type { HandItem, Service, StationDocument } from "../wire.ts";
import { clockText, giveText, list, minutesText } from "../words.ts";

/** The moves in the order the hands should make them. */
export function inOrder(doc: StationDocument): [string, HandItem][] {
  return Object.entries(doc.list).sort(([ka, a], [kb, b]) => a.at_ms - b.at_ms || (ka < kb ? -1 : 1));
}

function Move({ item, now_ms }: { item: HandItem; now_ms: number }) {
  return (
    <>
      <span class="give">{item.state === "doing" ? "begun" : giveText(item.at_ms - now_ms)}</span>
      <span class="what">
        {item.words !== undefined && <b class="caps">{item.words} </b>}
        <b>{item.move}</b> {item.n} {item.what} {item.letter}
        {item.round > 0 && `, ${item.round}`}
        <span class="soft">
          {" "}
          {[item.change, item.how, item.guess === true ? "as far as one can tell" : undefined]
            .filter((part) => part !== undefined)
            .join(", ")}
        </span>
      </span>
      <span class="soft">table {item.tables}</span>
    </>
  );
}

/** Why there is nothing to do, when the service is over or has not begun. */
export function closedWords(service: Service): string | undefined {
  if (service.open) return undefined;
  if (service.closed_ms === undefined) return "No service is open: there is nothing to do yet.";
  return `${service.name} closed at ${clockText(service.closed_ms)}: there is nothing to do.`;
}

export function StationView(props: { doc: StationDocument; now_ms: number; children?: ComponentChildren }) {
  const { doc, now_ms } = props;
  const moves = inOrder(doc);
  const next = doc.next === undefined ? undefined : doc.list[doc.next];
  const names = Object.values(doc.hands)
    .filter((person) => person.present)
    .map((person) => person.name);
  const { behind } = doc;
  const heat = Object.entries(doc.heat).sort(([, a], [, b]) => a.next_ms - b.next_ms);
  return (
    <main class="station">
      <h2>
        {doc.station.name} <span class="soft">{list(names)}</span> <a href="#/">the pass</a>
      </h2>
      {props.children}
      {doc.quiet_since_ms !== undefined && (
        <p class="soft">
          Nobody has pressed since {clockText(doc.quiet_since_ms)}: this list follows the plan, a guess.
        </p>
      )}
      {next === undefined ? (
        <p class="next soft">{closedWords(doc.service) ?? "nothing to do now"}</p>
      ) : (
        <p class="next">
          <Move item={next} now_ms={now_ms} />
        </p>
      )}
      <ol aria-label="Moves, in the order of the hands">
        {moves
          .filter(([key]) => key !== doc.next)
          .map(([key, item]) => (
            <li key={key} class={item.state}>
              <Move item={item} now_ms={now_ms} />
            </li>
          ))}
      </ol>
      {heat.length > 0 && <h2>on the heat</h2>}
      <ul>
        {heat.map(([key, item]) => (
          <li key={key}>
            <span class="give">{giveText(item.next_ms - now_ms)}</span>
            <span class="what">
              {item.n} {item.what} {item.letter}{" "}
              <span class="soft">
                {item.doing}, then {item.then}
              </span>
            </span>
            <span class="soft">table {item.tables}</span>
          </li>
        ))}
      </ul>
      <p>
        {behind.nobody === true && "nobody here. "}
        {behind.ms > 0 &&
          `behind ${minutesText(behind.ms)}${behind.from_ms === undefined ? "" : ` at ${clockText(behind.from_ms)}`}. `}
        {Object.values(doc.waits).join(". ")}
      </p>
    </main>
  );
}
