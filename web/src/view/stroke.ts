// The finger on the run-in: a knot drawn sideways moves the meet, a stroke across the pass line says gone, a touch opens.
// Nothing is asked before the finger is lifted, and drawing back undoes it (WCAG 2.2, 2.5.2).

import type { RefObject } from "preact";
import { useRef, useState } from "preact/hooks";
import type { Drawing, Row } from "../layout.ts";
import type { Preview } from "./row.tsx";

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
/** A finger meets a knot from this far, in pixels. */
const knot_reach = 26;
/** Less than this is a touch. */
const still = 8;

export interface Strokes {
  onSelect(key: string): void;
  onMove(row: Row, minutes: number): void;
  onGone(row: Row): void;
}

function drawn(drag: Drag, { unit, scale }: Drawing): Preview {
  const range = { from: drag.from_x, to: drag.x };
  if (drag.kind === "meet") {
    return { kind: "meet", minutes: Math.round((drag.x - drag.from_x) / (unit * minute_rem)), ...range };
  }
  return { kind: drag.x > scale.pass + unit ? "gone" : "stroke", minutes: 0, ...range };
}

/** What a finger that begins here means: on the knot or right of the pass it moves the meet. */
function meaning(drag: Drag, pass: number): "meet" | "stroke" {
  const { knot } = drag.row;
  const near = (at: number) => Math.abs(drag.from_x - at) <= knot_reach;
  return near(knot.x) || near(knot.promised_x) || drag.from_x > pass ? "meet" : "stroke";
}

export function useStroke(drawing: Drawing, gutter: number, list: RefObject<HTMLElement | null>, strokes: Strokes) {
  const [drag, setDrag] = useState<Drag | undefined>();
  const swallow = useRef(false);
  const place = (event: PointerEvent) => event.clientX - (list.current?.getBoundingClientRect().left ?? 0) - gutter;
  const keyAt = (event: Event) => (event.target as Element).closest<HTMLElement>("[data-key]")?.dataset["key"];

  const onPointerDown = (event: PointerEvent) => {
    const key = keyAt(event);
    const row = drawing.rows.find((other) => other.key === key);
    if (row === undefined || event.button !== 0) return;
    swallow.current = false;
    const x = place(event);
    setDrag({ row, kind: undefined, from_x: x, from_y: event.clientY, x, pointer: event.pointerId });
  };
  const onPointerMove = (event: PointerEvent) => {
    if (drag === undefined || drag.pointer !== event.pointerId) return;
    const x = place(event);
    const across = Math.abs(x - drag.from_x);
    let kind = drag.kind;
    if (kind === undefined && across > still && across > Math.abs(event.clientY - drag.from_y)) {
      kind = meaning(drag, drawing.scale.pass);
      (event.currentTarget as Element).setPointerCapture(event.pointerId);
    }
    if (kind !== undefined) setDrag({ ...drag, kind, x });
  };
  const onPointerUp = (event: PointerEvent) => {
    if (drag === undefined || drag.pointer !== event.pointerId) return;
    swallow.current = drag.kind !== undefined;
    setDrag(undefined);
    if (drag.kind === undefined) return;
    const { kind, minutes } = drawn(drag, drawing);
    if (kind === "meet" && minutes !== 0) strokes.onMove(drag.row, minutes);
    if (kind === "gone") strokes.onGone(drag.row);
  };
  /** The click that follows a stroke is no touch. */
  const onClick = (event: MouseEvent) => {
    const key = swallow.current ? undefined : keyAt(event);
    swallow.current = false;
    if (key !== undefined) strokes.onSelect(key);
  };

  return {
    preview: (row: Row): Preview | undefined =>
      drag?.kind !== undefined && drag.row.key === row.key ? drawn(drag, drawing) : undefined,
    handlers: { onPointerDown, onPointerMove, onPointerUp, onPointerCancel: () => setDrag(undefined), onClick },
  };
}
