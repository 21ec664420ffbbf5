// The run-in: every table of the kitchen on one time axis, and the gestures of the hand on it. A knot drawn sideways
// moves the meet; a stroke across the pass line says gone; a touch opens the table.

import { useRef, useState } from "preact/hooks";
import { type Drawing, meetOf, type Row } from "../layout.ts";
import { marks } from "../scale.ts";
import type { Refusal } from "../store.ts";
import type { Tide } from "../tide.ts";
import type { Action, PassDocument } from "../wire.ts";
import { awayText, wordText } from "../words.ts";
import { RefusalView } from "./hand.tsx";
import { type Preview, RowView } from "./row.tsx";

interface Props {
  drawing: Drawing;
  doc: PassDocument;
  tide: Tide;
  gutter: number;
  now_ms: number;
  selected: string | undefined;
  accent: string | undefined;
  asked: Map<string, string>;
  /** Minutes collected by keys and buttons, not sent yet. */
  nudged: { key: string; minutes: number } | undefined;
  /** Refusals of tables that are not open: said in their row. */
  refusals: Refusal[];
  onAgain(again: Action): void;
  onDismiss(refusal: Refusal): void;
  onSelect(key: string): void;
  onMove(row: Row, minutes: number): void;
  onGone(row: Row): void;
}

interface Drag {
  row: Row;
  kind: "meet" | "stroke" | undefined;
  from_x: number;
  from_y: number;
  x: number;
  pointer: number;
}

/** How far a finger goes for one minute, in rem. */
const minute_rem = 1.5;

export function RunIn(props: Props) {
  const { drawing, doc, tide, gutter, now_ms, selected, accent, asked, nudged } = props;
  const [drag, setDrag] = useState<Drag | undefined>();
  const swallow = useRef(false);
  const list = useRef<HTMLDivElement>(null);
  const unit = drawing.unit;

  const place = (event: PointerEvent) => event.clientX - (list.current?.getBoundingClientRect().left ?? 0) - gutter;

  const preview = (row: Row): Preview | undefined => {
    if (drag?.kind !== undefined && drag.row.key === row.key) {
      const minutes = drag.kind === "meet" ? Math.round((drag.x - drag.from_x) / (unit * minute_rem)) : 0;
      const past = drag.x > row.knot.promised_x + unit;
      return { kind: drag.kind === "meet" ? "meet" : past ? "gone" : "stroke", minutes, from: drag.from_x, to: drag.x };
    }
    return nudged?.key === row.key ? { kind: "meet", minutes: nudged.minutes, from: 0, to: 0 } : undefined;
  };

  const down = (event: PointerEvent) => {
    const element = (event.target as Element).closest<HTMLElement>("[data-key]");
    const row = drawing.rows.find((other) => other.key === element?.dataset["key"]);
    if (row === undefined || event.button !== 0) return;
    swallow.current = false;
    const x = place(event);
    setDrag({ row, kind: undefined, from_x: x, from_y: event.clientY, x, pointer: event.pointerId });
  };

  const move = (event: PointerEvent) => {
    if (drag === undefined || drag.pointer !== event.pointerId) return;
    const x = place(event);
    const across = Math.abs(x - drag.from_x);
    let kind = drag.kind;
    if (kind === undefined && across > 8 && across > Math.abs(event.clientY - drag.from_y)) {
      const { knot } = drag.row;
      const near = (at: number) => Math.abs(drag.from_x - at) <= 26;
      kind = near(knot.x) || near(knot.promised_x) || drag.from_x > knot.promised_x ? "meet" : "stroke";
      (event.currentTarget as Element).setPointerCapture(event.pointerId);
    }
    if (kind !== undefined) setDrag({ ...drag, kind, x });
  };

  const up = (event: PointerEvent) => {
    if (drag === undefined || drag.pointer !== event.pointerId) return;
    const shown = preview(drag.row);
    swallow.current = drag.kind !== undefined;
    setDrag(undefined);
    if (drag.kind === "meet" && shown !== undefined && shown.minutes !== 0) props.onMove(drag.row, shown.minutes);
    if (drag.kind === "stroke" && shown?.kind === "gone") props.onGone(drag.row);
  };

  const click = (event: MouseEvent) => {
    if (swallow.current) {
      swallow.current = false;
      return;
    }
    const key = (event.target as Element).closest<HTMLElement>("[data-key]")?.dataset["key"];
    if (key !== undefined) props.onSelect(key);
  };

  return (
    <section class="runin" aria-label="Run-in: tables on their way to the pass">
      <div class="scale" aria-hidden="true">
        {marks.map((minutes) => (
          <span key={minutes} style={{ left: `${gutter + drawing.scale.x(minutes * 60_000)}px` }}>
            {minutes === 20 ? "20 min" : minutes}
          </span>
        ))}
        <b style={{ left: `${gutter + drawing.scale.pass}px` }}>PASS</b>
      </div>
      {/* biome-ignore lint/a11y/noStaticElementInteractions: every row is a button; this only gathers their clicks */}
      {/* biome-ignore lint/a11y/useKeyWithClickEvents: as above */}
      <div
        ref={list}
        class="rows-room"
        onPointerDown={down}
        onPointerMove={move}
        onPointerUp={up}
        onPointerCancel={() => setDrag(undefined)}
        onClick={click}
      >
        <div class="rows">
          {marks.map((minutes) => (
            <div key={minutes} class="mark-line" style={{ left: `${gutter + drawing.scale.x(minutes * 60_000)}px` }} />
          ))}
          <div class="pass-line" style={{ left: `${gutter + drawing.scale.pass}px` }} />
          <ol>
            {drawing.rows.map((row) => (
              <li key={row.key}>
                <RowView
                  row={row}
                  scale={drawing.scale}
                  tide={tide}
                  unit={unit}
                  selected={row.key === selected}
                  accent={row.key === accent}
                  word={row.course.word_ms === undefined ? undefined : wordText(row.course.word_ms, now_ms)}
                  away={awayText(meetOf(row.course), now_ms)}
                  up={doc.standing[row.key]}
                  asked={asked.get(row.key)}
                  preview={preview(row)}
                />
                {props.refusals
                  .filter((refusal) => refusal.about === row.key)
                  .map((refusal) => (
                    <RefusalView
                      key={refusal.at_steady}
                      refusal={refusal}
                      onAgain={props.onAgain}
                      onDismiss={props.onDismiss}
                    />
                  ))}
              </li>
            ))}
          </ol>
        </div>
      </div>
      {drawing.rows.length === 0 && (
        <p class="empty">{doc.service.open ? "Nothing is fired." : "The service is not open."}</p>
      )}
    </section>
  );
}
