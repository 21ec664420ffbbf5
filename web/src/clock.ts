// Kitchen time from the page's own steady clock. The arithmetic is that of RFC 5905 section 8:
//   offset = ((T2 - T1) + (T3 - T4)) / 2,   delay = (T4 - T1) - (T3 - T2)
// T1 and T4 by the page's clock, T2 and T3 by the server's; the true offset lies within offset +- delay/2.
// In a demo kitchen time runs `rate` times as fast as the wall. T1 and T4 are then taken in the same faster units.

export interface Sample {
  /** Kitchen time minus the page's steady time in kitchen units, milliseconds. */
  offset: number;
  /** Round trip, milliseconds of kitchen time; never below `precision`. */
  delay: number;
}

/** Clocks of browsers are rounded; a skew over a long round trip can make the delay look negative (RFC 5905 clamps it). */
export const precision = 0.1;

export function measure(t1: number, t2: number, t3: number, t4: number, rate = 1): Sample {
  const sent = t1 * rate;
  const received = t4 * rate;
  return {
    offset: (t2 - sent + (t3 - received)) / 2,
    delay: Math.max(precision, received - sent - (t3 - t2)),
  };
}

const samples_max = 8;
/** What rounding and the skew of a cheap clock may add between two samples, milliseconds of the wall. */
const slack = 10;

/** The page's kitchen clock. Of the last eight samples the one with the least delay is believed (RFC 5905 section 10). */
export class KitchenClock {
  private samples: Sample[] = [];
  private rate_ = 1;
  private offset: number | undefined;
  private last_t3 = Number.NEGATIVE_INFINITY;

  /** `steady`: milliseconds that never step back, for example performance.timeOrigin + performance.now(). */
  constructor(private readonly steady: () => number) {}

  get rate(): number {
    return this.rate_;
  }

  /** Has the clock been set at all? */
  get set(): boolean {
    return this.offset !== undefined;
  }

  /** Kitchen time now, milliseconds since 1970; the page's own time until a server has said better. */
  now(): number {
    return this.steady() * this.rate_ + (this.offset ?? 0);
  }

  /** First guess from a welcome: right to within the way here. Measured samples are better and are kept. */
  guess(now_ms: number, rate: number): void {
    if (this.offset !== undefined && rate === this.rate_ && this.samples.length > 0) return;
    this.restart(rate);
    this.offset = now_ms - this.steady() * rate;
  }

  /** After a reload with the server away: what was known before. */
  restore(offset: number, rate: number): void {
    this.restart(rate);
    this.offset = offset;
  }

  saved(): { offset: number; rate: number } | undefined {
    return this.offset === undefined ? undefined : { offset: this.offset, rate: this.rate_ };
  }

  /** A clock answer. Duplicates (T3 seen before) are dropped; a change of rate starts afresh. */
  take(t1: number, t2: number, t3: number, t4: number, rate: number): void {
    if (![t1, t2, t3, t4].every(Number.isFinite) || !(rate > 0)) return;
    if (rate !== this.rate_) this.restart(rate);
    if (t3 === this.last_t3) return;
    this.last_t3 = t3;
    const sample = measure(t1, t2, t3, t4, rate);
    const known = this.best();
    // Each sample bounds the true offset by half its delay: two that exclude each other mean that a clock was set.
    if (known !== undefined) {
      const apart = Math.abs(sample.offset - known.offset);
      if (apart > (sample.delay + known.delay) / 2 + slack * Math.max(1, rate)) this.samples = [];
    }
    this.samples.push(sample);
    if (this.samples.length > samples_max) this.samples.shift();
    this.offset = this.best()?.offset;
  }

  private best(): Sample | undefined {
    let best = this.samples[0];
    for (const sample of this.samples) if (best === undefined || sample.delay < best.delay) best = sample;
    return best;
  }

  /** A new connection: the server may have another clock. The old offset stands until the first new sample. */
  reconnected(): void {
    this.samples = [];
    this.last_t3 = Number.NEGATIVE_INFINITY;
  }

  private restart(rate: number): void {
    this.samples = [];
    this.rate_ = rate;
    this.last_t3 = Number.NEGATIVE_INFINITY;
  }
}
