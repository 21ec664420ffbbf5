// The run-in: every table of the kitchen on one time axis.

import { useRef } from "preact/hooks";
import { type Drawing, meetOf, type Row } from "../layout.ts";
import { marks } from "../scale.ts";
import type { Refusal } from "../store.ts";
import type { Tide } from "../tide.ts";
import type { Action, PassDocument } from "../wire.ts";
import { awayText, wordText } from "../words.ts";
import { RefusalView } from "./hand.tsx";
import { type Preview, RowView } from "./row.tsx";
import { closedWords } from "./station.tsx";
import { type Strokes, useStroke } from "./stroke.ts";
import { pauseShort } from "./trouble.tsx";

interface Props extends Strokes {
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
}

export function RunIn(props: Props) {
  const { drawing, doc, tide, gutter, now_ms, selected, accent, asked, nudged } = props;
  const list = useRef<HTMLDivElement>(null);
  const stroke = useStroke(drawing, gutter, list, props);
  const preview = (row: Row): Preview | undefined => {
    const nudge =
      nudged?.key === row.key ? { kind: "meet" as const, minutes: nudged.minutes, from: 0, to: 0 } : undefined;
    return stroke.preview(row) ?? nudge;
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
      <div ref={list} class="rows-room" {...stroke.handlers}>
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
                  unit={drawing.unit}
                  selected={row.key === selected}
                  accent={row.key === accent}
                  word={
                    row.table.pause !== undefined
                      ? pauseShort(row.table.pause)
                      : row.course.word_ms === undefined
                        ? undefined
                        : wordText(row.course.word_ms, now_ms)
                  }
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
      {drawing.rows.length === 0 && <p class="empty">{closedWords(doc.service) ?? "Nothing is fired."}</p>}
    </section>
  );
}
