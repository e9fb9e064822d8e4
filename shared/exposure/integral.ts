/**
 * The exposure integral over any span of measured time. Within the late horizon it is exact to the millisecond; before
 * it, bins of 10 s are taken whole, and one that a bound cuts is shared out evenly over its 10 s (rounded down from
 * its start, so that two neighbouring spans still add up exactly).
 */
import { type ExactSum, exactSum } from './exact-sum.ts';
import { findChannel, LATE_HORIZON_MS, type Series } from './series.ts';
import { addSpan } from './standing.ts';
import { holdOf, type Row, trapezoid2Of } from './tally.ts';

/** `hold` for gas; `trapezoid` for gamma. */
export type IntegralKind = 'hold' | 'trapezoid';

/** What one channel read in one unit over a span. */
export type Integral = {
  /** As sent; '' for over-range readings that named no unit. */
  readonly unit: string;
  /** Value × ms over the covered time; negative values count as 0. */
  readonly sum: ExactSum;
  /** Time with a number, ms. What is not covered is unknown, not 0: show it beside every figure. */
  readonly coveredMs: number;
  /** Numbers measured in the span. */
  readonly samples: number;
  /** Highest and lowest value in force or measured in the span, raw; null without one. For oxygen use the minimum. */
  readonly peak: number | null;
  readonly minimum: number | null;
  /** Time above the sensor's range, ms: not in `sum`, which is then a lower bound. */
  readonly overRangeMs: number;
};

/**
 * The integral of a channel over [fromMs, toMs), one entry a unit, by unit name. With `hold` a value stands until the
 * next sample of the channel, at most its hold; with `trapezoid` see `tally.ts`: a number without a successor close
 * enough covers nothing. Spans add up: [a, b) and [b, c) give exactly [a, c).
 */
export function integral(
  series: Series,
  channel: string,
  fromMs: number,
  toMs: number,
  kind: IntegralKind,
): Integral[] {
  const found = findChannel(series, channel);
  const from = Math.round(fromMs);
  const to = Math.round(toMs);
  if (found === undefined || !(to > from)) return [];
  const rows: Row[] = [];
  addSpan(rows, found, from, to, series.newest - LATE_HORIZON_MS);
  return rows.map((row) => asIntegral(row, found.units[row.unit] ?? '', kind)).sort(byUnit);
}

function asIntegral(row: Row, unit: string, kind: IntegralKind): Integral {
  return {
    unit,
    sum: sumOfRow(row, kind),
    coveredMs: kind === 'hold' ? row.holdMs : row.trapezoidMs,
    samples: row.samples,
    peak: row.peak < row.minimum ? null : row.peak,
    minimum: row.peak < row.minimum ? null : row.minimum,
    overRangeMs: row.overRangeMs,
  };
}

/** The sum of a row by one of the two ways of integrating. */
export function sumOfRow(row: Row, kind: IntegralKind): ExactSum {
  return kind === 'hold'
    ? exactSum(BigInt(holdOf(row)), -row.decimals)
    : exactSum(BigInt(trapezoid2Of(row)) * 5n, -row.decimals - 1);
}

function byUnit(a: Integral, b: Integral): number {
  return a.unit < b.unit ? -1 : 1;
}
