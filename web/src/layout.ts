// From the pass document to a drawing of the run-in: pure geometry. A row is one course in the kitchen; its threads end in
// one knot at the pass. A row is aligned by its meet, so what is drawn stands still and only `now` moves, like a tide,
// towards the pass. Rows are as open as the height allows: quiet threads are thin strands, the others have their names.

import { makeScale, type Scale } from "./scale.ts";
import type { Course, Keyed, PassDocument, Table, Thread } from "./wire.ts";

export interface Size {
  width: number;
  height: number;
  /** One rem in pixels: everything grows with it. */
  unit: number;
}

/** 0: only the pull has its name. 1: also what a chef should notice. 2: every thread. */
export type Openness = 0 | 1 | 2;

export interface Mark {
  kind: "rest-from" | "rest-to" | "keep-to" | "start";
  x: number;
}

export interface Lane {
  key: string;
  thread: Thread;
  y: number;
  tall: boolean;
  pull: boolean;
  begun: boolean;
  /** The thread from its start to its end, or into the knot. `solid` is drawn behind the tide, `path` ahead of it. */
  path: string;
  solid: string;
  /** From its end to the knot: food that stands and waits. Empty when it ends there. */
  tie: string;
  style: "ahead" | "wave" | "dotted" | "dashed";
  /** Where its name ends. */
  label_x: number;
  marks: Mark[];
  /** It ends after the promised meet. */
  late: boolean;
  /** Its keep or its rest ends before the table meets. */
  dies_ms: number | undefined;
}

export interface Row {
  key: string;
  ticket: number;
  course_id: string;
  table: Table;
  course: Course;
  meet_ms: number;
  expected_ms: number;
  /** The instant that is drawn at the pass: the promise, or later when the table is later than fits right of the pass. */
  origin_ms: number;
  openness: Openness;
  height: number;
  knot: { x: number; y: number; promised_x: number; late: boolean };
  /** The bend between the promised knot and the expected one; empty when on time. */
  slack: string;
  lanes: Lane[];
}

export interface Drawing {
  scale: Scale;
  rows: Row[];
  /** Sum of the rows' heights; more than the size's height when the rows have to scroll. */
  height: number;
  unit: number;
}

/** Drift below this is no drift: a promise is kept to the half minute. */
export const drift_seen_ms = 30_000;

export function courseKey(ticket: number, course: string): string {
  return `${ticket}-${course}`;
}

/** The course has a place in the run-in: it is asked for, or something of it was begun before anybody asked. */
export function runs(course: Course): boolean {
  const begun_early = course.state === "waiting" && Object.keys(course.threads).length > 0;
  return course.state === "fired" || course.state === "held" || begun_early;
}

/** The promised meet; without a promise when it could be. */
export function meetOf(course: Course): number {
  return course.meet_ms ?? course.expected_ms ?? course.could_ms ?? 0;
}

export function begun(thread: Thread): boolean {
  return thread.state !== "waiting";
}

/** What a chef should see without asking: the pull, a cue still to come, an allergy, a step too long, food that dies. */
function notable(key: string, thread: Thread, course: Course): boolean {
  return (
    key === course.pull ||
    thread.cue_open === true ||
    thread.words !== undefined ||
    thread.over === "most" ||
    diesAt(thread, course) !== undefined
  );
}

/** When the food is past its rest or its keep, if that is before the table is expected. */
export function diesAt(thread: Thread, course: Course): number | undefined {
  const expected = course.expected_ms ?? meetOf(course);
  if (thread.until_ms !== undefined && thread.until_ms < expected) return thread.until_ms;
  if (thread.state === "resting" && thread.rest !== undefined && thread.rest.max_ms < thread.to_ms) {
    return thread.rest.max_ms;
  }
  return undefined;
}

/** Longest first; the same start by name, so that the order never depends on the document's. */
export function ordered(threads: Keyed<Thread>): [string, Thread][] {
  return Object.entries(threads).sort(([ka, a], [kb, b]) => a.from_ms - b.from_ms || (ka < kb ? -1 : 1));
}

/** So many capitals fit beside a table's number. */
const words_line = 13;

interface Candidate {
  key: string;
  table: Table;
  course_id: string;
  course: Course;
}

interface Measures {
  lane: number;
  thin: number;
  pad: number;
  /** A finger's width. */
  row_min: number;
  /** A line of words beside the table's number. */
  words: number;
}

function measures(unit: number): Measures {
  return {
    lane: unit * 1.0625,
    thin: unit * 0.28,
    pad: unit * 0.3,
    row_min: Math.max(44, unit * 2.75),
    words: unit * 0.9625,
  };
}

function tall(key: string, thread: Thread, course: Course, openness: Openness): boolean {
  if (openness === 2) return true;
  if (openness === 1) return notable(key, thread, course);
  return key === course.pull;
}

function rowHeight({ course, table }: Candidate, openness: Openness, m: Measures): number {
  const threads = Object.entries(course.threads);
  const named = threads.filter(([key, thread]) => tall(key, thread, course, openness)).length;
  const height = 2 * m.pad + named * m.lane + (threads.length - named) * m.thin;
  const words = Object.entries(table.allergies ?? {}).map(([position, what]) => `${position} ${what}`);
  const lines = words.length === 0 ? 0 : Math.ceil(words.join("  ").length / words_line);
  return Math.ceil(Math.max(m.row_min, (2 + lines) * m.words + m.pad, height));
}

/** The courses of the run-in, next to meet first. */
export function candidates(doc: PassDocument): Candidate[] {
  const found: Candidate[] = [];
  for (const table of Object.values(doc.tables)) {
    for (const [course_id, course] of Object.entries(table.courses)) {
      if (runs(course)) found.push({ key: courseKey(table.ticket, course_id), table, course_id, course });
    }
  }
  return found.sort(
    (a, b) => meetOf(a.course) - meetOf(b.course) || a.table.ticket - b.table.ticket || (a.key < b.key ? -1 : 1),
  );
}

/**
 * How open each row is. First what is to be noticed, then everything, the next to meet first, while the height lasts. The
 * selected row opens whole; what it takes is given back by the rows below it, so that what the hand is on stays put.
 */
export function openRows(rows: Candidate[], size: Size, selected: string | undefined): Openness[] {
  const m = measures(size.unit);
  const open: Openness[] = rows.map(() => 0);
  let total = rows.reduce((sum, row) => sum + rowHeight(row, 0, m), 0);
  const grow = (i: number, to: Openness): void => {
    const row = rows[i];
    if (row === undefined) return;
    const more = rowHeight(row, to, m) - rowHeight(row, open[i] ?? 0, m);
    if (total + more > size.height) return;
    open[i] = to;
    total += more;
  };
  for (const to of [1, 2] as const) for (let i = 0; i < rows.length; ++i) grow(i, to);

  const at = rows.findIndex((row) => row.key === selected);
  const chosen = rows[at];
  if (chosen !== undefined && open[at] !== 2) {
    total += rowHeight(chosen, 2, m) - rowHeight(chosen, open[at] ?? 0, m);
    open[at] = 2;
    for (const to of [1, 0] as const) {
      for (let i = rows.length - 1; i > at && total > size.height; --i) {
        const row = rows[i];
        const is = open[i] ?? 0;
        if (row === undefined || is <= to) continue;
        total -= rowHeight(row, is, m) - rowHeight(row, to, m);
        open[i] = to;
      }
    }
  }
  return open;
}

const round = (value: number) => Math.round(value * 10) / 10;

/** A sine from x0 to x1: the smear of a cue that has not come. Whole half waves, so that it ends on the line. */
export function wave(x0: number, x1: number, y: number, half: number, amplitude: number): string {
  const length = x1 - x0;
  if (length < half) return `L${round(x1)} ${round(y)}`;
  const count = Math.max(2, 2 * Math.round(length / half / 2));
  const step = length / count;
  let path = "";
  for (let i = 0; i < count; ++i) {
    const up = i % 2 === 0 ? -1 : 1;
    const from = x0 + i * step;
    path += `Q${round(from + step / 2)} ${round(y + up * amplitude * 2)} ${round(from + step)} ${round(y)}`;
  }
  return path;
}

function laneStyle(thread: Thread): Lane["style"] {
  if (!begun(thread)) return thread.can_wait === true ? "dotted" : "dashed";
  return thread.cue_open === true ? "wave" : "ahead";
}

function laneMarks(thread: Thread, x: (at: number) => number, scale: Scale): Mark[] {
  const marks: Mark[] = [];
  const add = (kind: Mark["kind"], at: number | undefined) => {
    if (at === undefined) return;
    const where = x(at);
    if (where > scale.left && where < scale.right) marks.push({ kind, x: round(where) });
  };
  add("rest-from", thread.rest?.min_ms);
  add("rest-to", thread.rest?.max_ms);
  add("keep-to", thread.until_ms);
  add("start", thread.from_ms);
  return marks;
}

function drawLane(
  key: string,
  thread: Thread,
  row: { course: Course; meet_ms: number; origin_ms: number; knot: Row["knot"]; y: number; tall: boolean },
  scale: Scale,
  unit: number,
): Lane {
  const { course, knot, y } = row;
  const x = (at: number) => scale.x(row.origin_ms - at);
  const late = thread.to_ms >= row.meet_ms + drift_seen_ms;
  const target = late ? knot.x : knot.promised_x;
  const reach = unit * 1.6;
  const from = Math.min(x(thread.from_ms), target);
  const to = Math.min(x(thread.to_ms), target);
  const style = laneStyle(thread);
  const straight = Math.max(from, target - reach);
  const ends_early = to < straight;
  const end = ends_early ? to : straight;
  const curve = (at: number) => {
    const mid = round((at + target) / 2);
    return `C${mid} ${round(y)} ${mid} ${round(knot.y)} ${round(target)} ${round(knot.y)}`;
  };
  const start = `M${round(from)} ${round(y)}`;
  const line = `L${round(end)} ${round(y)}`;
  const along = style === "wave" ? wave(from, end, y, unit * 0.4, unit * 0.17) : line;
  const into = ends_early ? "" : curve(end);
  return {
    key,
    thread,
    y,
    tall: row.tall,
    pull: key === course.pull,
    begun: begun(thread),
    path: start + along + into,
    solid: start + line + into,
    tie: ends_early ? `M${round(to)} ${round(y)}L${round(straight)} ${round(y)}${curve(straight)}` : "",
    style,
    label_x: round(from - unit * 0.5),
    marks: row.tall ? laneMarks(thread, x, scale) : [],
    late,
    dies_ms: diesAt(thread, course),
  };
}

function drawRow(
  candidate: Candidate,
  openness: Openness,
  height: number,
  m: Measures,
  scale: Scale,
  unit: number,
): Row {
  const { course, table } = candidate;
  const meet_ms = meetOf(course);
  const expected_ms = course.expected_ms ?? meet_ms;
  const late = expected_ms - meet_ms >= drift_seen_ms;
  const origin_ms = late ? Math.max(meet_ms, expected_ms - scale.late_ms) : meet_ms;
  const threads = ordered(course.threads);

  const heights = threads.map(([key, thread]) => (tall(key, thread, course, openness) ? m.lane : m.thin));
  let y = (height - heights.reduce((a, b) => a + b, 0)) / 2;
  const middles = heights.map((h) => {
    y += h;
    return y - h / 2;
  });
  const at = threads.findIndex(([key]) => key === course.pull);
  const knot = {
    x: round(late ? scale.x(origin_ms - expected_ms) : scale.pass),
    y: round(middles[at] ?? height / 2),
    promised_x: round(scale.x(origin_ms - meet_ms)),
    late,
  };
  const lanes = threads.map(([key, thread], i) =>
    drawLane(
      key,
      thread,
      { course, meet_ms, origin_ms, knot, y: middles[i] ?? 0, tall: heights[i] === m.lane },
      scale,
      unit,
    ),
  );
  const sag = round(knot.y + Math.min(m.lane, height - knot.y - 3));
  const slack = late
    ? `M${knot.promised_x} ${knot.y}Q${round((knot.promised_x + knot.x) / 2)} ${sag} ${knot.x} ${knot.y}`
    : "";
  return {
    key: candidate.key,
    ticket: table.ticket,
    course_id: candidate.course_id,
    table,
    course,
    meet_ms,
    expected_ms,
    origin_ms,
    openness,
    height,
    knot,
    slack,
    lanes,
  };
}

/** Where the columns of the run-in stand, in pixels from its left edge. */
export function columns(size: Size): { gutter: number; left: number; pass: number; right: number } {
  const { unit, width } = size;
  const gutter = Math.round(unit * 10);
  const label = unit * 7.5;
  const time = unit * 6;
  const late = unit * 4;
  return { gutter, left: gutter + label, pass: Math.round(width - time - late), right: width - time - unit * 0.5 };
}

/** The drawing of the run-in at this size. Does not depend on the time. */
export function layOut(doc: PassDocument, size: Size, selected: string | undefined): Drawing {
  const { gutter, left, pass, right } = columns(size);
  const scale = makeScale(left - gutter, pass - gutter, right - gutter);
  const m = measures(size.unit);
  const rows = candidates(doc);
  const open = openRows(rows, size, selected);
  const base = rows.map((row, i) => rowHeight(row, open[i] ?? 0, m));
  const total = base.reduce((a, b) => a + b, 0);
  // What is left over loosens the lanes, up to half as much again: a big screen sees the same, larger.
  const loose = total > 0 ? Math.min(1.5, Math.max(1, size.height / total)) : 1;
  const loosened = { ...m, lane: m.lane * loose, thin: m.thin * loose };
  let height = 0;
  const drawn = rows.map((row, i) => {
    const row_height = Math.floor((base[i] ?? 0) * loose);
    height += row_height;
    return drawRow(row, open[i] ?? 0, row_height, loosened, scale, size.unit);
  });
  return { scale, rows: drawn, height, unit: size.unit };
}
