// The only thing that moves: in every row, how far now has come on its way to the pass. Set straight on the elements, a few
// times a second, without drawing anything anew.

import type { Scale } from "./scale.ts";

export interface TideMark {
  meet_ms: number;
  scale: Scale;
  /** Ends at now: the shade and the clip of what is spent. */
  behind: SVGRectElement[];
  /** Begins at now. */
  ahead: SVGRectElement[];
  front: SVGLineElement;
}

const width = 4096;

export class Tide {
  private marks = new Map<string, TideMark>();
  private drawn = new Map<string, string>();

  put(key: string, mark: TideMark): void {
    this.marks.set(key, mark);
    this.drawn.delete(key);
  }

  drop(key: string): void {
    this.marks.delete(key);
    this.drawn.delete(key);
  }

  /** Moves every row's front to `now_ms`. Rows whose front has not moved a tenth of a pixel are not touched. */
  advance(now_ms: number): number {
    let touched = 0;
    for (const [key, mark] of this.marks) {
      const x = mark.scale.x(mark.meet_ms - now_ms).toFixed(1);
      if (this.drawn.get(key) === x) continue;
      this.drawn.set(key, x);
      for (const rect of mark.behind) rect.setAttribute("width", x);
      for (const rect of mark.ahead) {
        rect.setAttribute("x", x);
        rect.setAttribute("width", String(width));
      }
      mark.front.setAttribute("x1", x);
      mark.front.setAttribute("x2", x);
      ++touched;
    }
    return touched;
  }
}
