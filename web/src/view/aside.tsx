// The right side: what wants a decision, what stands on the pass, where hands run short, what will be off.

import type { Refusal } from "../store.ts";
import type { Alert, PassDocument, Short, Standing } from "../wire.ts";
import { brief, clockText, leftText, minutesText, plural } from "../words.ts";
import { RefusalView } from "./hand.tsx";

const shown_alerts = 3;

/** A document that has alerts: the pass, or a station. */
export type Alerting = Pick<PassDocument, "alerts"> & { colour?: string };

/** Alerts that want somebody now, first by rank, then by age; the one coloured thing always among those shown. */
export function ranked(doc: Alerting, now_ms: number): [string, Alert][] {
  return Object.entries(doc.alerts)
    .filter(([, alert]) => !(alert.shelved_until_ms !== undefined && alert.shelved_until_ms > now_ms))
    .sort(
      ([ka, a], [kb, b]) =>
        Number(kb === doc.colour) - Number(ka === doc.colour) ||
        Number(a.answered) - Number(b.answered) ||
        a.rank - b.rank ||
        a.since_ms - b.since_ms,
    );
}

export function Alerts(props: {
  doc: Alerting;
  now_ms: number;
  asked: Map<string, string>;
  refusals: Refusal[];
  onSeen(alert: Alert): void;
  onLater(alert: Alert): void;
  onDismiss(refusal: Refusal): void;
}) {
  const { doc, now_ms } = props;
  const all = ranked(doc, now_ms);
  const away = Object.values(doc.alerts).length - all.length;
  const more = all.length - shown_alerts;
  if (all.length === 0 && away === 0) return null;
  return (
    <section class="alerts" aria-label="What wants a decision">
      <ul>
        {all.slice(0, shown_alerts).map(([key, alert]) => (
          <li key={key} class={`alert ${key === doc.colour ? "accent" : ""} ${alert.answered ? "answered" : ""}`}>
            <p>
              {key === doc.colour && <span aria-hidden="true">▲ </span>}
              <b>{alert.do}</b>
            </p>
            <p class="says">{alert.says}</p>
            {alert.also !== undefined && <p class="soft">{Object.values(alert.also).join("; ")}</p>}
            {props.asked.has(key) && <p class="soft">{props.asked.get(key)}</p>}
            {!alert.answered && !props.asked.has(key) && (
              <p class="buttons">
                <button type="button" onClick={() => props.onSeen(alert)} aria-label={`seen: ${alert.says}`}>
                  seen
                </button>
                <button type="button" onClick={() => props.onLater(alert)} aria-label={`in 5 min: ${alert.says}`}>
                  in 5 min
                </button>
              </p>
            )}
            {props.refusals
              .filter((refusal) => refusal.about === key)
              .map((refusal) => (
                <RefusalView
                  key={refusal.at_steady}
                  refusal={refusal}
                  onDismiss={props.onDismiss}
                  onAgain={undefined}
                />
              ))}
          </li>
        ))}
      </ul>
      {(more > 0 || away > 0) && (
        <p class="soft">
          {more > 0 && `and ${more} more`}
          {more > 0 && away > 0 && ", "}
          {away > 0 && `${away} put off`}
        </p>
      )}
    </section>
  );
}

/** Least time first: for one carrier, that keeps the worst plate least late. */
export function byTimeLeft(standing: PassDocument["standing"]): [string, Standing][] {
  return Object.entries(standing).sort(
    ([ka, a], [kb, b]) => (a.until_ms ?? Infinity) - (b.until_ms ?? Infinity) || (ka < kb ? -1 : 1),
  );
}

const strip_ms = 120_000;

export function StandingList(props: {
  doc: PassDocument;
  now_ms: number;
  accent: string | undefined;
  selected: string | undefined;
  onSelect(key: string): void;
}) {
  const { doc, now_ms } = props;
  return (
    <section class="standing" aria-label="Standing on the pass">
      <h2>standing</h2>
      {Object.keys(doc.standing).length === 0 && <p class="soft">nothing stands</p>}
      <ul>
        {byTimeLeft(doc.standing).map(([key, entry]) => {
          const left = entry.until_ms === undefined ? undefined : entry.until_ms - now_ms;
          const table = Object.values(doc.tables).find((other) => other.ticket === entry.ticket);
          const share = left === undefined ? 0 : Math.max(0, Math.min(1, left / strip_ms));
          const plates = Object.entries(table?.courses[entry.course]?.plates ?? {});
          return (
            <li key={key}>
              <button
                type="button"
                class={`stands ${key === props.accent ? "accent" : ""}`}
                aria-expanded={key === props.selected}
                onClick={() => props.onSelect(key)}
              >
                <b class="number">{entry.table}</b>
                <span class="about">
                  <span>
                    {entry.up} of {entry.of} up{entry.up >= entry.of ? ", gone?" : ""}
                    {entry.send_now === true && <b>, send {entry.up} now</b>}
                  </span>
                  {entry.hands !== undefined && entry.hands > 0 && (
                    <span class="soft">{plural(entry.hands, "pair of hands", "pairs of hands")}</span>
                  )}
                  {entry.missing !== undefined && entry.up < entry.of && (
                    <span class="soft">waits for {entry.missing}</span>
                  )}
                  {table !== undefined && table.walk_ms >= 30_000 && (
                    <span class="soft">
                      {table.room}, {Math.round(table.walk_ms / 1000)} s walk
                    </span>
                  )}
                  {plates
                    .filter(([, plate]) => plate.words !== undefined && plate.state !== "gone")
                    .map(([position, plate]) => (
                      <b key={position} class="caps">
                        {position} {plate.words}
                      </b>
                    ))}
                </span>
                {left !== undefined && (
                  <b class="left">
                    {key === props.accent && <span aria-hidden="true">▲</span>}
                    {leftText(left).count}
                    <small> {leftText(left).unit}</small>
                  </b>
                )}
                <svg class="strip" aria-hidden="true" viewBox="0 0 100 3" preserveAspectRatio="none">
                  <rect class="whole" width="100" height="3" />
                  <rect class="rest" width={share * 100} height="3" />
                </svg>
              </button>
            </li>
          );
        })}
      </ul>
    </section>
  );
}

const slot_ms = 300_000;
const slots = 12;
const full = 0.85;

/** "nobody there", "behind 2 min at 20:31, table 3". */
function shortWords(short: Short): string {
  const table = short.table === undefined ? "" : `, table ${short.table}`;
  if (short.nobody === true) return `nobody there${table}`;
  const at = short.from_ms === undefined ? "" : ` at ${clockText(short.from_ms)}`;
  return `behind ${minutesText(short.behind_ms ?? 0)}${at}${table}`;
}

export function Hands({ doc, now_ms }: { doc: PassDocument; now_ms: number }) {
  const first = Math.floor(now_ms / slot_ms) * slot_ms;
  const stations = Object.entries(doc.stations)
    .filter(([id]) => doc.load[id] !== undefined || doc.short[id] !== undefined)
    .sort(([ia, a], [ib, b]) => Number(ib in doc.short) - Number(ia in doc.short) || a.order - b.order);
  return (
    <section class="hands" aria-label="Hands, the next hour">
      <h2>
        hands <span class="soft">next hour</span>
      </h2>
      <ul>
        {stations.map(([id, station]) => {
          const short = doc.short[id];
          const shares = Array.from({ length: slots }, (_, i) => doc.load[id]?.[String(first + i * slot_ms)] ?? 0);
          const peak = Math.max(...shares);
          const at = first + shares.indexOf(peak) * slot_ms;
          return (
            <li key={id}>
              <span class={short === undefined ? "" : "strong"}>{station.name}</span>
              <svg class="load" aria-hidden="true" viewBox={`0 0 ${slots * 10} 24`} preserveAspectRatio="none">
                <line class="limit" x1="0" x2={slots * 10} y1={24 - full * 20} y2={24 - full * 20} />
                {shares.map((share, i) => {
                  const height = Math.min(24, share * 20);
                  const key = first + i * slot_ms;
                  return (
                    <rect
                      key={key}
                      class={share > full ? "over" : ""}
                      x={i * 10 + 1}
                      y={24 - height}
                      width="8"
                      height={height}
                    />
                  );
                })}
              </svg>
              <span class="says">
                {short !== undefined
                  ? shortWords(short)
                  : peak > full
                    ? `${Math.round(peak * 100)} % at ${clockText(at)}`
                    : ""}
              </span>
            </li>
          );
        })}
      </ul>
    </section>
  );
}

/** Tables that are booked again and will not be free by then. */
export function WantedAgain({ doc }: { doc: PassDocument }) {
  const wanted = Object.entries(doc.wanted).sort(([, a], [, b]) => a.booked_ms - b.booked_ms);
  if (wanted.length === 0) return null;
  return (
    <section class="wanted" aria-label="Tables wanted again">
      <h2>wanted again</h2>
      <ul>
        {wanted.map(([key, one]) => (
          <li key={key}>{one.says}</li>
        ))}
      </ul>
    </section>
  );
}

export function Off({ doc }: { doc: PassDocument }) {
  const dishes = Object.entries(doc.off).sort(([ka, a], [kb, b]) => a.left - b.left || (ka < kb ? -1 : 1));
  return (
    <section class="off" aria-label="Off, or soon">
      <h2>
        off soon <a href="#/counts">what is left</a>
      </h2>
      <ul>
        {dishes.map(([id, dish]) => (
          <li key={id}>
            {brief(dish.name)} <b>{dish.left <= 0 ? "off" : `${dish.left} left`}</b>
          </li>
        ))}
      </ul>
    </section>
  );
}
