import { describe, expect, test } from 'vitest';
import { addSums, averageOver, HOUR_MS, SHIFT_MS, STEL_MS, sumToNumber } from '../../shared/exposure/exact-sum.ts';
import { type IntegralKind, integral } from '../../shared/exposure/integral.ts';
import { addSample, createSeries, type ExposureReading, type Series } from '../../shared/exposure/series.ts';

const START = Date.UTC(2026, 4, 14, 8);
const MINUTE = 60_000;
const HOLD = 10_000;

/** A reading every `everyMs` over [fromMs, toMs), counted from the start of the shift. */
function run(series: Series, fromMs: number, toMs: number, reading: ExposureReading, everyMs = 5000): void {
  for (let at = fromMs; at < toMs; at += everyMs) addSample(series, START + at, [reading], HOLD);
}
function co(value: number): ExposureReading {
  return { channel: 'co', value, unit: 'ppm' };
}
function only(series: Series, channel: string, fromMs: number, toMs: number, kind: IntegralKind = 'hold') {
  const rows = integral(series, channel, START + fromMs, START + toMs, kind);
  const row = rows[0];
  if (row === undefined || rows.length !== 1) throw new Error(`${rows.length} rows`);
  return row;
}

describe('time-weighted average, 29 CFR 1910.1000(d)(1): the sum of C × T over 8 h', () => {
  test("OSHA's worked example: 2 h at 150, 2 h at 75, 4 h at 50 ppm is 81.25 ppm", () => {
    const series = createSeries();
    run(series, 0, 2 * HOUR_MS, co(150));
    run(series, 2 * HOUR_MS, 4 * HOUR_MS, co(75));
    run(series, 4 * HOUR_MS, 8 * HOUR_MS, co(50));
    const row = only(series, 'co', 0, SHIFT_MS);
    expect(averageOver(row.sum, SHIFT_MS)).toBe(81.25);
    expect(row.coveredMs).toBe(SHIFT_MS);
    expect(row.peak).toBe(150);
  });

  // Calculated from the same formula: 3 × 100 / 8.
  test('trap 4: a partial shift of 3 h at 100 ppm is 37.5, not 100, also over a change of monitor', () => {
    const first = createSeries();
    const second = createSeries();
    run(first, 0, HOUR_MS, co(100));
    run(second, HOUR_MS, 3 * HOUR_MS, co(100));
    const a = only(first, 'co', 0, HOUR_MS);
    const b = only(second, 'co', HOUR_MS, SHIFT_MS);
    // the last reading of each stands for its hold, as far as the span goes
    expect(a.coveredMs + b.coveredMs).toBe(3 * HOUR_MS + HOLD - 5000);
    const exact = only(second, 'co', HOUR_MS, 3 * HOUR_MS);
    expect(averageOver(addSums(a.sum, exact.sum), SHIFT_MS)).toBe(37.5);
  });

  test('trap 5: reporting faster during a peak does not weigh more', () => {
    const series = createSeries();
    run(series, 0, MINUTE, co(0), 10_000);
    run(series, MINUTE, 2 * MINUTE, co(100), 250);
    const row = only(series, 'co', 0, 2 * MINUTE);
    expect(averageOver(row.sum, 2 * MINUTE)).toBe(50);
    expect(row.samples).toBe(6 + 240);
  });

  test('trap 6: a gap is not covered and not 0', () => {
    const series = createSeries();
    run(series, 0, MINUTE, co(40));
    run(series, 10 * MINUTE, 11 * MINUTE, co(40));
    const row = only(series, 'co', 0, 11 * MINUTE);
    expect(row.coveredMs).toBe(2 * MINUTE + HOLD - 5000);
    expect(row.minimum).toBe(40);
    expect(sumToNumber(row.sum)).toBe(40 * row.coveredMs);
    expect(integral(series, 'co', START + 2 * MINUTE, START + 9 * MINUTE, 'hold')).toEqual([]);
  });

  test('trap 6: a reading known to be missing ends what stands at once', () => {
    const series = createSeries();
    addSample(series, START, [co(40)], HOLD);
    addSample(series, START + 3000, [{ channel: 'co', value: null }], HOLD);
    expect(only(series, 'co', 0, MINUTE).coveredMs).toBe(3000);
  });
});

describe('short-term exposure limit: 15-minute average', () => {
  // Calculated: (5 × 60 + 10 × 5) / 15.
  test('5 min at 60 and 10 min at 5 ppm is 23.333 ppm', () => {
    const series = createSeries();
    run(series, 0, 5 * MINUTE, co(60));
    run(series, 5 * MINUTE, 15 * MINUTE, co(5));
    expect(averageOver(only(series, 'co', 0, STEL_MS).sum, STEL_MS)).toBeCloseTo(350 / 15, 12);
  });

  test('trap 7: a window that has not filled is divided by 15 min and says what it covers', () => {
    const series = createSeries();
    run(series, 0, 3 * MINUTE, co(60));
    const row = only(series, 'co', 3 * MINUTE - STEL_MS, 3 * MINUTE);
    expect(averageOver(row.sum, STEL_MS)).toBe(12);
    expect(row.coveredMs).toBe(3 * MINUTE);
  });
});

describe('gamma dose over measured time', () => {
  const gamma = (value: number): ExposureReading => ({ channel: 'gamma', value, unit: 'mR/h' });

  // Calculated: the mean of 30 and 60 mR/h over 1/60 h.
  test('30 and 60 mR/h one minute apart are 0.75 mR', () => {
    const series = createSeries();
    addSample(series, START, [gamma(30)], 2 * MINUTE);
    addSample(series, START + MINUTE, [gamma(60)], 2 * MINUTE);
    expect(averageOver(only(series, 'gamma', 0, MINUTE, 'trapezoid').sum, HOUR_MS)).toBe(0.75);
    // after the last reading nothing is added until the next one comes
    expect(only(series, 'gamma', 0, HOUR_MS, 'trapezoid').coveredMs).toBe(MINUTE);
  });

  test('a gap longer than the stale time is never bridged', () => {
    const series = createSeries();
    addSample(series, START, [gamma(30)], HOLD);
    addSample(series, START + MINUTE, [gamma(60)], HOLD);
    const row = only(series, 'gamma', 0, 2 * MINUTE, 'trapezoid');
    expect(row.coveredMs).toBe(0);
    expect(row.peak).toBe(60);
  });

  test('trap 3: a change of unit starts sums of its own', () => {
    const series = createSeries();
    addSample(series, START, [{ channel: 'gamma', value: 9000, unit: 'uR/h' }], HOLD);
    addSample(series, START + 1000, [{ channel: 'gamma', value: 9000, unit: 'uR/h' }], HOLD);
    addSample(series, START + 2000, [gamma(10)], HOLD);
    addSample(series, START + 3000, [gamma(10)], HOLD);
    const rows = integral(series, 'gamma', START, START + MINUTE, 'trapezoid');
    expect(rows.map(({ unit, sum, coveredMs }) => [unit, sumToNumber(sum), coveredMs])).toEqual([
      ['mR/h', 10_000, 1000],
      ['uR/h', 9_000_000, 1000],
    ]);
  });
});

describe('what must not be averaged', () => {
  test('trap 12: a negative reading is shown raw and gives no credit', () => {
    const series = createSeries();
    run(series, 0, MINUTE, co(-3));
    run(series, MINUTE, 2 * MINUTE, co(10));
    const row = only(series, 'co', 0, 2 * MINUTE);
    expect(row.minimum).toBe(-3);
    expect(averageOver(row.sum, 2 * MINUTE)).toBe(5);
    expect(row.coveredMs).toBe(2 * MINUTE);
  });

  test('trap 13: over-range is time, not a number', () => {
    const series = createSeries();
    run(series, 0, MINUTE, co(400));
    run(series, MINUTE, 2 * MINUTE, { channel: 'co', value: null, overRange: true, unit: 'ppm' });
    run(series, 2 * MINUTE, 3 * MINUTE, co(Number.NaN));
    const row = only(series, 'co', 0, 3 * MINUTE);
    expect(row).toMatchObject({ coveredMs: MINUTE, overRangeMs: MINUTE, peak: 400, samples: 12 });
    expect(sumToNumber(row.sum)).toBe(400 * MINUTE);
  });

  test('trap 13: over-range that named no unit has an entry of its own', () => {
    const series = createSeries();
    addSample(series, START, [{ channel: 'co', value: null, overRange: true }], HOLD);
    expect(only(series, 'co', 0, MINUTE)).toMatchObject({ unit: '', overRangeMs: HOLD, peak: null, coveredMs: 0 });
  });

  test('trap 15: a dip of oxygen is found as the minimum', () => {
    const series = createSeries();
    const oxygen = (value: number): ExposureReading => ({ channel: 'o2', value, unit: '%vol' });
    run(series, 0, MINUTE, oxygen(20.9));
    addSample(series, START + MINUTE, [oxygen(18.4)], HOLD);
    run(series, MINUTE + 1000, 2 * MINUTE, oxygen(20.9));
    expect(only(series, 'o2', 0, 2 * MINUTE)).toMatchObject({ minimum: 18.4, peak: 20.9 });
  });
});
