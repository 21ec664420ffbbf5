// One course in the run-in: its words, its threads, its knot.

import { Component } from "preact";
import { useLayoutEffect, useRef } from "preact/hooks";
import type { Lane, Row } from "../layout.ts";
import { drift_seen_ms } from "../layout.ts";
import type { Scale } from "../scale.ts";
import type { Tide } from "../tide.ts";
import type { Course, Standing } from "../wire.ts";
import { brief, clockText, minutesText } from "../words.ts";

/** What letting go now would ask; `from` and `to` where the finger has been, on the axis. */
export interface Preview {
  kind: "meet" | "gone" | "stroke";
  minutes: number;
  from: number;
  to: number;
}

interface Props {
  row: Row;
  scale: Scale;
  tide: Tide;
  unit: number;
  selected: boolean;
  accent: boolean;
  /** Words that change with the minute. */
  word: string | undefined;
  away: string;
  up: Standing | undefined;
  asked: string | undefined;
  preview: Preview | undefined;
}

/** Right to left: what does not fit beside the name is left away (allergies stand beside the table's number as well). */
function LaneLabel({ lane }: { lane: Lane }) {
  const { thread } = lane;
  return (
    <span
      class={`label ${lane.pull ? "pull" : ""}`}
      style={{ top: `${lane.y}px`, width: `${Math.max(0, lane.label_x)}px` }}
    >
      <span class="name">
        {thread.n} <span class="what">{brief(thread.what)}</span> {thread.letter}
      </span>
      {thread.over === "most" && <b>long</b>}
      {lane.dies_ms !== undefined && <b>till {clockText(lane.dies_ms)}</b>}
      {lane.pull && <span class="at">{thread.station}</span>}
      {thread.words !== undefined && <b class="caps">{thread.words}</b>}
    </span>
  );
}

function MarkShape({ lane, mark, h }: { lane: Lane; mark: Lane["marks"][number]; h: number }) {
  const { x } = mark;
  const top = lane.y - h;
  const low = lane.y + h;
  const lip = h * 0.55;
  switch (mark.kind) {
    case "rest-from":
      return <path class="bracket" d={`M${x + lip} ${top}H${x}V${low}H${x + lip}`} />;
    case "rest-to":
      return <path class="bracket" d={`M${x - lip} ${top}H${x}V${low}H${x - lip}`} />;
    case "keep-to":
      return <path class="bracket" d={`M${x - lip} ${top}Q${x + lip * 0.6} ${lane.y} ${x - lip} ${low}`} />;
    case "start":
      return lane.begun ? (
        <path class="bracket" d={`M${x} ${top * 0.4 + lane.y * 0.6}V${low * 0.4 + lane.y * 0.6}`} />
      ) : (
        <circle class="open-start" cx={x} cy={lane.y} r={h * 0.42} />
      );
    default:
      return mark.kind satisfies never;
  }
}

function strand(lane: Lane): string {
  return `${lane.pull ? "pull" : ""} ${lane.tall ? "tall" : "thin"}`;
}

function Threads({ row, scale, tide, unit }: { row: Row; scale: Scale; tide: Tide; unit: number }) {
  const svg = useRef<SVGSVGElement>(null);
  const id = row.key.replaceAll(/[^\w-]/g, "_");
  useLayoutEffect(() => {
    const root = svg.current;
    const front = root?.querySelector<SVGLineElement>(".front");
    if (!root || !front) return;
    tide.put(row.key, {
      meet_ms: row.origin_ms,
      scale,
      behind: [...root.querySelectorAll<SVGRectElement>(".behind")],
      ahead: [...root.querySelectorAll<SVGRectElement>(".ahead")],
      front,
    });
  });
  useLayoutEffect(() => () => tide.drop(row.key), []);

  const begun = row.lanes.filter((lane) => lane.begun);
  const { knot, height } = row;
  const width = scale.right + unit * 0.5;
  const r = unit * 0.44;
  return (
    <svg ref={svg} class="threads" width={width} height={height} aria-hidden="true" focusable="false">
      <defs>
        <clipPath id={`behind-${id}`}>
          <rect class="behind" x="0" y="0" width="0" height={height} />
        </clipPath>
        <clipPath id={`ahead-${id}`}>
          <rect class="ahead" x="0" y="0" width="4096" height={height} />
        </clipPath>
      </defs>
      <rect class="tide behind" x="0" y="0" width="0" height={height} />
      <line class="pass" x1={scale.pass} x2={scale.pass} y1="0" y2={height} />
      <line class="front" x1="0" x2="0" y1="0" y2={height} />
      {row.lanes.map(
        (lane) => lane.tie && <path key={lane.key} class={lane.begun ? "tie" : "tie coming"} d={lane.tie} />,
      )}
      {row.lanes
        .filter((lane) => !lane.begun)
        .map((lane) => (
          <path key={lane.key} class={`thread ${lane.style} ${strand(lane)}`} d={lane.path} />
        ))}
      <g clip-path={`url(#ahead-${id})`}>
        {begun.map((lane) => (
          <path key={lane.key} class={`thread ${lane.style} ${strand(lane)}`} d={lane.path} />
        ))}
      </g>
      <g clip-path={`url(#behind-${id})`}>
        {begun.map((lane) => (
          <path key={lane.key} class={`thread spent ${strand(lane)}`} d={lane.solid} />
        ))}
      </g>
      {row.lanes.map((lane) =>
        lane.marks.map((mark) => <MarkShape key={lane.key + mark.kind} lane={lane} mark={mark} h={unit * 0.4} />),
      )}
      {row.slack && <path class="slack" d={row.slack} />}
      {(knot.late || row.course.state !== "fired") && <circle class="promise" cx={knot.promised_x} cy={knot.y} r={r} />}
      {row.course.state === "held" ? (
        <path
          class="held-bars"
          d={`M${knot.x - r * 0.4} ${knot.y - r}V${knot.y + r}M${knot.x + r * 0.4} ${knot.y - r}V${knot.y + r}`}
        />
      ) : (
        row.course.state === "fired" && <circle class="knot" cx={knot.x} cy={knot.y} r={r} />
      )}
    </svg>
  );
}

/** What a meet asked for costs: what is thrown later, or that it is sooner than anything can be. */
export function costOf(course: Course, asked_ms: number): string | undefined {
  if (course.latest_ms !== undefined && asked_ms > course.latest_ms)
    return `loses ${course.latest_what ?? "what is begun"}`;
  if (course.expected_ms !== undefined && course.meet_ms !== undefined && asked_ms < course.meet_ms)
    if (asked_ms < course.expected_ms - 30_000) return "sooner than it can be";
  return undefined;
}

function TimeBox({ row, away, accent, preview, up }: Pick<Props, "row" | "away" | "accent" | "preview" | "up">) {
  const drift = row.expected_ms - row.meet_ms;
  const all_up = up !== undefined && up.up >= up.of;
  if (preview !== undefined && preview.kind !== "stroke") {
    const asked = row.meet_ms + preview.minutes * 60_000;
    return (
      <span class="time preview">
        <b>{preview.kind === "gone" ? "gone" : clockText(asked)}</b>
        <span>
          {preview.kind === "gone"
            ? "let go"
            : [`${preview.minutes >= 0 ? "+" : "−"}${Math.abs(preview.minutes)} min`, costOf(row.course, asked)]
                .filter((part) => part !== undefined)
                .join(", ")}
        </span>
      </span>
    );
  }
  let note = away;
  if (row.course.state === "held") note = "held";
  else if (row.course.state === "waiting") note = "could meet";
  else if (all_up) note = "all up";
  else if (drift >= drift_seen_ms) note = `+${minutesText(drift)}`;
  return (
    <span class={`time ${accent ? "accent" : ""} ${drift >= drift_seen_ms ? "drifts" : ""}`}>
      <b>
        {accent && <span aria-hidden="true">▲</span>}
        <span class="unseen">meets </span>
        {clockText(row.meet_ms)}
      </b>
      <span>{note}</span>
      <span class="unseen">{heard(row)}</span>
    </span>
  );
}

/** For who hears the row: what the drawing says about it. */
function heard(row: Row): string {
  const pull = row.course.pull === undefined ? undefined : row.course.threads[row.course.pull];
  const drift = row.expected_ms - row.meet_ms;
  const words = [
    drift >= drift_seen_ms ? `, expected ${minutesText(drift)} late` : "",
    pull === undefined ? "" : `, waits for ${pull.what} at ${pull.station}`,
  ];
  return words.join("");
}

function RowBody(props: Props) {
  const { row, scale, tide, unit, selected, accent, word, away, up, asked, preview } = props;
  const { table, course } = row;
  const allergies = Object.entries(table.allergies ?? {});
  return (
    <button
      type="button"
      class={`row ${course.state} ${selected ? "selected" : ""}`}
      aria-expanded={selected}
      data-key={row.key}
      style={{ height: `${row.height}px` }}
    >
      <span class="gutter">
        <b class="number">
          <span class="unseen">Table </span>
          {table.table}
        </b>
        <span class="about">
          <span>
            {course.name} {course.covers}
            <span class="unseen"> {course.covers === 1 ? "cover" : "covers"}</span>
            {up !== undefined && up.up < up.of && `, ${up.up} up`}
          </span>
          <span class="soft">{asked ?? word ?? ""}</span>
          {allergies.length > 0 && (
            <b class="caps">{allergies.map(([position, what]) => `${position} ${what}`).join("  ")}</b>
          )}
        </span>
      </span>
      <span class="axis" aria-hidden="true">
        <Threads row={row} scale={scale} tide={tide} unit={unit} />
        {row.lanes.map((lane) => lane.tall && <LaneLabel key={lane.key} lane={lane} />)}
        {preview !== undefined && preview.to !== preview.from && (
          <span
            class={`drawn ${preview.kind}`}
            style={{
              top: `${row.knot.y}px`,
              left: `${Math.min(preview.from, preview.to)}px`,
              width: `${Math.abs(preview.to - preview.from)}px`,
            }}
          />
        )}
      </span>
      <TimeBox row={row} away={away} accent={accent} preview={preview} up={up} />
    </button>
  );
}

/** A row is drawn again only when something in it changed. */
export class RowView extends Component<Props> {
  override shouldComponentUpdate(next: Props): boolean {
    const names = Object.keys(next) as (keyof Props)[];
    return names.some((name) => next[name] !== this.props[name]);
  }
  override render() {
    return <RowBody {...this.props} />;
  }
}
