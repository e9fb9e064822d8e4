import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { addSums, type ExactSum, STEL_MS, ZERO_SUM } from '../../shared/exposure/exact-sum.ts';
import { integral } from '../../shared/exposure/integral.ts';
import { type Figure, type PersonExposure, personExposure } from '../../shared/exposure/person.ts';
import { stelSlices } from '../../shared/exposure/projection.ts';
import { addSample, createSeries, type ExposureReading, type Series } from '../../shared/exposure/series.ts';
import { worstEightHours } from '../../shared/exposure/twa.ts';
import type { Wearing } from '../../shared/exposure/wearing.ts';

// The reference below shares nothing with the code under test: whole big integers, summed sample by sample.

const START = 1_700_000_000_000;
const MONITORS = ['M-1', 'M-2', 'M-3'];
/** The finest value that is generated: 10^-6 ppm. */
const FINEST = 1_000_000n;

type Given = { monitor: string; at: number; hold: number; heardAt: number; reading: ExposureReading };

const ppm = fc.integer({ min: -20, max: 5000 }).map((tenths) => ({ channel: 'co', value: tenths / 10, unit: 'ppm' }));
const ppb = fc.integer({ min: -50, max: 900_000 }).map((whole) => ({ channel: 'co', value: whole, unit: 'ppb' }));
const reading: fc.Arbitrary<ExposureReading> = fc.oneof(
  { weight: 8, arbitrary: ppm },
  { weight: 2, arbitrary: ppb },
  { weight: 1, arbitrary: fc.constant({ channel: 'co', value: null }) },
  { weight: 1, arbitrary: fc.constant({ channel: 'co', value: null, overRange: true, unit: 'ppm' }) },
);

/** Readings of three monitors, each time measured once, with delays below the late horizon. */
const pattern = fc.record({
  steps: fc.array(fc.constantFrom(1000, 1000, 997, 2000, 5003, 25_000), { minLength: 3, maxLength: 9 }),
  holds: fc.array(fc.constantFrom(500, 10_000, 10_000, 30_000), { minLength: 1, maxLength: 5 }),
  readings: fc.array(reading, { minLength: 4, maxLength: 25 }),
  delays: fc.array(fc.constantFrom(0, 0, 0, 3000, 400_000, 1_500_000, 6_000_000), { minLength: 1, maxLength: 12 }),
});

type Pattern = { steps: number[]; holds: number[]; readings: ExposureReading[]; delays: number[] };

function unrolled(patterns: readonly Pattern[], count: number): Given[] {
  return MONITORS.flatMap((monitor, index): Given[] => {
    const { steps = [], holds = [], readings = [], delays = [] } = patterns[index] ?? {};
    let at = START + index * 333;
    return Array.from({ length: count }, (_, n): Given => {
      at += steps[n % steps.length] ?? 1000;
      const chosen = readings[(n * 7) % readings.length] ?? { channel: 'co', value: null };
      const hold = holds[n % holds.length] ?? 1000;
      return { monitor, at, hold, reading: chosen, heardAt: at + (delays[(n >> 3) % delays.length] ?? 1) };
    });
  });
}
const byArrival = (given: readonly Given[]) => [...given].sort((a, b) => a.heardAt - b.heardAt);

/** Hand-overs at shares of the whole time; a person now and then wears nothing. */
const handOvers = fc.array(
  fc.record({ share: fc.integer({ min: -20, max: 1000 }), monitor: fc.constantFrom(...MONITORS, null) }),
  { minLength: 1, maxLength: 6 },
);
function wearingOf(overs: readonly { share: number; monitor: string | null }[], spanMs: number): Wearing {
  const sorted = [...overs].sort((a, b) => a.share - b.share);
  return sorted.flatMap(({ share, monitor }, index) => {
    const next = sorted[index + 1];
    if (monitor === null || share === next?.share) return [];
    const at = (part: number) => START + Math.round((spanMs * part) / 1000);
    return [{ monitor, fromMs: at(share), toMs: next === undefined ? null : at(next.share) }];
  });
}

function world(): {
  add: (given: Given) => void;
  of: (monitor: string) => Series | undefined;
  clone: () => (monitor: string) => Series | undefined;
} {
  const all = new Map<string, Series>(MONITORS.map((monitor) => [monitor, createSeries()]));
  return {
    add: ({ monitor, at, hold, reading: one }) => {
      const series = all.get(monitor);
      if (series !== undefined) addSample(series, at, [one], hold);
    },
    of: (monitor) => all.get(monitor),
    clone: () => {
      const copy = structuredClone(all);
      return (monitor) => copy.get(monitor);
    },
  };
}

const finest = (value: number) => BigInt(Math.round(value * Number(FINEST)));

type Expected = { sum: bigint; coveredMs: number; overRangeMs: number; values: number[]; gaps: [number, number][] };

function reference(given: readonly Given[], wearing: Wearing, from: number, to: number): Expected {
  const found: Expected = { sum: 0n, coveredMs: 0, overRangeMs: 0, values: [], gaps: [] };
  const taken: [number, number][] = [];
  for (const interval of wearing) {
    const [start, end] = [Math.max(from, interval.fromMs), Math.min(to, interval.toMs ?? Infinity)];
    const samples = given.filter(({ monitor }) => monitor === interval.monitor).sort((a, b) => a.at - b.at);
    samples.forEach(({ at, hold, reading: one }, index) => {
      if (one.value === null && one.overRange !== true) return;
      const a = Math.max(at, start);
      const b = Math.min(at + hold, samples[index + 1]?.at ?? Infinity, end);
      if (b > a) taken.push([a, b]);
      const value = one.value === null ? null : one.unit === 'ppb' ? one.value / 1000 : one.value;
      if (value === null) {
        found.overRangeMs += Math.max(0, b - a);
        return;
      }
      if (b > a || (at >= start && at < end)) found.values.push(value);
      if (b <= a) return;
      found.coveredMs += b - a;
      if (value > 0) found.sum += finest(value) * BigInt(b - a);
    });
  }
  let reached = from;
  for (const [a, b] of taken.sort((x, y) => x[0] - y[0])) {
    if (a > reached) found.gaps.push([reached, a]);
    reached = Math.max(reached, b);
  }
  if (to > reached) found.gaps.push([reached, to]);
  return found;
}

const inFinest = ({ digits, exponent }: ExactSum): bigint => digits * 10n ** BigInt(6 + exponent);
const coOf = (person: PersonExposure) => person.channels.find(({ channel }) => channel === 'co');
const only = (figures: readonly Figure[] | undefined): Figure | undefined => {
  expect((figures ?? []).length).toBeLessThan(2);
  return figures?.[0];
};

describe('exposure of a person', () => {
  test('equals the sum sample by sample, whoever wore what, in any order of arrival, asked at any time', () => {
    fc.assert(
      fc.property(fc.array(pattern, { minLength: 3, maxLength: 3 }), handOvers, (patterns, overs) => {
        const given = unrolled(patterns, 700);
        const end = Math.max(...given.map(({ at }) => at));
        // within the horizon, where every figure is exact to the millisecond
        const kept = given.filter(({ at }) => at > end - 7_000_000);
        const wearing = wearingOf(overs, end - START);
        const { add, of } = world();
        byArrival(kept).forEach((one, index) => {
          add(one);
          if (index % 97 !== 0 && index < kept.length - 1) return;
          const last = index === kept.length - 1;
          const at = last ? end + 4000 : one.at + (index % 5) * 2111;
          const from = last ? end - 7_000_000 : Math.min(at, end - 7_000_000);
          const person = personExposure(of, wearing, at, { shiftFromMs: from, channels: ['co'] });
          if (!last) return;
          const want = reference(kept, wearing, from, at);
          const co = coOf(person);
          const figure = only(co?.figures);
          expect(figure === undefined ? 0n : inFinest(figure.sum)).toBe(want.sum);
          expect(co?.coverage).toMatchObject({ coveredMs: want.coveredMs, overRangeMs: want.overRangeMs });
          const gaps = co?.coverage.gaps ?? { from: [], to: [] };
          expect(gaps.from.map((start, gap) => [start, gaps.to[gap]])).toEqual(want.gaps);
          expect(figure?.peak ?? null).toBe(want.values.length === 0 ? null : Math.max(...want.values) + 0);
          expect(figure?.minimum ?? null).toBe(want.values.length === 0 ? null : Math.min(...want.values) + 0);
          const window = reference(kept, wearing, at - STEL_MS, at);
          expect(figure?.stel == null ? 0n : inFinest(figure.stel.sum)).toBe(window.sum);
          expect(figure?.stel?.coveredMs ?? 0).toBe(window.coveredMs);
          const slices = stelSlices(of, wearing, 'co', 'ppm', at);
          const total = slices.reduce((sum, slice) => sum + slice, 0);
          expect(total).toBeCloseTo(Number(window.sum) / 60_000 / Number(FINEST), 6);
        });
      }),
      { numRuns: 25, endOnFailure: true },
    );
  }, 60_000);

  test('over many hours: what is kept between questions never shows, nor does the order of arrival', () => {
    fc.assert(
      fc.property(fc.array(pattern, { minLength: 3, maxLength: 3 }), handOvers, (patterns, overs) => {
        const slow = patterns.map((one) => ({ ...one, steps: [...one.steps, 5003, 25_000] }));
        const given = unrolled(slow, 2500);
        const end = Math.max(...given.map(({ at }) => at));
        const wearing = wearingOf(overs, end - START);
        const { add, of, clone } = world();
        byArrival(given).forEach((one, index) => {
          add(one);
          if (index % 611 !== 0) return;
          for (const at of [one.at, one.heardAt + 1500]) {
            const fresh = clone();
            expect(personExposure(of, wearing, at)).toEqual(personExposure(fresh, wearing, at));
          }
        });
        const inOrder = world();
        given.forEach(inOrder.add);
        const at = end + 2500;
        const person = personExposure(of, wearing, at);
        expect(person).toEqual(personExposure(inOrder.of, wearing, at));
        expect(worstEightHours(of, wearing, 'co', at)).toEqual(worstEightHours(inOrder.of, wearing, 'co', at));
      }),
      { numRuns: 10, endOnFailure: true },
    );
  }, 60_000);

  test('cutting the intervals changes nothing; persons that share a monitor in turn add up to it', () => {
    const cuts = fc.array(fc.integer({ min: 0, max: 1000 }), { minLength: 1, maxLength: 5 });
    fc.assert(
      fc.property(fc.array(pattern, { minLength: 3, maxLength: 3 }), handOvers, cuts, (patterns, overs, shares) => {
        const given = unrolled(patterns, 1500);
        const end = Math.max(...given.map(({ at }) => at));
        const { add, of } = world();
        given.forEach(add);
        const at = end + 2500;
        const bounds = shares.map((share) => START + Math.round(((end - START) * share) / 1000)).sort((a, b) => a - b);
        const wearing = wearingOf(overs, end - START);
        const cut = wearing.flatMap((interval) => {
          const within = bounds.filter((x) => x > interval.fromMs && x < (interval.toMs ?? Infinity));
          const all = [interval.fromMs, ...within];
          return all.map((fromMs, index) => ({ ...interval, fromMs, toMs: all[index + 1] ?? interval.toMs }));
        });
        expect(personExposure(of, cut, at)).toEqual(personExposure(of, wearing, at));

        const turns = [START - 1000, ...bounds];
        const sums = [0, 1].map((who) => {
          const own = turns
            .map((fromMs, index) => ({ monitor: 'M-1', fromMs, toMs: turns[index + 1] ?? null }))
            .filter((_, index) => index % 2 === who);
          const figure = only(coOf(personExposure(of, own, at, { shiftFromMs: START - 1000 }))?.figures);
          return { sum: figure?.sum ?? ZERO_SUM, coveredMs: figure?.coveredMs ?? 0 };
        });
        const series = of('M-1');
        const whole = series === undefined ? [] : integral(series, 'co', START - 1000, at, 'hold');
        const total = whole.reduce((sum, row) => {
          const { digits, exponent } = row.sum;
          return addSums(sum, { digits, exponent: row.unit === 'ppb' ? exponent - 3 : exponent });
        }, ZERO_SUM);
        expect(addSums(sums[0]?.sum ?? ZERO_SUM, sums[1]?.sum ?? ZERO_SUM)).toEqual(addSums(total, ZERO_SUM));
        const covered = whole.reduce((sum, row) => sum + row.coveredMs, 0);
        expect((sums[0]?.coveredMs ?? 0) + (sums[1]?.coveredMs ?? 0)).toBe(covered);
      }),
      { numRuns: 20, endOnFailure: true },
    );
  }, 60_000);
});
