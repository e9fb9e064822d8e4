import { deserialize, serialize } from 'node:v8';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { addSums, ZERO_SUM } from '../../shared/exposure/exact-sum.ts';
import { type Integral, type IntegralKind, integral } from '../../shared/exposure/integral.ts';
import {
  addSample,
  createSeries,
  type ExposureReading,
  LATE_HORIZON_MS,
  type Series,
} from '../../shared/exposure/series.ts';

// The reference below shares nothing with the code under test: fractions of big integers, summed sample by sample.

const START = 1_700_000_000_000;
const CHANNEL = 'voc';
type Given = { at: number; hold: number; reading: ExposureReading };
type Fraction = { top: bigint; bottom: bigint };

function add(series: Series, given: readonly Given[]): Series {
  for (const { at, hold, reading } of given) addSample(series, at, [reading], hold);
  return series;
}

function fractionOf(text: string): Fraction {
  const [digits = '0', power = '0'] = text.split('e');
  const [whole = '0', places = ''] = digits.split('.');
  const exponent = Number(power) - places.length;
  const top = BigInt(whole + places);
  return exponent < 0 ? { top, bottom: 10n ** BigInt(-exponent) } : { top: top * 10n ** BigInt(exponent), bottom: 1n };
}
const plus = (a: Fraction, b: Fraction): Fraction => ({
  top: a.top * b.bottom + b.top * a.bottom,
  bottom: a.bottom * b.bottom,
});
const times = (a: Fraction, by: bigint): Fraction => ({ top: a.top * by, bottom: a.bottom });
const over = (a: Fraction, by: bigint): Fraction => ({ top: a.top, bottom: a.bottom * by });

type Expected = { sum: Fraction; coveredMs: number; overRangeMs: number; samples: number; values: number[] };

/** Rank of two samples of one time: number over over-range over missing, then value, then hold. Units: ppm alone ties. */
function winner(a: Given, b: Given): Given {
  const key = ({ reading, hold }: Given): [number, number, number] => {
    if (reading.value !== null) return [2, reading.unit === 'ppb' ? reading.value / 1000 : reading.value, hold];
    return [reading.overRange === true ? 1 : 0, 0, hold];
  };
  const [x, y] = [key(a), key(b)];
  for (let index = 0; index < 3; index += 1) {
    const [left = 0, right = 0] = [x[index], y[index]];
    if (left !== right) return left > right ? a : b;
  }
  return (a.reading.unit ?? '') <= (b.reading.unit ?? '') ? a : b;
}

function reference(given: readonly Given[], from: number, to: number, kind: IntegralKind): Map<string, Expected> {
  const byTime = new Map<number, Given>();
  for (const one of given) {
    const other = byTime.get(one.at);
    byTime.set(one.at, other === undefined ? one : winner(one, other));
  }
  const sorted = [...byTime.values()].sort((a, b) => a.at - b.at);
  const found = new Map<string, Expected>();
  sorted.forEach((one, index) => {
    const { reading } = one;
    if (reading.value === null && reading.overRange !== true) return;
    const next = sorted[index + 1];
    const end = Math.min(next?.at ?? Infinity, one.at + one.hold);
    const a = Math.max(one.at, from);
    const ms = Math.max(0, Math.min(end, to) - a);
    const measured = one.at >= from && one.at < to;
    if (ms === 0 && !measured) return;
    const unit = reading.unit ?? '';
    const nothing = { sum: { top: 0n, bottom: 1n }, coveredMs: 0, overRangeMs: 0, samples: 0, values: [] };
    const row: Expected = found.get(unit) ?? nothing;
    found.set(unit, row);
    if (reading.value === null) {
      row.overRangeMs += ms;
      return;
    }
    row.values.push(reading.value);
    if (measured) row.samples += 1;
    const first = fractionOf(String(Math.max(0, reading.value)));
    if (kind === 'hold') {
      row.sum = plus(row.sum, times(first, BigInt(ms)));
      row.coveredMs += ms;
      return;
    }
    const after = next?.reading;
    if (next === undefined || after === undefined || after.value === null || after.unit !== unit) return;
    if (next.at - one.at > one.hold || ms === 0) return;
    row.coveredMs += ms;
    const second = fractionOf(String(Math.max(0, after.value)));
    const span = BigInt(next.at - one.at);
    const rise = over(plus(second, times(first, -1n)), span);
    // the mean of the line's values at both ends of the part, times its length
    const middle2 = BigInt(2 * (a - one.at) + ms);
    row.sum = plus(row.sum, over(times(plus(times(first, 2n), times(rise, middle2)), BigInt(ms)), 2n));
  });
  return found;
}

const value = fc.oneof(
  fc.integer({ min: -20, max: 2000 }),
  fc.integer({ min: -50, max: 100_000 }).map((n) => n / 10),
  fc.integer({ min: -50, max: 1_000_000 }).map((n) => n / 1000),
  fc.constantFrom(7e-8, 1.23456789e-7, 999_999_999_999, 123456.789012, 0.000001),
);
const reading: fc.Arbitrary<ExposureReading> = fc.oneof(
  { weight: 10, arbitrary: value.map((n) => ({ channel: CHANNEL, value: n, unit: 'ppm' })) },
  { weight: 2, arbitrary: value.map((n) => ({ channel: CHANNEL, value: n, unit: 'ppb' })) },
  { weight: 1, arbitrary: fc.constant({ channel: CHANNEL, value: null }) },
  { weight: 1, arbitrary: fc.constant({ channel: CHANNEL, value: null, overRange: true, unit: 'ppm' }) },
  { weight: 1, arbitrary: fc.constant({ channel: CHANNEL, value: null, overRange: true }) },
);
const samplesOver = (spanMs: number, maxLength: number) =>
  fc.array(
    fc.record({
      at: fc.oneof(
        fc.integer({ min: 0, max: spanMs }),
        fc.integer({ min: 0, max: 40 }).map((n) => n * 1000),
      ),
      hold: fc.constantFrom(0, 500, 10_000, 10_000, 900_000),
      reading,
    }),
    { minLength: 1, maxLength },
  );
const given = samplesOver(100_000, 60).map((list) => list.map((one) => ({ ...one, at: START + one.at })));
const instant = fc.integer({ min: -5_000, max: 120_000 }).map((n) => START + n);
const kind = fc.constantFrom<IntegralKind>('hold', 'trapezoid');

function shuffled<T>(list: readonly T[], order: readonly number[]): T[] {
  return list
    .map((one, index) => ({ one, key: order[index % order.length] ?? 0, index }))
    .sort((a, b) => a.key - b.key || a.index - b.index)
    .map(({ one }) => one);
}
const order = fc.array(fc.nat(), { minLength: 30, maxLength: 80 });

function joined(parts: readonly Integral[][]): Map<string, unknown> {
  const found = new Map<string, { sum: typeof ZERO_SUM; coveredMs: number; samples: number; overRangeMs: number }>();
  for (const row of parts.flat()) {
    const so = found.get(row.unit) ?? { sum: ZERO_SUM, coveredMs: 0, samples: 0, overRangeMs: 0 };
    found.set(row.unit, {
      sum: addSums(so.sum, row.sum),
      coveredMs: so.coveredMs + row.coveredMs,
      samples: so.samples + row.samples,
      overRangeMs: so.overRangeMs + row.overRangeMs,
    });
  }
  return new Map([...found].filter(([, row]) => row.coveredMs + row.samples + row.overRangeMs > 0));
}

/** What a long series is made from: a change of pace, gaps, and delays under the late horizon. */
const longSeries = fc.record({
  steps: fc.array(fc.constantFrom(1000, 1000, 1000, 4999, 5003, 60_000), { minLength: 10, maxLength: 20 }),
  values: fc.array(reading, { minLength: 10, maxLength: 30 }),
  delays: fc.array(fc.integer({ min: 0, max: 7_000_000 }), { minLength: 10, maxLength: 30 }),
});
type Late = Given & { heardAt: number };

/** 2,000 samples over at least four hours. */
function unrolled(parts: { steps: number[]; values: ExposureReading[]; delays: number[] }): Late[] {
  const steps = [...parts.steps, 60_000, 90_000];
  const { values, delays } = parts;
  let at = START;
  return Array.from({ length: 2000 }, (_, index) => {
    at += steps[index % steps.length] ?? 1000;
    const chosen: ExposureReading = values[(index * 7) % values.length] ?? { channel: CHANNEL, value: null };
    return { at, hold: 10_000, reading: chosen, heardAt: at + (delays[(index * 11) % delays.length] ?? 0) };
  });
}

describe('exposure integral', () => {
  test('equals the brute-force sum in fractions', () => {
    fc.assert(
      fc.property(given, order, instant, instant, kind, (list, keys, one, other, how) => {
        const [from, to] = [Math.min(one, other), Math.max(one, other) + 1];
        const series = add(createSeries(), shuffled(list, keys));
        const rows = integral(series, CHANNEL, from, to, how);
        const expected = reference(list, from, to, how);
        expect(rows.map((row) => row.unit)).toEqual([...expected.keys()].sort());
        for (const row of rows) {
          const want = expected.get(row.unit);
          if (want === undefined) throw new Error('unreachable');
          const got = fractionOf(`${row.sum.digits}e${row.sum.exponent}`);
          const gap = plus(got, times(want.sum, -1n));
          const size = gap.top < 0n ? -gap.top : gap.top;
          // Hold is exact. A trapezoid that a bound cuts in mid-segment may be off by under one digit × 1 ms a bound.
          if (how === 'hold') expect(size).toBe(0n);
          else expect(size <= gap.bottom).toBe(true);
          expect(row.coveredMs).toBe(want.coveredMs);
          expect(row.overRangeMs).toBe(want.overRangeMs);
          expect(row.samples).toBe(want.samples);
          expect(row.peak).toBe(want.values.length === 0 ? null : Math.max(...want.values) + 0);
          expect(row.minimum).toBe(want.values.length === 0 ? null : Math.min(...want.values) + 0);
        }
      }),
      { numRuns: 500 },
    );
  });

  test('a trapezoid over whole segments is exact', () => {
    fc.assert(
      fc.property(given, order, (list, keys) => {
        const series = add(createSeries(), shuffled(list, keys));
        const expected = reference(list, 0, START * 2, 'trapezoid');
        for (const row of integral(series, CHANNEL, 0, START * 2, 'trapezoid')) {
          const got = fractionOf(`${row.sum.digits}e${row.sum.exponent}`);
          const want = expected.get(row.unit)?.sum ?? { top: -1n, bottom: 1n };
          expect(got.top * want.bottom).toBe(want.top * got.bottom);
        }
      }),
    );
  });

  test('does not depend on the order of arrival, nor on samples that come again', () => {
    fc.assert(
      fc.property(given, order, instant, instant, kind, (list, keys, one, other, how) => {
        const [from, to] = [Math.min(one, other), Math.max(one, other) + 1];
        const inOrder = integral(add(createSeries(), list), CHANNEL, from, to, how);
        const mixed = add(add(createSeries(), shuffled(list, keys)), list.slice(0, 20));
        expect(integral(mixed, CHANNEL, from, to, how)).toEqual(inOrder);
      }),
    );
  });

  test('two neighbouring spans add up exactly', () => {
    fc.assert(
      fc.property(given, instant, instant, instant, kind, (list, x, y, z, how) => {
        const [a = 0, b = 0, c = 0] = [x, y, z].sort((left, right) => left - right);
        const series = add(createSeries(), list);
        const parts = [integral(series, CHANNEL, a, b, how), integral(series, CHANNEL, b, c, how)];
        expect(joined(parts)).toEqual(joined([integral(series, CHANNEL, a, c, how)]));
      }),
    );
  });

  test('over many hours, with chunks and bins: any arrival within the horizon, any split', () => {
    // bounds as a share of the whole time, and ms about the line between bins and samples
    const anywhere = fc.integer({ min: -10, max: 1010 }).map((share) => ({ share, aroundMs: 0 }));
    const aboutTheLine = fc.integer({ min: -90_000, max: 90_000 }).map((aroundMs) => ({ share: -1000, aroundMs }));
    const bound = fc.oneof({ weight: 3, arbitrary: anywhere }, { weight: 2, arbitrary: aboutTheLine });
    const queries = fc.array(fc.tuple(bound, bound, bound), { minLength: 12, maxLength: 12 });
    fc.assert(
      fc.property(longSeries, queries, kind, (parts, spans, how) => {
        const list = unrolled(parts);
        const newest = list.at(-1)?.at ?? START;
        const inOrder = add(createSeries(), list);
        const late = add(
          createSeries(),
          [...list].sort((a, b) => a.heardAt - b.heardAt),
        );
        const again = add(structuredClone(late), list.slice(-300));
        expect(late.beyondHorizon).toBe(0);
        expect(inOrder.channels[0]?.bins.bytes.length).toBeGreaterThan(0);
        for (const span of spans) {
          const [a = 0, b = 0, c = 0] = span
            .map(({ share, aroundMs }) =>
              share === -1000
                ? newest - LATE_HORIZON_MS + aroundMs
                : START + Math.round(((newest - START) * share) / 1000),
            )
            .sort((left, right) => left - right);
          const whole = integral(inOrder, CHANNEL, a, c, how);
          expect(integral(late, CHANNEL, a, c, how)).toEqual(whole);
          expect(integral(again, CHANNEL, a, c, how)).toEqual(whole);
          const halves = [integral(late, CHANNEL, a, b, how), integral(late, CHANNEL, b, c, how)];
          expect(joined(halves)).toEqual(joined([whole]));
        }
        // bins are exact where a span starts on whole 10 s (but for the bounds in mid-segment of a trapezoid)
        const [from, to] = [START + 300_000, newest - 600_000];
        const expected = reference(list, from, to, how);
        for (const row of integral(late, CHANNEL, from, to, how)) {
          const got = fractionOf(`${row.sum.digits}e${row.sum.exponent}`);
          const want = expected.get(row.unit);
          const gap = plus(got, times(want?.sum ?? { top: -1n, bottom: 1n }, -1n));
          if (how === 'hold') expect(gap.top).toBe(0n);
          else expect((gap.top < 0n ? -gap.top : gap.top) <= gap.bottom).toBe(true);
          expect(row.coveredMs).toBe(want?.coveredMs);
          expect(row.samples).toBe(want?.samples);
          expect(row.overRangeMs).toBe(want?.overRangeMs);
        }
      }),
      { numRuns: 8, endOnFailure: true },
    );
  }, 60_000);

  test('survives structuredClone, v8 and JSON', () => {
    fc.assert(
      fc.property(given, kind, (list, how) => {
        const series = add(createSeries(), list);
        const whole = integral(series, CHANNEL, START, START + 200_000, how);
        const copies = [structuredClone(series), deserialize(serialize(series)), fromJson(JSON.stringify(series))];
        for (const copy of copies) {
          expect(copy).toEqual(series);
          expect(integral(copy, CHANNEL, START, START + 200_000, how)).toEqual(whole);
        }
      }),
      { numRuns: 50 },
    );
  });
});

function fromJson(text: string): Series {
  return JSON.parse(text);
}
