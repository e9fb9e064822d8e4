import { describe, expect, test } from 'vitest';
import { chunkFirst, chunkLast, chunkTotals, openChunk, sealChunk } from '../../shared/exposure/chunk.ts';
import { MINUTE_MS, STEL_MS } from '../../shared/exposure/exact-sum.ts';
import { shareOfLimit } from '../../shared/exposure/limits.ts';
import { personExposure } from '../../shared/exposure/person.ts';
import { isSealed } from '../../shared/exposure/pieces.ts';
import {
  presentOf,
  projectCeiling,
  projectDose,
  projectStel,
  projectSum,
  projectTwa,
  stelSlices,
} from '../../shared/exposure/projection.ts';
import { addSample, createSeries, type ExposureReading, LATE_HORIZON_MS } from '../../shared/exposure/series.ts';
import { createRow, holdOf, mergeRow, type Row, trapezoid2Of } from '../../shared/exposure/tally.ts';
import { wornSpans } from '../../shared/exposure/wearing.ts';

const START = 1_700_000_000_000;
const ppm = (value: number): ExposureReading => ({ channel: 'co', value, unit: 'ppm' });
const steady = (rate: number) => ({ rate, perMinute: 0, samples: 60, spanMs: 59_000 });
const rising = (rate: number, perMinute: number) => ({ rate, perMinute, samples: 60, spanMs: 59_000 });

describe('personExposure', () => {
  test('says that figures are being corrected while a sample was beyond the horizon', () => {
    const series = createSeries();
    const wearing = [{ monitor: 'M-1', fromMs: START, toMs: null }];
    addSample(series, START + LATE_HORIZON_MS, [ppm(1)], 1000);
    const at = START + LATE_HORIZON_MS + 500;
    expect(personExposure(() => series, wearing, at).correcting).toBe(false);
    addSample(series, START - 1, [ppm(1)], 1000);
    expect(personExposure(() => series, wearing, at).correcting).toBe(true);
  });

  test('a monitor of which nothing is known is named, and its time is a gap', () => {
    const person = personExposure(() => undefined, [{ monitor: 'M-9', fromMs: START, toMs: null }], START + 5000, {
      channels: ['co'],
    });
    expect(person.unknownMonitors).toEqual(['M-9']);
    expect(person.channels).toMatchObject([{ figures: [], coverage: { spanMs: 5000, coveredMs: 0, gapMs: 5000 } }]);
  });

  test('a unit that cannot be brought over stands apart', () => {
    const series = createSeries();
    addSample(series, START, [ppm(10)], 1000);
    addSample(series, START + 1000, [{ channel: 'co', value: 10, unit: 'mg/m3' }], 1000);
    addSample(series, START + 2000, [{ channel: 'co', value: 10_000, unit: 'ppb' }], 1000);
    const person = personExposure(() => series, [{ monitor: 'M-1', fromMs: START, toMs: null }], START + 3000);
    expect(person.channels[0]?.figures).toMatchObject([
      { unit: 'ppm', canonical: true, coveredMs: 2000, sum: { digits: 2n, exponent: 4 } },
      { unit: 'mg/m3', canonical: false, coveredMs: 1000 },
    ]);
    expect(person.channels[0]?.coverage.coveredMs).toBe(3000);
  });

  test('an instant that is none is a fault of the caller', () => {
    expect(() => personExposure(() => undefined, [], Number.NaN)).toThrow(RangeError);
  });

  test('the gap before the first sample of a long series is still known when that is in bins', () => {
    const series = createSeries();
    for (let at = START; at < START + 4 * 3_600_000; at += 5000) addSample(series, at, [ppm(1)], 10_000);
    const person = personExposure(
      () => series,
      [{ monitor: 'M-1', fromMs: START - 7000, toMs: null }],
      START + 4 * 3_600_000,
    );
    expect(person.channels[0]?.coverage.gaps).toEqual({ from: [START - 7000], to: [START] });
  });
});

test('of overlapping intervals the one that began later counts, and no time counts twice', () => {
  const spans = wornSpans(
    [
      { monitor: 'M-2', fromMs: 50, toMs: null },
      { monitor: 'M-1', fromMs: 0, toMs: 80 },
      { monitor: 'M-2', fromMs: 60, toMs: 70 },
    ],
    10,
    100,
  );
  expect(spans).toEqual([
    { monitor: 'M-1', fromMs: 10, toMs: 50 },
    { monitor: 'M-2', fromMs: 50, toMs: 70 },
  ]);
});

describe('a backlog', () => {
  test('leaves at most four chunks thawed, and none once the next chunk is sealed', () => {
    const series = createSeries();
    const every = (from: number, to: number) => {
      for (let second = from; second < to; second += 1)
        addSample(series, START + second * 1000, [ppm(second % 9)], 5000);
    };
    every(0, 4000);
    const chunks = series.channels[0]?.chunks ?? [];
    for (let second = 100; second < 3400; second += 30) addSample(series, START + second * 1000 + 500, [ppm(3)], 5000);
    const thawed = () => chunks.filter((chunk) => !isSealed(chunk)).length;
    expect(thawed()).toBeGreaterThan(0);
    expect(thawed()).toBeLessThan(5);
    every(4000, 4300);
    expect(thawed()).toBe(0);
  });
});

describe('sealing a plain run', () => {
  // A run with one more digit than a plain one may have goes the general way: the rest must read the same.
  test.each([0, 1, 2, 4])('gives the same totals and samples as the general way, %i decimals', (decimals) => {
    const value = Array.from({ length: 200 }, (_, n) => (((n * 7919) % 2003) - 40) / 10 ** decimals);
    const at = value.map((_, n) => START + n * 1000 + (n % 17 === 0 ? 700 : 0) + Math.floor(n / 50) * 60_000);
    const plain = { at, value, code: value.map(() => 1), hold: value.map(() => 1500) };
    const bytes = sealChunk(plain, 0, 200);
    expect(openChunk(bytes, START + 700)).toEqual(plain);
    // one sample of another hold, each half sealed by itself: totals add up to the whole
    const mixed = { ...plain, hold: plain.hold.map((hold, n) => (n === 199 ? 9 : hold)) };
    const general = sealChunk(mixed, 0, 200);
    const totals = (rows: readonly Row[]) => {
      const all: Row[] = [{ ...createRow(0), decimals }];
      for (const row of rows) mergeRow(all, row);
      return all;
    };
    expect(totals(chunkTotals(bytes))).toEqual(totals(chunkTotals(general)));
    expect(chunkFirst(bytes, START)).toEqual(chunkFirst(general, START));
    expect(chunkLast(bytes, START)).toEqual({ ...chunkLast(general, START), hold: 1500 });
  });
});

test('sums stay exact where two of them are beyond what a double holds', () => {
  const rows: Row[] = [];
  mergeRow(rows, { ...createRow(0), hold: 2 ** 52 - 2, trapezoid2: 2 ** 52 - 2 });
  mergeRow(rows, { ...createRow(0), hold: 2 ** 53 - 1, trapezoid2: 2 ** 53 - 1 });
  const [row = createRow(0)] = rows;
  expect(BigInt(holdOf(row))).toBe(2n ** 52n + 2n ** 53n - 3n);
  expect(BigInt(trapezoid2Of(row))).toBe(2n ** 52n + 2n ** 53n - 3n);
});

describe('shareOfLimit', () => {
  const limit = { channel: 'gamma', value: 5, unit: 'mR/h', source: 'none' };
  test('brings both to one unit, and takes no bare number', () => {
    expect(shareOfLimit('gamma', 2500, 'uR/h', limit)).toMatchObject({ ok: true, share: 0.5 });
    expect(shareOfLimit('gamma', 2500, '', limit)).toEqual({ ok: false, problem: 'unit-missing' });
    expect(shareOfLimit('gamma', -5, 'uR/h', limit)).toMatchObject({ ok: true, share: 0 });
    expect(shareOfLimit('gamma', 1, 'mR/h', { ...limit, value: 0 })).toMatchObject({ problem: 'limit-not-positive' });
  });
});

// Worked by hand from the definitions.
describe('projection', () => {
  test('a sum at a steady rate, and along a line: 50 t + 5 t² = 300 at 4.22 min', () => {
    expect(projectSum(100, 400, steady(50))).toMatchObject({
      minutes: 6,
      governs: 'rate',
      samples: 60,
      spanMs: 59_000,
    });
    const along = projectSum(100, 400, rising(50, 10));
    expect(along.minutes).toBeCloseTo((-50 + Math.sqrt(2500 + 6000)) / 10, 9);
    expect(along).toMatchObject({ governs: 'trend', atRate: 6 });
    // 50 t − 2 t²: the line reaches 0 after 12.5 min with 312.5, just enough; with 320 to go it never gets there
    expect(projectSum(0, 312.5, rising(50, -4)).atTrend).toBeCloseTo(12.5, 9);
    expect(projectSum(0, 320, rising(50, -4))).toMatchObject({ atTrend: null, minutes: 6.4, governs: 'rate' });
  });

  test('a TWA of 10 with a limit of 25 at 120 ppm: 15 × 480 / 120 = 60 min; a dose of 900 of 1000 µR at 50 µR/h: 2 h', () => {
    expect(projectTwa(10, 25, steady(120)).minutes).toBeCloseTo(60, 9);
    expect(projectDose(900, 1000, steady(50)).minutes).toBeCloseTo(120, 9);
  });

  test('is 0 when reached, and null with a reason', () => {
    expect(projectSum(400, 400, steady(0))).toMatchObject({ minutes: 0, governs: 'reached' });
    expect(projectSum(0, 400, steady(-3))).toMatchObject({ minutes: null, reason: 'not-at-this-rate' });
    const nothing = presentOf([], []);
    expect(projectSum(0, 400, nothing)).toMatchObject({
      minutes: null,
      reason: 'no-reading',
      trendReason: 'too-few-samples',
    });
    expect(projectCeiling(20, presentOf([0, 1e6], [5, 6]))).toMatchObject({
      minutes: null,
      trendReason: 'too-few-samples',
    });
  });

  test('a ceiling is reached by trend alone', () => {
    const at = [0, 10, 20, 30, 40].map((second) => second * 1e6);
    expect(projectCeiling(20, presentOf(at, [6, 7, 8, 9, 10])).minutes).toBeCloseTo(10 / 6, 9);
    expect(projectCeiling(20, steady(21))).toMatchObject({ minutes: 0, governs: 'reached' });
  });

  test('the 15-minute window loses what leaves it: 10 min at 30, then 5 at 0, now 60, limit 35 ppm', () => {
    const series = createSeries();
    const value = (ms: number) => (ms < 10 * MINUTE_MS ? 30 : 0);
    for (let ms = 0; ms < STEL_MS; ms += 5000) addSample(series, START + ms, [ppm(value(ms))], 10_000);
    const wearing = [{ monitor: 'M-1', fromMs: START, toMs: null }];
    const slices = stelSlices(() => series, wearing, 'co', 'ppm', START + STEL_MS);
    expect(slices).toHaveLength(90);
    expect(slices.reduce((sum, slice) => sum + slice, 0)).toBeCloseTo(300, 9);
    // 300 + 60 t − 30 t = 525 at 7.5 min; were nothing to leave it would be 3.75
    expect(projectStel(slices, 35, steady(60)).minutes).toBeCloseTo(7.5, 9);
    expect(projectStel(slices, 35, steady(30))).toMatchObject({ minutes: null, reason: 'not-within-15-min' });
    expect(projectStel(slices, 20, steady(0))).toMatchObject({ minutes: 0, governs: 'reached' });
  });
});
