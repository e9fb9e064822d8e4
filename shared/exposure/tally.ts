/**
 * Adds up one segment after another: the time from a sample to the next one, as far as the sample stands. Both
 * ways of integrating are added side by side, whole numbers only.
 *
 * Hold: value × the time that it stands. Trapezoid: the mean of two numbers of one unit that are not further apart
 * than the earlier one stands; a sample without such a successor counts nothing after itself.
 */
import { shiftDecimal } from '../quantity/canonical.ts';
import { decimalsOf, item, scaled, scaledBig } from './decimal.ts';
import { isNumber, MISSING, type Sample, type Samples, unitIndexOf } from './samples.ts';

/**
 * Sums of one unit; those of values are whole numbers of 10^-`decimals` × ms. Each is a double as long as that is
 * exact, plus the bigint that it was emptied into (0n in all but extreme cases).
 */
export type Row = {
  readonly unit: number;
  decimals: number;
  hold: number;
  holdBig: bigint;
  /** Twice the trapezoid sum, which keeps it whole. */
  trapezoid2: number;
  trapezoid2Big: bigint;
  holdMs: number;
  trapezoidMs: number;
  samples: number;
  overRangeMs: number;
  /** -Infinity and Infinity where no number was in force. */
  peak: number;
  minimum: number;
};
export type Segment = Sample & { nextAt: number; nextValue: number; nextCode: number };

/** Products and sums below this are exact in a double. */
export const EXACT_LIMIT = 2 ** 52;

export function createRow(unit: number): Row {
  return {
    unit,
    decimals: 0,
    hold: 0,
    holdBig: 0n,
    trapezoid2: 0,
    trapezoid2Big: 0n,
    holdMs: 0,
    trapezoidMs: 0,
    samples: 0,
    overRangeMs: 0,
    peak: -Infinity,
    minimum: Infinity,
  };
}

/** A segment to be filled in; one shape for all keeps the sums fast. */
export function createSegment(): Segment {
  return { at: -0.5, value: -0.5, code: MISSING, hold: 0, nextAt: -0.5, nextValue: -0.5, nextCode: MISSING };
}

/** The row of a unit, added where there is none. */
export function rowOf(rows: Row[], unit: number): Row {
  for (const row of rows) if (row.unit === unit) return row;
  const row = createRow(unit);
  rows.push(row);
  return row;
}

/** When the segment's sample ceases to stand, ms. */
export function endOf(segment: Segment): number {
  return Math.min(segment.nextAt, segment.at + segment.hold);
}

/** Adds the part of `segment` in [from, to). Parts of a segment add up exactly to the whole. */
export function addSegment(rows: Row[], segment: Segment, from: number, to: number): void {
  if (segment.code === MISSING) return;
  const start = Math.max(segment.at, from);
  const stands = Math.max(0, Math.min(endOf(segment), to) - start);
  const measured = segment.at >= from && segment.at < to;
  if (stands === 0 && !measured) return;
  const row = rowOf(rows, unitIndexOf(segment.code));
  if (!isNumber(segment.code)) {
    row.overRangeMs += stands;
    return;
  }
  if (measured) row.samples += 1;
  const { value } = segment;
  if (value > row.peak) row.peak = value;
  if (value < row.minimum) row.minimum = value;
  // Negative readings show a bad zero; they are shown raw and never taken off an exposure.
  const raw = scaled(value, row.decimals);
  if (Number.isNaN(raw)) toDecimals(row, decimalsOf(value));
  if (raw > 0 && raw * stands < EXACT_LIMIT) addHold(row, raw * stands);
  else if (value > 0) addHold(row, scaledBig(value, row.decimals) * BigInt(stands));
  row.holdMs += stands;
  if (segment.nextCode !== segment.code || segment.nextAt - segment.at > segment.hold || stands === 0) return;
  row.trapezoidMs += stands;
  addTrapezoid(row, segment, start, start + stands);
}

/** Walks the segments between the samples of a list; the last sample has none. */
export function forEachSegment(samples: Samples, first: number, visit: (segment: Segment) => void): void {
  const segment = createSegment();
  for (let index = first; index < samples.at.length - 1; index += 1) {
    segment.at = item(samples.at, index);
    segment.value = item(samples.value, index);
    segment.code = item(samples.code, index);
    segment.hold = item(samples.hold, index);
    segment.nextAt = item(samples.at, index + 1);
    segment.nextValue = item(samples.value, index + 1);
    segment.nextCode = item(samples.code, index + 1);
    visit(segment);
  }
}

/** Adds a row to the row of its unit. */
export function mergeRow(rows: Row[], added: Row): void {
  addToRow(rowOf(rows, added.unit), added, 0);
}

/** Adds a row × 10^`shift` to another, whatever their units are called. */
export function addToRow(row: Row, added: Row, shift: number): void {
  const decimals = added.decimals - shift;
  toDecimals(row, decimals);
  const power = row.decimals - decimals;
  addHold(row, raised(added.hold, power));
  addTrapezoid2(row, raised(added.trapezoid2, power));
  if (added.holdBig !== 0n) addHold(row, raised(added.holdBig, power));
  if (added.trapezoid2Big !== 0n) addTrapezoid2(row, raised(added.trapezoid2Big, power));
  row.holdMs += added.holdMs;
  row.trapezoidMs += added.trapezoidMs;
  row.samples += added.samples;
  row.overRangeMs += added.overRangeMs;
  if (added.peak < added.minimum) return;
  const peak = shift === 0 ? added.peak : shiftDecimal(added.peak, shift);
  const minimum = shift === 0 ? added.minimum : shiftDecimal(added.minimum, shift);
  if (peak > row.peak) row.peak = peak;
  if (minimum < row.minimum) row.minimum = minimum;
}

/** The whole sum of `hold`, in the row's whole numbers. */
export function holdOf(row: Row): number | bigint {
  return row.holdBig === 0n ? row.hold : row.holdBig + BigInt(row.hold);
}

/** The whole of twice the trapezoid sum, in the row's whole numbers. */
export function trapezoid2Of(row: Row): number | bigint {
  return row.trapezoid2Big === 0n ? row.trapezoid2 : row.trapezoid2Big + BigInt(row.trapezoid2);
}

/**
 * Adds twice the area under the line from `from` to `to` within the segment. The line's value at a bound in
 * mid-segment is seldom a decimal, so the area up to each bound is rounded down to one digit of the readings × half
 * a millisecond: parts still add up exactly, and such a bound is off by less than one digit for one millisecond.
 */
function addTrapezoid(row: Row, segment: Segment, from: number, to: number): void {
  const { at } = segment;
  const span = segment.nextAt - at;
  const first = Math.max(0, segment.value);
  const second = Math.max(0, segment.nextValue);
  const whole = from === at && to === segment.nextAt;
  if (whole) {
    const twice = (scaled(first, row.decimals) + scaled(second, row.decimals)) * span;
    if (twice < EXACT_LIMIT) {
      addTrapezoid2(row, twice);
      return;
    }
  }
  // Rounding must follow from the two readings alone, not from what else the row holds.
  const decimals = Math.max(decimalsOf(first), decimalsOf(second));
  toDecimals(row, decimals);
  const area = quickArea(scaled(first, decimals), scaled(second, decimals), span) ?? bigArea(segment, decimals);
  addTrapezoid2(row, raised(area(to - at), row.decimals - decimals));
  if (from > at) addTrapezoid2(row, raised(-area(from - at), row.decimals - decimals));
}

/** Twice the area from the start of a segment, by ms; null where a product would not be exact in a double. */
function quickArea(first: number, second: number, span: number): ((ms: number) => number) | null {
  if (!(2 * Math.max(first, second) * span * span < EXACT_LIMIT)) return null;
  return (ms) => {
    const times = 2 * first * span * ms + (second - first) * ms * ms;
    return (times - (times % span)) / span;
  };
}

function bigArea(segment: Segment, decimals: number): (ms: number) => bigint {
  const span = BigInt(segment.nextAt - segment.at);
  const first = scaledBig(Math.max(0, segment.value), decimals);
  const rise = scaledBig(Math.max(0, segment.nextValue), decimals) - first;
  return (ms) => (2n * first * span * BigInt(ms) + rise * BigInt(ms) * BigInt(ms)) / span;
}

function addHold(row: Row, amount: number | bigint): void {
  // Above the limit not even the sum of two is exact in a double.
  if (typeof amount === 'bigint' || amount >= EXACT_LIMIT) row.holdBig += BigInt(amount);
  else row.hold += amount;
  if (row.hold < EXACT_LIMIT) return;
  row.holdBig += BigInt(row.hold);
  row.hold = 0;
}

function addTrapezoid2(row: Row, amount: number | bigint): void {
  if (typeof amount === 'bigint' || Math.abs(amount) >= EXACT_LIMIT) row.trapezoid2Big += BigInt(amount);
  else row.trapezoid2 += amount;
  if (Math.abs(row.trapezoid2) < EXACT_LIMIT) return;
  row.trapezoid2Big += BigInt(row.trapezoid2);
  row.trapezoid2 = 0;
}

/** Gives the row more decimals, where it has fewer. */
function toDecimals(row: Row, decimals: number): void {
  if (decimals <= row.decimals) return;
  const power = decimals - row.decimals;
  const hold = raised(holdOf(row), power);
  const trapezoid2 = raised(trapezoid2Of(row), power);
  row.decimals = decimals;
  row.hold = typeof hold === 'number' ? hold : 0;
  row.holdBig = typeof hold === 'number' ? 0n : hold;
  row.trapezoid2 = typeof trapezoid2 === 'number' ? trapezoid2 : 0;
  row.trapezoid2Big = typeof trapezoid2 === 'number' ? 0n : trapezoid2;
}

/** `value` × 10^`power`, a double where that is exact. */
function raised(value: number | bigint, power: number): number | bigint {
  if (power === 0 || value === 0) return value;
  const exact = BigInt(value) * 10n ** BigInt(power);
  const number = Number(exact);
  return Math.abs(number) < EXACT_LIMIT ? number : exact;
}
