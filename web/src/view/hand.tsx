// What the hand does with one course: its plates by position, and what can be asked of it.

import { useState } from "preact/hooks";
import { insistLabel, labels, offered, type Verb } from "../actions.ts";
import type { Refusal } from "../store.ts";
import type { Action, Course, Keyed, Lender, Plate, Table } from "../wire.ts";
import { awayText, brief, clockText, list, minutesText, wordText } from "../words.ts";
import { StoryView } from "./story.tsx";
import { Carried, PlateTrouble, TableTrouble, tableWords } from "./trouble.tsx";

export function RefusalView(props: {
  refusal: Refusal;
  onAgain: ((again: Action) => void) | undefined;
  onDismiss(refusal: Refusal): void;
}) {
  const { refusal, onAgain } = props;
  const { again } = refusal;
  return (
    <div class="refusal" role="alert">
      <p>{refusal.sentence}</p>
      <p class="buttons">
        {again !== undefined && onAgain !== undefined && (
          <button type="button" class="again" onClick={() => onAgain(again)}>
            {insistLabel(again)}
          </button>
        )}
        <button type="button" onClick={() => props.onDismiss(refusal)}>
          leave it
        </button>
      </p>
    </div>
  );
}

/** What a plate does; which station has what is missing stands in the run-in. */
function plateState(plate: Plate): string {
  switch (plate.state) {
    case "standing":
      return plate.since_ms === undefined ? "stands" : `stands since ${clockText(plate.since_ms)}`;
    case "gone":
      return "gone";
    case "blocked":
      return "blocked";
    case "cooking":
      return plate.missing === undefined ? "cooking" : `waits for ${plate.missing.replaceAll(/ \([^)]*\)/g, "")}`;
    default:
      return plate.state satisfies never;
  }
}

function Plates(props: { course: Course; but: number[]; onToggle(position: number): void }) {
  const { course, but } = props;
  const choose = course.state === "fired" || course.state === "gone" || course.state === "held";
  const stays = course.state === "gone" ? "stays gone" : "stays";
  return (
    <ul class="plates" aria-label="Plates by position">
      {Object.entries(course.plates)
        .sort(([a], [b]) => Number(a) - Number(b))
        .map(([position, plate]) => {
          const kept = but.includes(Number(position));
          const inside = (
            <>
              <b class="number">{position}</b>
              <span class="about">
                <span class="dish">
                  {brief(plate.name)}
                  {plate.change !== undefined && <span class="change">, {plate.change}</span>}
                </span>
                {plate.words !== undefined && <b class="caps">{plate.words}</b>}
                {plate.blocked !== undefined && <b>{list(Object.values(plate.blocked))}</b>}
                <span class="soft">
                  {[plateState(plate), ...Object.values(plate.borrowed ?? {}), ...Object.values(plate.lent ?? {})].join(
                    ", ",
                  )}
                </span>
              </span>
              {kept && <b class="stays">{stays}</b>}
            </>
          );
          return (
            <li key={position} class={plate.state}>
              {choose ? (
                <button type="button" aria-pressed={kept} onClick={() => props.onToggle(Number(position))}>
                  {inside}
                </button>
              ) : (
                <span class="plate">{inside}</span>
              )}
            </li>
          );
        })}
    </ul>
  );
}

/** The line under the name: when it meets, or could, or went. */
export function courseTime(course: Course, now_ms: number): string {
  switch (course.state) {
    case "waiting":
      return course.could_ms === undefined ? "waits" : `could meet ${clockText(course.could_ms)}`;
    case "gone":
      return [
        course.gone_ms === undefined ? "gone" : `gone ${clockText(course.gone_ms)}`,
        course.spread_ms === undefined ? undefined : `spread ${Math.round(course.spread_ms / 1000)} s`,
      ]
        .filter((part) => part !== undefined)
        .join(", ");
    case "fired":
    case "held": {
      const meet = course.meet_ms ?? course.expected_ms;
      const drift = course.drift_ms ?? 0;
      return [
        course.state === "held" ? "held" : undefined,
        meet === undefined ? undefined : `meets ${clockText(meet)}, ${awayText(meet, now_ms)}`,
        drift >= 30_000 ? `expected ${minutesText(drift)} late` : undefined,
        course.word_ms === undefined ? undefined : wordText(course.word_ms, now_ms),
      ]
        .filter((part) => part !== undefined)
        .join(", ");
    }
    default:
      return course.state satisfies never;
  }
}

function verbLabel(verb: Verb, course: Course, but: number[], minutes: number): string {
  if (verb === "gone" && but.length > 0) return `gone, all but ${list(but)}`;
  if (verb === "bring_back" && but.length > 0) return `bring back, all but ${list(but)}`;
  if (verb === "fire" && minutes > 0 && course.could_ms !== undefined) {
    return `fire for ${clockText(course.could_ms + minutes * 60_000)}`;
  }
  return labels[verb];
}

export function Hand(props: {
  table: Table;
  course_id: string;
  course: Course;
  now_ms: number;
  but: number[];
  minutes: number;
  asked: string | undefined;
  refusals: Refusal[];
  lend: Keyed<Lender>;
  by: string;
  said_back: string | undefined;
  onAsk(asked: Action): void;
  onBy(name: string): void;
  onVerb(verb: Verb): void;
  onToggle(position: number): void;
  onCourse(course_id: string): void;
  onAgain(again: Action): void;
  onDismiss(refusal: Refusal): void;
  onClose(): void;
}) {
  const { table, course, course_id, now_ms, but, minutes } = props;
  const courses = Object.entries(table.courses).sort(([, a], [, b]) => a.order - b.order);
  const [telling, setTelling] = useState(false);
  const alone = but.length === 1 ? but[0] : undefined;
  const plate = alone === undefined ? undefined : course.plates[alone];
  const again = plate !== undefined && course.state !== "waiting";
  const words = tableWords(table);
  const away = table.walk_ms >= 30_000 ? `${table.room}, ${Math.round(table.walk_ms / 1000)} s walk` : table.room;
  return (
    <section class="hand" aria-label={`Table ${table.table}, ${course.name}`}>
      <header>
        <h2>
          <b class="number">{table.table}</b> {course.name} {course.covers}
        </h2>
        {courses.length > 1 && (
          <nav class="courses" aria-label="Courses">
            {courses.map(([id, other]) => (
              <button key={id} type="button" aria-pressed={id === course_id} onClick={() => props.onCourse(id)}>
                {other.name} <span class="soft">{other.state}</span>
              </button>
            ))}
          </nav>
        )}
        <a class="tell" href={`#/table/${table.ticket}`}>
          table
        </a>
        <button type="button" class="tell" onClick={() => setTelling(true)}>
          story
        </button>
        <button type="button" class="close" onClick={props.onClose} aria-label="close">
          ×
        </button>
      </header>
      <p class={again ? "soft unseen" : "soft"}>
        {courseTime(course, now_ms)}. {away}
        {table.note !== undefined && `, ${table.note}`}
        {words.length > 0 && <b>. {list(words)}</b>}
      </p>
      {!again && <Carried course={course} now_ms={now_ms} />}
      <Plates course={course} but={but} onToggle={props.onToggle} />
      <div class="act">
        {props.refusals.map((refusal) => (
          <RefusalView key={refusal.at_steady} refusal={refusal} onAgain={props.onAgain} onDismiss={props.onDismiss} />
        ))}
        {props.asked !== undefined && (
          <p class="soft" role="status">
            {props.asked}
          </p>
        )}
        {props.asked === undefined && props.said_back !== undefined && <p role="status">{props.said_back}</p>}
        {again && alone !== undefined && (
          <PlateTrouble
            key={`${course_id}-${alone}`}
            table={table}
            course_id={course_id}
            plate={plate}
            position={alone}
            lend={props.lend}
            now_ms={now_ms}
            by={props.by}
            onAsk={props.onAsk}
            onBy={props.onBy}
          />
        )}
        <div class="verbs">
          {(again ? offered(course).slice(0, 1) : offered(course)).map((verb, i) => (
            <button
              key={verb}
              type="button"
              class={i === 0 ? "first" : ""}
              disabled={verb === "earlier" && course.state === "waiting" && minutes <= 0}
              onClick={() => props.onVerb(verb)}
            >
              {(verb === "earlier" || verb === "later") && <span class="unseen">meet </span>}
              {verbLabel(verb, course, but, minutes)}
            </button>
          ))}
        </div>
        {!again && course.state !== "gone" && <TableTrouble table={table} onAsk={props.onAsk} />}
      </div>
      {telling && <StoryView table={table.table} ticket={table.ticket} onClose={() => setTelling(false)} />}
    </section>
  );
}
