// The one time axis: minutes before the meet, running right to the pass. The last minutes are drawn larger, because that
// is where hands can still do something: x falls off as log(1 + minutes / bend). Right of the pass the axis goes on the
// same way for what is late.

export interface Scale {
  /** Where the axis begins, x of `horizon` minutes before the pass. */
  left: number;
  pass: number;
  /** Nothing is drawn beyond this. */
  right: number;
  /** So much after the pass is drawn to the right of it. */
  late_ms: number;
  /** x of an instant this many milliseconds before the meet; negative: after it. Never outside [left, right]. */
  x(before_ms: number): number;
}

export const horizon_ms = 20 * 60_000;
const bend_ms = 6 * 60_000;

/** Minutes that get a mark on the axis. */
export const marks = [20, 16, 12, 8, 4, 2, 1];

export function makeScale(left: number, pass: number, right: number): Scale {
  const unit = (pass - left) / Math.log1p(horizon_ms / bend_ms);
  return {
    left,
    pass,
    right,
    late_ms: Math.expm1((right - pass) / unit) * bend_ms,
    x(before_ms: number): number {
      const away = unit * Math.log1p(Math.abs(before_ms) / bend_ms);
      return before_ms >= 0 ? Math.max(left, pass - away) : Math.min(right, pass + away);
    },
  };
}
