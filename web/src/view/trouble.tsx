// What goes wrong with a table, mended in one gesture each: a plate cooked again or cleared, a table that waits, goes slower
// or faster. The usual acts (gone, hold, the meet) stand in hand.tsx.

import { useState } from "preact/hooks";
import { cookAgain, reasons } from "../actions.ts";
import type { Action, Course, Keyed, Lender, Pause, Plate, Table } from "../wire.ts";
import { clockText, list, plural } from "../words.ts";

const speech_minutes = [5, 10, 15, 20];
const pace_minutes = 5;

interface Asks {
  onAsk(asked: Action): void;
}

/** Who else has a portion of what is to be cooked again, in the pan and to spare. */
export function lenders(lend: Keyed<Lender>, plate: Plate, ticket: number, chosen: string[], now_ms: number): Lender[] {
  if (plate.words !== undefined) return []; // nobody lends across an allergy
  const wanted = chosen.length > 0 ? chosen : Object.keys(plate.parts ?? {});
  return wanted
    .map((component) => lend[component])
    .filter((one): one is Lender => one !== undefined && one.ticket !== ticket && one.until_ms > now_ms);
}

function ClearPlate(props: { plate: Plate; by: string; onClear(name: string): void }) {
  const [name, setName] = useState(props.by === "pass" ? "" : props.by);
  return (
    <div class="clear-plate">
      <p>
        <b>{list(Object.values(props.plate.blocked ?? {}))}</b>
      </p>
      <label>
        Who answers for it{" "}
        <input type="text" value={name} maxLength={40} onInput={(event) => setName(event.currentTarget.value)} />
      </label>
      <button type="button" disabled={name.trim() === ""} onClick={() => props.onClear(name.trim())}>
        clear it
      </button>
    </div>
  );
}

/** One plate is chosen: cook it again (all of it or a part), borrow, or clear what blocks it. */
export function PlateTrouble(
  props: Asks & {
    table: Table;
    course_id: string;
    plate: Plate;
    position: number;
    lend: Keyed<Lender>;
    now_ms: number;
    by: string;
    onBy(name: string): void;
  },
) {
  const { table, plate, position, course_id } = props;
  const [chosen, setChosen] = useState<string[]>([]);
  const [borrowing, setBorrowing] = useState(true);
  const at = { ticket: table.ticket, course: course_id, position };
  const from = lenders(props.lend, plate, table.ticket, chosen, props.now_ms);
  const parts = Object.entries(plate.parts ?? {});
  const toggle = (id: string) =>
    setChosen(chosen.includes(id) ? chosen.filter((other) => other !== id) : [...chosen, id]);
  return (
    <section class="trouble" aria-label={`Position ${position}`}>
      {plate.state === "blocked" && (
        <ClearPlate
          plate={plate}
          by={props.by}
          onClear={(name) => {
            props.onBy(name);
            props.onAsk({ clear_plate: at });
          }}
        />
      )}
      <h3>
        position {position} again{" "}
        <span class="soft">
          {chosen.length === 0 ? "all of it" : list(chosen.map((id) => plate.parts?.[id] ?? id))}
        </span>
      </h3>
      {parts.length > 1 && (
        <div class="parts">
          {parts.map(([id, name]) => (
            <button key={id} type="button" aria-pressed={chosen.includes(id)} onClick={() => toggle(id)}>
              {name}
            </button>
          ))}
        </div>
      )}
      {from.length > 0 && (
        <button type="button" class="borrow" aria-pressed={borrowing} onClick={() => setBorrowing(!borrowing)}>
          {list(from.map((one) => `${one.what} from table ${one.table}`))}
          <span class="soft"> {borrowing ? "borrowed, a new one goes to them" : "not borrowed"}</span>
        </button>
      )}
      <div class="reasons">
        {reasons.map((reason) => (
          <button
            key={reason}
            type="button"
            onClick={() => props.onAsk(cookAgain(at, reason, borrowing && from.length > 0, chosen))}
          >
            {reason}
          </button>
        ))}
      </div>
    </section>
  );
}

/** "speech 20:24", "up": as long as a word, for the row has no more room. */
export function pauseShort(pause: Pause): string {
  return pause.why === "up" ? "up" : `speech${pause.until_ms === undefined ? "" : ` ${clockText(pause.until_ms)}`}`;
}

/** "speech until about 20:24", "up since 20:10", "asked 5 min slower" */
export function tableWords(table: Table): string[] {
  const words: string[] = [];
  const { pause, pace_minutes: pace } = table;
  if (pause?.why === "speech")
    words.push(pause.until_ms === undefined ? "speech" : `speech until about ${clockText(pause.until_ms)}`);
  if (pause?.why === "up") words.push(`up since ${clockText(pause.since_ms)}`);
  if (pace !== undefined && pace !== 0) words.push(`asked ${Math.abs(pace)} min ${pace > 0 ? "slower" : "faster"}`);
  if (table.joined !== undefined) words.push(`tables ${table.joined} together`);
  if (table.order !== undefined) words.push(`one order with ticket ${table.order}`);
  return words;
}

/** The table cannot be served now, or wants another pace. */
export function TableTrouble(props: Asks & { table: Table }) {
  const { ticket, pause } = props.table;
  const [speaking, setSpeaking] = useState(false);
  if (speaking)
    return (
      <fieldset class="trouble tables" aria-label="Speech: how long, as a guess">
        {speech_minutes.map((minutes) => (
          <button
            key={minutes}
            type="button"
            onClick={() => {
              setSpeaking(false);
              props.onAsk({ speech: { ticket, minutes } });
            }}
          >
            {minutes} min
          </button>
        ))}
      </fieldset>
    );
  return (
    <fieldset class="trouble tables" aria-label="The table">
      {pause === undefined ? (
        <>
          <button type="button" onClick={() => setSpeaking(true)}>
            speech
          </button>
          <button type="button" onClick={() => props.onAsk({ table_up: { ticket } })}>
            table up
          </button>
        </>
      ) : (
        <button type="button" class="wide" onClick={() => props.onAsk({ table_back: { ticket } })}>
          {pause.why === "up" ? "sits again" : "speech over"}
        </button>
      )}
      <button type="button" onClick={() => props.onAsk({ pace: { ticket, minutes: pace_minutes } })}>
        slower
      </button>
      <button type="button" onClick={() => props.onAsk({ pace: { ticket, minutes: -pace_minutes } })}>
        faster
      </button>
    </fieldset>
  );
}

/** How it is carried, and how long it could wait. */
export function Carried({ course, now_ms }: { course: Course; now_ms: number }) {
  const { carry, latest_ms, latest_what } = course;
  if (carry === undefined) return null;
  const call =
    carry.call_ms === undefined
      ? ""
      : carry.call_ms <= now_ms
        ? ", called now"
        : `, called ${clockText(carry.call_ms)}`;
  return (
    <details class="carry">
      <summary>
        {plural(carry.hands, "pair of hands", "pairs of hands")}
        {call}
        {latest_ms !== undefined && (
          <span class="soft">
            . Nothing is thrown till {clockText(latest_ms)} ({latest_what})
          </span>
        )}
      </summary>
      <ol>
        {Object.entries(carry.trips)
          .sort(([a], [b]) => (a < b ? -1 : 1))
          .map(([key, trip]) => (
            <li key={key}>{trip}</li>
          ))}
      </ol>
    </details>
  );
}
