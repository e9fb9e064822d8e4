/**
 * Time-weighted average over a shift, 29 CFR 1910.1000(d)(1): the sum of C × T over 8 h. The divisor is always 8 h,
 * never the time worked and never the time covered.
 */
import { type UnitRows, unitStep } from './canonical-sums.ts';
import { type ExactSum, exactSum, SHIFT_MS, sumToNumber } from './exact-sum.ts';
import { sumOfRow } from './integral.ts';
import { sliceWorn } from './slices.ts';
import { kindOf, treatmentOf } from './treatment.ts';
import { firstWornMs, type SeriesOf, type Wearing, wornSpans } from './wearing.ts';

export type Twa = {
  /** Sum over the whole shift so far, divided by 8 h; in the figure's unit. */
  readonly value: number;
  /**
   * What the figure is, to be named beside it: of a shift of up to 8 h, or the sum of a longer one over 8 h, which
   * can be above every concentration measured. For a longer shift see also `worstEightHours`.
   */
  readonly form: 'shift-up-to-8h' | 'longer-shift-over-8h';
  readonly shiftMs: number;
  readonly coveredMs: number;
  /** Part of the shift is not covered: a lower bound. */
  readonly partial: boolean;
};

/** The worst 8 h of a shift. */
export type WorstWindow = {
  readonly value: number;
  readonly unit: string;
  readonly form: 'worst-8h-window';
  readonly fromMs: number;
  readonly toMs: number;
  readonly sum: ExactSum;
};

/** How fine windows are tried: those that begin on a whole minute, and the one that ends now. */
const STEP_MS = 60_000;

/** The figure from the sum (value × ms) of the shift so far. */
export function twaOf(sum: ExactSum, shiftMs: number, coveredMs: number): Twa {
  return {
    value: sumToNumber(sum) / SHIFT_MS,
    form: shiftMs > SHIFT_MS ? 'longer-shift-over-8h' : 'shift-up-to-8h',
    shiftMs,
    coveredMs,
    partial: coveredMs < shiftMs,
  };
}

/**
 * The 8-hour window of a shift with the largest average, per unit; of equal ones the first. Null where an average
 * means nothing. Costs about a millisecond: for a report or once a minute, not for every frame.
 */
export function worstEightHours(
  seriesOf: SeriesOf,
  wearing: Wearing,
  channel: string,
  atMs: number,
  shiftFromMs?: number,
): WorstWindow[] | null {
  if (treatmentOf(channel) !== 'average') return null;
  const toMs = Math.round(atMs);
  const fromMs = Math.round(shiftFromMs ?? firstWornMs(wearing) ?? toMs);
  const originMs = Math.floor(fromMs / STEP_MS) * STEP_MS;
  const spans = wornSpans(wearing, fromMs, toMs);
  const count = Math.max(1, Math.ceil((toMs - originMs) / STEP_MS));
  const slices = sliceWorn(seriesOf, channel, spans, { originMs, stepMs: STEP_MS, count });
  const lastFrom = toMs - SHIFT_MS;
  const latest = sliceWorn(seriesOf, channel, wornSpans(wearing, Math.max(fromMs, lastFrom), toMs), {
    originMs: lastFrom,
    stepMs: SHIFT_MS,
    count: 1,
  });
  const units = new Set(slices.flatMap((slice) => slice.units));
  return [...units].sort(canonicalFirst(channel)).map((unit) => {
    const sums = slices.map((slice) => sumOfUnit(slice, unit, channel));
    const window = worstOf(sums);
    const now = sumOfUnit(latest[0] ?? { units: [], rows: [] }, unit, channel);
    const isNow = lastFrom > fromMs && compareSums(now, window.sum) > 0;
    const sum = isNow ? now : window.sum;
    const start = isNow ? lastFrom : Math.max(fromMs, originMs + window.first * STEP_MS);
    const end = isNow ? toMs : Math.min(toMs, originMs + window.first * STEP_MS + SHIFT_MS);
    return { value: sumToNumber(sum) / SHIFT_MS, unit, form: 'worst-8h-window', fromMs: start, toMs: end, sum };
  });
}

function sumOfUnit(slice: UnitRows, unit: string, channel: string): ExactSum {
  const row = slice.rows.find((one) => slice.units[one.unit] === unit);
  return row === undefined ? exactSum(0n, 0) : sumOfRow(row, kindOf(channel));
}

/** The run of 8 h of slices with the largest sum; with fewer slices all of them. */
function worstOf(sums: readonly ExactSum[]): { first: number; sum: ExactSum } {
  const length = SHIFT_MS / STEP_MS;
  const exponent = Math.min(0, ...sums.map((sum) => sum.exponent));
  const whole = sums.map((sum) => sum.digits * 10n ** BigInt(sum.exponent - exponent));
  let running = 0n;
  let worst = -1n;
  let first = 0;
  whole.forEach((digits, index) => {
    running += digits - (whole[index - length] ?? 0n);
    if (running <= worst) return;
    worst = running;
    first = Math.max(0, index - length + 1);
  });
  return { first, sum: exactSum(worst < 0n ? 0n : worst, exponent) };
}

function compareSums(a: ExactSum, b: ExactSum): number {
  const exponent = Math.min(a.exponent, b.exponent);
  const difference = a.digits * 10n ** BigInt(a.exponent - exponent) - b.digits * 10n ** BigInt(b.exponent - exponent);
  return difference > 0n ? 1 : difference < 0n ? -1 : 0;
}

function canonicalFirst(channel: string) {
  const rank = (unit: string) => (unitStep(channel, unit).canonical ? 0 : 1);
  return (a: string, b: string) => rank(a) - rank(b) || (a < b ? -1 : 1);
}
