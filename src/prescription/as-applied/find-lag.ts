import {quantile} from "../../stats/robust.ts";
import type {LagEstimate} from "./applied-comparison.ts";
import type {Drive} from "./follow-passes.ts";

/** Lags looked at. Below zero a machine changes its rate before the line, where its look-ahead is set too long. */
const FIRST_S = -10;
const LAST_S = 15;
/** Without time, at some 4 m/s. */
const FIRST_M = -40;
const LAST_M = 60;
const LEAST_SAMPLES = 100;
/** Fewer changes of the planned rate than this say more about one place than about the machine. */
const LEAST_CHANGES = 4;
/** A rate that varies less than this share of its mean is one rate. */
const LEAST_SPREAD = 0.02;
const LEAST_CORRELATION = 0.3;
/** A peak this little above the middle of the curve is no peak. */
const LEAST_RISE = 0.02;
const MOST_SAMPLES_PER_PASS = 100_000;

/**
 * The lag at which the logged rate follows the planned rate under the machine best.
 *
 * Each pass is read at even steps of time (of way, where there is no time). For every lag the logged rate is correlated
 * with the planned rate where the machine was so long ago, over all passes together and over the same records for every
 * lag; the peak is refined by a parabola. Refused where rates do not vary, where too few passes are long enough or
 * cross too few changes, and where the curve has no peak inside the range.
 *
 * A lag in way and one in time cannot be told apart at one speed: a receiver ahead of the boom looks like a lag.
 *
 * @param rate - lb/ac by place; NaN where not known.
 * @param plannedAt - Planned rate under a position; NaN outside.
 */
export function findLag(drive: Drive, rate: Float64Array, plannedAt: (x: number, y: number) => number): LagEstimate {
  const timed = drive.timeS !== undefined && drive.typical.intervalS > 0;
  const unit = timed ? "s" : "m";
  const nothing = {unit, curve: [], passes: 0, changes: 0} as const;
  if (!drive.ordered) return {...nothing, refused: "the records do not follow one another"};
  const usual = timed ? drive.typical.intervalS : drive.typical.stepM;
  if (!(usual > 0)) return {...nothing, refused: "the machine does not move"};
  const step = usual / 2;
  const first = Math.ceil((timed ? FIRST_S : FIRST_M) / step);
  const last = Math.floor((timed ? LAST_S : LAST_M) / step);
  const sums = new Sums(first, last);
  for (const {from, to} of drive.passes) {
    sums.addPass(evenly(drive, rate, plannedAt, from, to, timed ? (drive.timeS as Float64Array) : drive.alongM, step));
  }
  const curve = sums.correlations().map((correlation, i) => ({lag: (first + i) * step, correlation}));
  const found = {unit, curve, passes: sums.passes, changes: sums.changes} as const;
  const refused = whyNot(sums, curve);
  if (refused !== undefined) return {...found, refused};
  const peak = curve.reduce((best, point, i) => (point.correlation > at(curve, best) ? i : best), 0);
  const lag = at(curve, peak, "lag") + step * parabola(at(curve, peak - 1), at(curve, peak), at(curve, peak + 1));
  const speed = sums.wayM / sums.timeS;
  return {
    ...found,
    ...(timed ? {lagS: lag, lagM: lag * speed} : {lagM: lag}),
    correlation: at(curve, peak),
    correlationAtZero: at(curve, -first),
  };
}

type Curve = LagEstimate["curve"];

const at = (curve: Curve, i: number, what: "lag" | "correlation" = "correlation"): number =>
  curve[i]?.[what] ?? Number.NaN;

/** Where between its neighbours the top of a parabola through three even points lies, in steps. */
function parabola(before: number, top: number, after: number): number {
  const bend = before - 2 * top + after;
  return bend < 0 ? Math.max(-0.5, Math.min(0.5, (before - after) / (2 * bend))) : 0;
}

function whyNot(sums: Sums, curve: Curve): string | undefined {
  if (sums.count < LEAST_SAMPLES) return "too few passes are long enough to look for a lag in";
  if (sums.spreadOfPlan() < LEAST_SPREAD) return "the planned rate does not vary along the passes";
  if (sums.spreadOfRate() < LEAST_SPREAD) return "the logged rate does not vary along the passes";
  if (sums.changes < LEAST_CHANGES) return "the passes cross too few changes of the planned rate";
  const values = curve.map(({correlation}) => correlation);
  const most = Math.max(...values);
  const peak = values.indexOf(most);
  if (!(most >= LEAST_CORRELATION)) return "the logged rate does not follow the planned one at any lag";
  if (peak === 0 || peak === values.length - 1) return "the best lag is at the end of what was looked at";
  if (most - quantile(values, 0.5) < LEAST_RISE) return "the rates agree as well at any lag";
  return undefined;
}

interface EvenPass {
  readonly rate: Float64Array;
  readonly planned: Float64Array;
  readonly wayM: number;
  readonly timeS: number;
}

/** Rate and planned rate of a pass at even steps along an axis, between its first and last record. */
function evenly(
  {x, y, alongM, timeS}: Drive,
  rate: Float64Array,
  plannedAt: (x: number, y: number) => number,
  from: number,
  to: number,
  axis: Float64Array,
  step: number,
): EvenPass {
  const start = axis[from] as number;
  const length = (axis[to - 1] as number) - start;
  const count = Math.min(MOST_SAMPLES_PER_PASS, Math.max(0, Math.floor(length / step + 1e-9) + 1)) || 0;
  const out = {rate: new Float64Array(count), planned: new Float64Array(count)};
  let k = from;
  for (let i = 0; i < count; i++) {
    const here = start + i * step;
    while (k + 2 < to && (axis[k + 1] as number) <= here) k++;
    const next = Math.min(k + 1, to - 1);
    const gap = (axis[next] as number) - (axis[k] as number);
    const share = gap > 0 ? Math.max(0, Math.min(1, (here - (axis[k] as number)) / gap)) : 0;
    const between = (column: Float64Array): number =>
      (column[k] as number) + share * ((column[next] as number) - (column[k] as number));
    out.rate[i] = between(rate);
    out.planned[i] = plannedAt(between(x), between(y));
  }
  return {
    ...out,
    wayM: (alongM[to - 1] as number) - (alongM[from] as number),
    timeS: timeS ? (timeS[to - 1] as number) - (timeS[from] as number) : Number.NaN,
  };
}

/** Sums for the correlation at every lag, over records whose every lag lies in their pass. */
class Sums {
  count = 0;
  passes = 0;
  changes = 0;
  wayM = 0;
  timeS = 0;
  private readonly first: number;
  private rate = 0;
  private rate2 = 0;
  private readonly plan: Float64Array;
  private readonly plan2: Float64Array;
  private readonly both: Float64Array;

  constructor(first: number, last: number) {
    this.first = first;
    const lags = last - first + 1;
    this.plan = new Float64Array(lags);
    this.plan2 = new Float64Array(lags);
    this.both = new Float64Array(lags);
  }

  addPass({rate, planned, wayM, timeS}: EvenPass): void {
    const last = this.first + this.plan.length - 1;
    const before = this.count;
    for (let i = last; i < rate.length + this.first; i++) {
      const r = rate[i] as number;
      if (Number.isNaN(r) || hasGap(planned, i - last, i - this.first)) continue;
      this.count++;
      this.rate += r;
      this.rate2 += r * r;
      if (planned[i] !== planned[i - 1]) this.changes++;
      for (let j = 0; j < this.plan.length; j++) {
        const p = planned[i - this.first - j] as number;
        this.plan[j] = (this.plan[j] as number) + p;
        this.plan2[j] = (this.plan2[j] as number) + p * p;
        this.both[j] = (this.both[j] as number) + r * p;
      }
    }
    if (this.count === before) return;
    this.passes++;
    this.wayM += wayM;
    this.timeS += timeS;
  }

  correlations(): number[] {
    const {count: n, rate, rate2} = this;
    return Array.from(this.plan, (plan, j) => {
      const across = (n * rate2 - rate * rate) * (n * (this.plan2[j] as number) - plan * plan);
      return across > 0 ? (n * (this.both[j] as number) - rate * plan) / Math.sqrt(across) : 0;
    });
  }

  spreadOfPlan(): number {
    const zero = -this.first;
    return spread(this.count, this.plan[zero] as number, this.plan2[zero] as number);
  }

  spreadOfRate(): number {
    return spread(this.count, this.rate, this.rate2);
  }
}

function hasGap(planned: Float64Array, from: number, to: number): boolean {
  for (let i = from; i <= to; i++) if (Number.isNaN(planned[i] as number)) return true;
  return false;
}

/** Standard deviation over mean. */
function spread(n: number, sum: number, sum2: number): number {
  const mean = sum / n;
  return mean > 0 ? Math.sqrt(Math.max(0, sum2 / n - mean * mean)) / mean : 0;
}
