import { describe, expect, test } from 'vitest';
import { doseOf } from '../../shared/exposure/dose.ts';
import { HOUR_MS, SHIFT_MS, STEL_MS } from '../../shared/exposure/exact-sum.ts';
import type { ExposureLimit } from '../../shared/exposure/limits.ts';
import { mixture } from '../../shared/exposure/mixture.ts';
import { type ChannelExposure, type Figure, personExposure } from '../../shared/exposure/person.ts';
import { addSample, createSeries, type ExposureReading, type Series } from '../../shared/exposure/series.ts';
import { stayTime } from '../../shared/exposure/stay-time.ts';
import { worstEightHours } from '../../shared/exposure/twa.ts';
import type { Wearing } from '../../shared/exposure/wearing.ts';

const START = Date.UTC(2026, 4, 14, 8);
const MINUTE = 60_000;
const HOLD = 10_000;

/** A reading every `everyMs` over [fromMs, toMs), counted from the start of the shift. */
function run(series: Series, fromMs: number, toMs: number, readings: ExposureReading[], everyMs = 5000): void {
  for (let at = fromMs; at < toMs; at += everyMs) addSample(series, START + at, readings, HOLD);
}
const co = (value: number): ExposureReading => ({ channel: 'co', value, unit: 'ppm' });
const gamma = (value: number, unit = 'uR/h'): ExposureReading => ({ channel: 'gamma', value, unit });
const worn: Wearing = [{ monitor: 'M-1', fromMs: START, toMs: null }];

function exposureOf(series: Series | Record<string, Series>, channel: string, atMs: number, wearing = worn) {
  const known: Record<string, Series> =
    'channels' in series && Array.isArray(series.channels) ? one(series) : many(series);
  const person = personExposure((monitor) => known[monitor], wearing, START + atMs, { shiftFromMs: START });
  const found = person.channels.find((each) => each.channel === channel);
  if (found === undefined) throw new Error(`no ${channel}`);
  return found;
}
const one = (series: Series | Record<string, Series>) => ({ 'M-1': series }) as Record<string, Series>;
const many = (series: Series | Record<string, Series>) => series as Record<string, Series>;
function figureOf(exposure: ChannelExposure): Figure {
  const [figure] = exposure.figures;
  if (figure === undefined) throw new Error('no figure');
  return figure;
}

describe('8-hour average of a person, 29 CFR 1910.1000(d)(1)', () => {
  test("OSHA's worked example, 2 h at 150, 2 h at 75, 4 h at 50 ppm: 81.25 ppm", () => {
    const series = createSeries();
    run(series, 0, 2 * HOUR_MS, [co(150)]);
    run(series, 2 * HOUR_MS, 4 * HOUR_MS, [co(75)]);
    run(series, 4 * HOUR_MS, SHIFT_MS, [co(50)]);
    const exposure = exposureOf(series, 'co', SHIFT_MS);
    expect(figureOf(exposure).twa).toMatchObject({ value: 81.25, form: 'shift-up-to-8h', partial: false });
    expect(exposure.lowerBound).toBe(false);
  });

  // Calculated from the same formula: 3 × 100 / 8; and the same again over two monitors.
  test('trap 4: 3 h at 100 ppm is 37.5, divided by 8 h, and a change of monitor restarts nothing', () => {
    const first = createSeries();
    const second = createSeries();
    run(first, 0, HOUR_MS, [co(100)]);
    run(second, HOUR_MS, 3 * HOUR_MS, [co(100)]);
    const wearing: Wearing = [
      { monitor: 'M-1', fromMs: START, toMs: START + HOUR_MS },
      { monitor: 'M-2', fromMs: START + HOUR_MS, toMs: null },
    ];
    const exposure = exposureOf({ 'M-1': first, 'M-2': second }, 'co', 3 * HOUR_MS, wearing);
    expect(figureOf(exposure).twa?.value).toBe(37.5);
    expect(exposure.coverage).toMatchObject({ spanMs: 3 * HOUR_MS, wornMs: 3 * HOUR_MS, coveredMs: 3 * HOUR_MS });
    run(second, 3 * HOUR_MS, SHIFT_MS, [co(0)]);
    const whole = exposureOf({ 'M-1': first, 'M-2': second }, 'co', SHIFT_MS, wearing);
    expect(figureOf(whole).twa).toMatchObject({ value: 37.5, partial: false });
  });

  // Calculated: 12 × 100 / 8; the regulation speaks of "any 8-hour work shift", so both forms are given by name.
  test('12 h at 100 ppm: 150 as the sum over 8 h, 100 in the worst 8 h', () => {
    const series = createSeries();
    run(series, 0, 12 * HOUR_MS, [co(100)]);
    const exposure = exposureOf(series, 'co', 12 * HOUR_MS);
    expect(figureOf(exposure).twa).toMatchObject({ value: 150, form: 'longer-shift-over-8h', shiftMs: 12 * HOUR_MS });
    const windows = worstEightHours(() => series, worn, 'co', START + 12 * HOUR_MS);
    expect(windows).toMatchObject([{ value: 100, unit: 'ppm', form: 'worst-8h-window' }]);
  });

  // Calculated: 8 h at 90 between 2 h at 10 on either side.
  test('the worst 8 h are found where they are', () => {
    const series = createSeries();
    run(series, 0, 2 * HOUR_MS, [co(10)]);
    run(series, 2 * HOUR_MS, 10 * HOUR_MS, [co(90)]);
    run(series, 10 * HOUR_MS, 12 * HOUR_MS, [co(10)]);
    const at = START + 12 * HOUR_MS;
    expect(worstEightHours(() => series, worn, 'co', at)).toMatchObject([
      { value: 90, fromMs: START + 2 * HOUR_MS, toMs: START + 10 * HOUR_MS },
    ]);
    // 60 ppm in two half minutes that only the window ending now, off the whole minute, has both of
    const halves = createSeries();
    run(halves, 0, HOUR_MS + 30_000, [co(0)]);
    run(halves, HOUR_MS + 30_000, HOUR_MS + MINUTE, [co(60)]);
    run(halves, HOUR_MS + MINUTE, 9 * HOUR_MS, [co(0)]);
    run(halves, 9 * HOUR_MS, 9 * HOUR_MS + 30_000, [co(60)]);
    expect(worstEightHours(() => halves, worn, 'co', START + 9 * HOUR_MS + 30_000)).toMatchObject([
      { value: 0.125, fromMs: START + HOUR_MS + 30_000, toMs: START + 9 * HOUR_MS + 30_000 },
    ]);
  });

  test('trap 5: reporting faster during a peak does not weigh more', () => {
    const series = createSeries();
    run(series, 0, MINUTE, [co(0)], 10_000);
    run(series, MINUTE, 2 * MINUTE, [co(240)], 250);
    expect(figureOf(exposureOf(series, 'co', 2 * MINUTE)).twa?.value).toBe(0.5);
  });

  test('trap 6: what was not measured is a gap and no 0, also while no monitor was worn', () => {
    const series = createSeries();
    run(series, 0, MINUTE, [co(40)]);
    run(series, 10 * MINUTE, 11 * MINUTE, [co(40)]);
    const wearing: Wearing = [
      { monitor: 'M-1', fromMs: START, toMs: START + 11 * MINUTE },
      { monitor: 'M-1', fromMs: START + 20 * MINUTE, toMs: null },
    ];
    const { coverage, figures, lowerBound } = exposureOf(series, 'co', 25 * MINUTE, wearing);
    // a reading stands for 10 s: the first gap begins 5 s after the minute
    expect(coverage.gaps).toEqual({
      from: [START + MINUTE + 5000, START + 11 * MINUTE],
      to: [START + 10 * MINUTE, START + 25 * MINUTE],
    });
    const gapMs = 9 * MINUTE - 5000 + 14 * MINUTE;
    expect(coverage).toMatchObject({ spanMs: 25 * MINUTE, wornMs: 16 * MINUTE, coveredMs: 2 * MINUTE + 5000, gapMs });
    expect(figures[0]).toMatchObject({ minimum: 40, twa: { partial: true } });
    expect(lowerBound).toBe(true);
  });
});

describe('15-minute average of a person', () => {
  // Calculated: (5 × 60 + 10 × 5) / 15.
  test('5 min at 60 and 10 min at 5 ppm: 23.333 ppm', () => {
    const series = createSeries();
    run(series, 0, 5 * MINUTE, [co(60)]);
    run(series, 5 * MINUTE, 15 * MINUTE, [co(5)]);
    const { stel } = figureOf(exposureOf(series, 'co', STEL_MS));
    expect(stel?.value).toBeCloseTo(350 / 15, 12);
    expect(stel?.partial).toBe(false);
    // a minute later a minute at 60 has left the window: (4 × 60 + 11 × 5) / 15
    run(series, 15 * MINUTE, 16 * MINUTE, [co(5)]);
    expect(figureOf(exposureOf(series, 'co', 16 * MINUTE)).stel?.value).toBeCloseTo(295 / 15, 12);
  });

  test('trap 7: a window that is not full is divided by 15 min all the same and labelled partial', () => {
    const series = createSeries();
    run(series, 0, 3 * MINUTE, [co(60)]);
    const { stel } = figureOf(exposureOf(series, 'co', 3 * MINUTE));
    expect(stel).toMatchObject({ value: 12, partial: true, coveredMs: 3 * MINUTE, spanMs: STEL_MS });
  });

  test('trap 8: the peak is the highest reading itself, not an average', () => {
    const series = createSeries();
    run(series, 0, 15 * MINUTE, [co(5)]);
    addSample(series, START + 7 * MINUTE + 1000, [co(250)], HOLD);
    const figure = figureOf(exposureOf(series, 'co', STEL_MS));
    expect(figure).toMatchObject({ peak: 250, worst: 250 });
    expect(figure.stel?.value).toBeLessThan(10);
  });
});

describe('what must not be averaged', () => {
  test('trap 12: negative readings are shown raw and give no credit', () => {
    const series = createSeries();
    run(series, 0, 4 * MINUTE, [co(-3)], 500);
    run(series, 4 * MINUTE, 8 * MINUTE, [co(12)], 500);
    const figure = figureOf(exposureOf(series, 'co', 8 * MINUTE));
    expect(figure).toMatchObject({ minimum: -3, twa: { value: 0.1 }, coveredMs: 8 * MINUTE });
  });

  test('trap 13: over-range is time above the range and never a number; a NaN is missing', () => {
    const series = createSeries();
    run(series, 0, MINUTE, [co(400)]);
    run(series, MINUTE, 2 * MINUTE, [{ channel: 'co', value: null, overRange: true }]);
    run(series, 2 * MINUTE, 3 * MINUTE, [co(Number.NaN)]);
    const { coverage, figures, lowerBound } = exposureOf(series, 'co', 3 * MINUTE);
    expect(figures).toMatchObject([{ peak: 400, coveredMs: MINUTE, sum: { digits: 24n, exponent: 6 } }]);
    expect(coverage).toMatchObject({ overRangeMs: MINUTE, gapMs: MINUTE, gapCount: 1 });
    expect(lowerBound).toBe(true);
  });

  test('trap 15: for oxygen the minimum is the extreme, and there is no average', () => {
    const series = createSeries();
    const oxygen = (value: number): ExposureReading => ({ channel: 'o2', value, unit: '%vol' });
    run(series, 0, MINUTE, [oxygen(20.9)]);
    addSample(series, START + MINUTE, [oxygen(18.4)], HOLD);
    run(series, MINUTE + 1000, 2 * MINUTE, [oxygen(21)]);
    expect(figureOf(exposureOf(series, 'o2', 2 * MINUTE))).toMatchObject({
      worst: 18.4,
      peak: 21,
      stel: null,
      twa: null,
    });
  });
});

describe('mixture, 29 CFR 1910.1000(d)(2)', () => {
  const limit = (channel: string, value: number, unit = 'ppm'): ExposureLimit => ({
    channel,
    value,
    unit,
    source: '29 CFR 1910.1000(d)(2)(ii), worked example',
  });
  const limits = [limit('b', 1000), limit('c', 200), limit('d', 200)];

  test("OSHA's worked example: 500/1000 + 45/200 + 40/200 = 0.925, within limits", () => {
    const concentrations = [
      { channel: 'b', value: 500, unit: 'ppm' },
      { channel: 'c', value: 45, unit: 'ppm' },
      { channel: 'd', value: 40, unit: 'ppm' },
    ];
    const result = mixture(concentrations, limits);
    expect(result.em).toBeCloseTo(0.925, 12);
    expect(result).toMatchObject({ exceeded: false, complete: true, leftOut: [] });
    // unity itself is within, above it is not
    expect(mixture([{ channel: 'b', value: 1000, unit: 'ppm' }], limits).exceeded).toBe(false);
    expect(mixture([{ channel: 'b', value: 1001, unit: 'ppm' }], limits).exceeded).toBe(true);
  });

  test('a unit is brought over, and what cannot be counted is said', () => {
    expect(mixture([{ channel: 'voc', value: 350, unit: 'ppb' }], [limit('voc', 1)]).em).toBe(0.35);
    const result = mixture(
      [
        { channel: 'b', value: 500, unit: null },
        { channel: 'c', value: 45, unit: 'mg/m3' },
        { channel: 'd', value: null, unit: 'ppm' },
        { channel: 'e', value: 1, unit: 'ppm' },
      ],
      limits,
    );
    expect(result).toMatchObject({ em: null, complete: false, exceeded: false });
    expect(result.leftOut.map(({ problem }) => problem)).toEqual([
      'unit-missing',
      'units-differ',
      'no-value',
      'no-limit',
    ]);
  });
});

describe('gamma dose', () => {
  // Calculated: the mean of 30 and 60 mR/h over 1/60 h.
  test('30 and 60 mR/h one minute apart: 0.75 mR', () => {
    const series = createSeries();
    addSample(series, START, [gamma(30, 'mR/h')], 2 * MINUTE);
    addSample(series, START + MINUTE, [gamma(60, 'mR/h')], 2 * MINUTE);
    expect(doseOf(exposureOf(series, 'gamma', MINUTE), null)?.totalUR).toBe(750);
  });

  test('trap 3: units are brought to one, exactly, and add up', () => {
    const series = createSeries();
    addSample(series, START, [gamma(9000)], HOLD);
    addSample(series, START + 1000, [gamma(9000)], HOLD);
    addSample(series, START + 2000, [gamma(0.09, 'mSv/h')], HOLD);
    addSample(series, START + 3000, [gamma(0.09, 'mSv/h')], HOLD);
    expect(figureOf(exposureOf(series, 'gamma', 3000))).toMatchObject({
      unit: 'uR/h',
      sum: { digits: 18n, exponent: 6 },
      coveredMs: 2000,
      peak: 9000,
    });
  });

  test('trap 26: background is in the total and shown apart over the covered time; a gap adds nothing but is said', () => {
    const series = createSeries();
    run(series, 0, HOUR_MS + 1, [gamma(21)], 5000);
    const dose = doseOf(exposureOf(series, 'gamma', 2 * HOUR_MS), 7);
    expect(dose).toMatchObject({
      totalUR: 21,
      backgroundUR: 7,
      coveredMs: HOUR_MS,
      partial: true,
      uncoveredAtPeakUR: 21,
    });
    expect(doseOf(exposureOf(series, 'gamma', HOUR_MS), null)?.backgroundUR).toBeNull();
  });
});

// Calculated: t = (limit − accumulated − dose of the way out) / rate.
describe('trap 26: stay time', () => {
  const stay = (limit: number, accumulated: number, rate: number, exitMinutes = 0, exitRate = 0, background = 0) =>
    stayTime({ limit, accumulated, rate, background, exitMinutes, exitRate });
  const minutes = (...input: Parameters<typeof stay>) => {
    const time = stay(...input);
    if (time.state !== 'minutes') throw new Error(time.state);
    return time.minutes;
  };

  test('5 rem, 0.4 so far, 2 R/h: 138.0 min; 25 at 10 R/h: 2.5 h; 5 at 10 mR/h: 500 h', () => {
    expect(minutes(5, 0.4, 2)).toBeCloseTo(138, 9);
    expect(minutes(25, 0, 10)).toBeCloseTo(150, 9);
    expect(minutes(5, 0, 0.01) / 60).toBeCloseTo(500, 9);
  });

  test('with 6 min out at 450 mR/h: 250.3 min, not 253.3', () => {
    expect(minutes(5000, 1200, 900, 6, 450)).toBeCloseTo(250.33, 2);
    expect(minutes(5000, 1200, 900)).toBeCloseTo(253.33, 2);
  });

  test('never negative: over at the limit, over when the way out takes the rest, no reason to leave at background', () => {
    expect(stay(5000, 5000, 900)).toEqual({ state: 'over', minutes: 0, why: 'limit' });
    expect(stay(5000, 6000, 0)).toEqual({ state: 'over', minutes: 0, why: 'limit' });
    expect(stay(5000, 4960, 900, 6, 450)).toEqual({ state: 'over', minutes: 0, why: 'way-out' });
    expect(stay(5000, 0, 0.007, 6, 0.007, 0.007)).toEqual({ state: 'not-limiting' });
    expect(stay(5000, 0, 0)).toEqual({ state: 'not-limiting' });
    expect(stay(5000, 0, Number.NaN)).toEqual({ state: 'unknown', missing: ['rate'] });
  });
});
