// Courses the kitchen does not make yet, with when they could meet; and what went last, to be brought back.

import { courseKey } from "../layout.ts";
import type { Course, PassDocument, Table } from "../wire.ts";
import { clockText } from "../words.ts";

interface Entry {
  key: string;
  table: Table;
  course: Course;
}

const gone_shown = 3;

/** Each table's next course, if all before it have gone: the soonest it could meet first. */
export function waitingCourses(doc: PassDocument): Entry[] {
  const found: Entry[] = [];
  for (const table of Object.values(doc.tables)) {
    const courses = Object.entries(table.courses).sort(([, a], [, b]) => a.order - b.order);
    const next = courses.find(([, course]) => course.state !== "gone");
    if (next?.[1].state === "waiting") found.push({ key: courseKey(table.ticket, next[0]), table, course: next[1] });
  }
  return found.sort((a, b) => (a.course.could_ms ?? 0) - (b.course.could_ms ?? 0) || a.table.ticket - b.table.ticket);
}

/** The last course of each table that left, the newest first: what could still be brought back. */
export function lastGone(doc: PassDocument): Entry[] {
  const found: Entry[] = [];
  for (const table of Object.values(doc.tables)) {
    const gone = Object.entries(table.courses)
      .filter(([, course]) => course.state === "gone")
      .sort(([, a], [, b]) => (b.gone_ms ?? 0) - (a.gone_ms ?? 0) || b.order - a.order)[0];
    if (gone !== undefined) found.push({ key: courseKey(table.ticket, gone[0]), table, course: gone[1] });
  }
  return found.sort((a, b) => (b.course.gone_ms ?? 0) - (a.course.gone_ms ?? 0)).slice(0, gone_shown);
}

function Chips(props: {
  title: string;
  entries: Entry[];
  selected: string | undefined;
  asked: Map<string, string>;
  time(course: Course): string;
  onSelect(key: string): void;
}) {
  if (props.entries.length === 0) return null;
  return (
    <div class="chips">
      <h2>{props.title}</h2>
      <ul>
        {props.entries.map(({ key, table, course }) => (
          <li key={key}>
            <button
              type="button"
              data-key={key}
              aria-expanded={key === props.selected}
              class={key === props.selected ? "selected" : ""}
              onClick={() => props.onSelect(key)}
            >
              <b class="number">{table.table}</b>
              <span class="about">
                <span>
                  {course.name} {course.covers}
                </span>
                <span class="soft">{props.asked.get(key) ?? props.time(course)}</span>
              </span>
            </button>
          </li>
        ))}
      </ul>
    </div>
  );
}

export function Waiting(props: {
  doc: PassDocument;
  selected: string | undefined;
  asked: Map<string, string>;
  onSelect(key: string): void;
}) {
  const { doc, selected, asked, onSelect } = props;
  const waiting = waitingCourses(doc);
  const gone = lastGone(doc);
  if (waiting.length === 0 && gone.length === 0) return null;
  return (
    <section class="waiting" aria-label="Courses that wait, and what went last">
      <Chips
        title="could meet"
        entries={waiting}
        selected={selected}
        asked={asked}
        time={(course) => (course.could_ms === undefined ? "waits" : clockText(course.could_ms))}
        onSelect={onSelect}
      />
      <Chips
        title="gone"
        entries={gone}
        selected={selected}
        asked={asked}
        time={(course) => (course.gone_ms === undefined ? "gone" : clockText(course.gone_ms))}
        onSelect={onSelect}
      />
    </section>
  );
}
