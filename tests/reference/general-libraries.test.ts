/**
 * Reference check against general libraries that know nothing of this trade: units against mathjs, lines and weighted
 * means against simple-statistics, over random numbers.
 */
import fc from 'fast-check';
import { all, create, type FactoryFunctionMap } from 'mathjs';
import { linearRegression, mean, weightedMean } from 'simple-statistics';
import { describe, expect, test } from 'vitest';
import { trendPerMinute } from '../../shared/alarm/trend.ts';
import { averageOver, HOUR_MS, MINUTE_MS, sumToNumber } from '../../shared/exposure/exact-sum.ts';
import { integral } from '../../shared/exposure/integral.ts';
import { addSample, createSeries } from '../../shared/exposure/series.ts';
import { asBearing, meanWind, turnedBy } from '../../shared/map/wind.ts';
import { airLitres, gaugeInBar } from '../../shared/people/air.ts';
import { type AmountUnit, convertAmount, molarVolume } from '../../shared/quantity/amount.ts';
import { airKerma, type DoseUnit, doseOverTime, fieldEquivalent } from '../../shared/quantity/dose.ts';
import { lineLag } from '../../shared/quantity/first-order.ts';
import { numberOf } from '../support/answers.ts';

// The type of `all` allows undefined, for builds of mathjs that leave it out.
const EVERYTHING: FactoryFunctionMap = all ?? {};
const math = create(EVERYTHING);
// What mathjs lacks, by its definition in SI units: 1 R = 2.58 × 10⁻⁴ C/kg, 1 Gy = 1 Sv = 1 J/kg, 1 rem = 0.01 Sv.
math.createUnit({
  R: { definition: '2.58e-4 coulomb/kg', prefixes: 'short' },
  Gy: { definition: '1 J/kg', prefixes: 'short' },
  Sv: { definition: '1 J/kg', prefixes: 'short' },
  rem: { definition: '0.01 J/kg', prefixes: 'short' },
});

/** Parts by volume as mathjs can say them: volume of gas in volume of air. */
const PARTS = { '%vol': 'dl/l', ppm: 'ml/m^3', ppb: 'ul/m^3' } as const;
/** 1 %vol is a tenth of a decilitre in a litre. */
const PARTS_FACTOR = { '%vol': 0.1, ppm: 1, ppb: 1 } as const;
type Parts = keyof typeof PARTS;

function byMathjs(value: number, from: string, to: string): number {
  return math.unit(value, from).toNumber(to);
}
/** Equal to `digits` significant digits. */
function expectAlike(ours: number, theirs: number, digits = 9): void {
  expect(Math.abs(ours - theirs)).toBeLessThanOrEqual(10 ** -digits * Math.max(Math.abs(theirs), 1e-12));
}
const temperatureC = fc.double({ min: -60, max: 100, noNaN: true });
const pressureKPa = fc.double({ min: 30, max: 120, noNaN: true });
const molarMass = fc.double({ min: 1, max: 1000, noNaN: true });

describe('units against mathjs', () => {
  test('parts by volume', () => {
    const unit = fc.constantFrom<Parts>('%vol', 'ppm', 'ppb');
    fc.assert(
      fc.property(fc.double({ min: 1e-6, max: 1, noNaN: true }), unit, unit, (share, from, to) => {
        const value = share * { '%vol': 100, ppm: 1e6, ppb: 1e9 }[from];
        const ours = numberOf(convertAmount({ value, from, to, molarMass: null, air: null }));
        const theirs = byMathjs(value * PARTS_FACTOR[from], PARTS[from], PARTS[to]) / PARTS_FACTOR[to];
        expectAlike(ours, theirs);
      }),
    );
  });

  test('molar volume is R·T/P with its own constant, temperature and pressure', () => {
    fc.assert(
      fc.property(temperatureC, pressureKPa, (celsius, kPa) => {
        const volume = math.evaluate('R * T / p', {
          R: math.unit('8.31446261815324 J/(K mol)'),
          // Multiplied in °C it would lose its zero; in kelvin by mathjs itself.
          T: math.unit(math.unit(celsius, 'degC').toNumber('K'), 'K'),
          p: math.unit(kPa, 'kPa'),
        });
        const ours = numberOf(molarVolume({ temperatureC: celsius, pressureKPa: kPa, basis: 'exact' }));
        expectAlike(ours, volume.toNumber('l/mol'));
      }),
    );
    // mathjs carries the molar volume of a gas at 0 °C and 101.325 kPa as a constant of physics.
    const known = math.evaluate('molarVolume').toNumber('l/mol');
    expectAlike(numberOf(molarVolume({ temperatureC: 0, pressureKPa: 101.325, basis: 'exact' })), known);
  });

  test('mg/m³ from ppm and back, by the amount of substance in a cubic metre', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.001, max: 1e5, noNaN: true }),
        molarMass,
        temperatureC,
        pressureKPa,
        (ppm, grams, celsius, kPa) => {
          const theirs = math
            .evaluate('x * 1e-6 * (p * (1 m^3)) / (R * T) * M / (1 m^3)', {
              x: ppm,
              p: math.unit(kPa, 'kPa'),
              R: math.unit('8.31446261815324 J/(K mol)'),
              T: math.unit(math.unit(celsius, 'degC').toNumber('K'), 'K'),
              M: math.unit(grams, 'g/mol'),
            })
            .toNumber('mg/m^3');
          const air = { temperatureC: celsius, pressureKPa: kPa, basis: 'exact' } as const;
          const amount = (value: number, from: AmountUnit, to: AmountUnit) =>
            numberOf(convertAmount({ value, from, to, molarMass: grams, air }));
          expectAlike(amount(ppm, 'ppm', 'mg/m3'), theirs);
          fc.pre(theirs <= 1e8);
          expectAlike(amount(theirs, 'mg/m3', 'ppm'), ppm);
        },
      ),
    );
  });

  test('doses of one family and their prefixes', () => {
    const families: readonly (readonly DoseUnit[])[] = [
      ['uR', 'mR', 'R'],
      ['urem', 'mrem', 'rem', 'uSv', 'mSv', 'Sv'],
      ['uGy', 'mGy', 'Gy'],
    ];
    const pair = fc
      .constantFrom(...families)
      .chain((units) => fc.tuple(fc.constantFrom(...units), fc.constantFrom(...units)));
    fc.assert(
      fc.property(fc.double({ min: 1e-9, max: 1e9, noNaN: true }), pair, (value, [from, to]) => {
        expectAlike(numberOf(fieldEquivalent({ value, from, to })), byMathjs(value, from, to));
        const rate = numberOf(fieldEquivalent({ value, from: `${from}/h`, to: `${to}/h` }));
        expectAlike(rate, byMathjs(value, `${from}/hour`, `${to}/hour`));
      }),
    );
  });

  test('air kerma of an exposure: C/kg × 33.97 J/C is gray', () => {
    const unit = fc.constantFrom<DoseUnit>('uR', 'mR', 'R');
    fc.assert(
      fc.property(fc.double({ min: 1e-9, max: 1e9, noNaN: true }), unit, (value, from) => {
        const perRoentgen = math.unit('33.97 J/coulomb');
        const theirs = math.evaluate('x * w', { x: math.unit(value, from), w: perRoentgen }).toNumber('mGy');
        expectAlike(numberOf(airKerma({ value, from })), theirs);
      }),
    );
  });

  test('dose of a time at a rate', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1e-3, max: 1e6, noNaN: true }),
        fc.double({ min: 0.01, max: 1e4, noNaN: true }),
        (value, minutes) => {
          const theirs = math.evaluate('r * t', {
            r: math.unit(value, 'mR/hour'),
            t: math.unit(minutes, 'minute'),
          });
          expectAlike(numberOf(doseOverTime({ rate: { value, unit: 'mR/h' }, minutes })), theirs.toNumber('mR'));
        },
      ),
    );
  });

  test('pressure: bar and psi, and litres of free air at a gauge', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 6000, noNaN: true }),
        fc.double({ min: 1, max: 20, noNaN: true }),
        (psi, waterLitres) => {
          const bar = gaugeInBar({ pressure: psi, unit: 'psi' });
          expectAlike(bar, byMathjs(psi, 'psi', 'bar'));
          // Boyle: pressure × volume is the same at 1 bar.
          const free = math.evaluate('p * v / (1 bar)', {
            p: math.unit(psi, 'psi'),
            v: math.unit(waterLitres, 'l'),
          });
          const ours = airLitres({ regime: 'bar', waterLitres, fullBar: 300 }, { pressure: bar, unit: 'bar' });
          expectAlike(ours.ok ? ours.litres : Number.NaN, free.toNumber('l'));
        },
      ),
    );
  });

  test('time through a line: mm² × m ÷ mL/min', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.5, max: 50, noNaN: true }),
        fc.double({ min: 0.1, max: 500, noNaN: true }),
        fc.double({ min: 10, max: 1e5, noNaN: true }),
        (diameterMm, lengthM, flowMlPerMin) => {
          const theirs = math.evaluate('pi * d^2 / 4 * l / q', {
            d: math.unit(diameterMm, 'mm'),
            l: math.unit(lengthM, 'm'),
            q: math.unit(flowMlPerMin, 'ml/minute'),
          });
          expectAlike(numberOf(lineLag({ diameterMm, lengthM, flowMlPerMin })), theirs.toNumber('s'));
        },
      ),
    );
  });
});

describe('lines and means against simple-statistics', () => {
  test('trend: change a minute by least squares', () => {
    const sample = fc.tuple(fc.integer({ min: 1, max: 5000 }), fc.double({ min: -100, max: 2000, noNaN: true }));
    fc.assert(
      fc.property(fc.array(sample, { minLength: 4, maxLength: 40 }), (samples) => {
        let atMs = 0;
        const points = samples.map(([stepMs, value]): [number, number] => {
          atMs += stepMs;
          return [atMs, value];
        });
        const [first = 0] = points[0] ?? [];
        fc.pre(atMs - first >= 10_000);
        const ours = trendPerMinute(
          points.map(([ms]) => 1e12 + ms * 1000),
          points.map(([, value]) => value),
        );
        const { m } = linearRegression(points.map(([ms, value]): [number, number] => [ms / 60_000, value]));
        expect(ours).not.toBeNull();
        expect(Math.abs((ours ?? 0) - m)).toBeLessThanOrEqual(1e-6 * Math.max(1, Math.abs(m)));
      }),
    );
  });

  const wind = fc.record({
    fromDegrees: fc.double({ min: 0, max: 360, noNaN: true }),
    speedMs: fc.double({ min: 0.1, max: 40, noNaN: true }),
  });
  test('mean wind: the weighted means of sines and of cosines', () => {
    fc.assert(
      fc.property(fc.array(wind, { minLength: 1, maxLength: 30 }), (winds) => {
        const ours = meanWind(winds);
        const speeds = winds.map(({ speedMs }) => speedMs);
        const radians = winds.map(({ fromDegrees }) => (fromDegrees * Math.PI) / 180);
        const [sine, cosine] = [Math.sin, Math.cos].map((part) => weightedMean(radians.map(part), speeds));
        const theirs = Math.hypot(sine ?? 0, cosine ?? 0);
        if (ours.fromDegrees === null) {
          expect([ours.reason, theirs < 0.1 + 1e-9]).toEqual(['variable', true]);
          return;
        }
        const degrees = (Math.atan2(sine ?? 0, cosine ?? 0) * 180) / Math.PI;
        expect(Math.abs(turnedBy(asBearing(degrees), ours.fromDegrees))).toBeLessThan(1e-6);
        expectAlike(ours.steadiness, theirs);
        expectAlike(ours.speedMs, mean(speeds));
      }),
    );
  });
  test('away from north, where the scale does not break, a steady wind is the weighted mean of its degrees', () => {
    const near = fc.record({
      fromDegrees: fc.double({ min: 178, max: 182, noNaN: true }),
      speedMs: fc.double({ min: 1, max: 9, noNaN: true }),
    });
    fc.assert(
      fc.property(fc.array(near, { minLength: 1, maxLength: 20 }), (winds) => {
        const degrees = winds.map(({ fromDegrees }) => fromDegrees);
        const theirs = weightedMean(
          degrees,
          winds.map(({ speedMs }) => speedMs),
        );
        expect(Math.abs((meanWind(winds).fromDegrees ?? Number.NaN) - theirs)).toBeLessThan(0.01);
      }),
    );
  });

  /** Samples with at most a hold between them, so that all of the time is covered. */
  const HOLD = 10_000;
  const samples = fc.array(
    fc.record({ stepMs: fc.integer({ min: 1, max: HOLD }), tenths: fc.integer({ min: 0, max: 20_000 }) }),
    { minLength: 2, maxLength: 60 },
  );
  type Samples = typeof samples extends fc.Arbitrary<infer T> ? T : never;
  function series(channel: string, unit: string, list: Samples) {
    const made = createSeries();
    const from = Date.UTC(2026, 4, 14, 8);
    let at = from;
    const times = list.map(({ stepMs, tenths }, index) => {
      if (index > 0) at += stepMs;
      addSample(made, at, [{ channel, value: tenths / 10, unit }], HOLD);
      return at;
    });
    return { made, from, to: at, spans: times.slice(1).map((time, index) => time - (times[index] ?? 0)) };
  }

  test('a time-weighted mean of gas: values weighted by how long each stood', () => {
    fc.assert(
      fc.property(samples, (list) => {
        const { made, from, to, spans } = series('co', 'ppm', list);
        const [row] = integral(made, 'co', from, to, 'hold');
        if (row === undefined) throw new Error('no row');
        const values = list.slice(0, -1).map(({ tenths }) => tenths / 10);
        expect(row.coveredMs).toBe(to - from);
        expectAlike(sumToNumber(row.sum) / row.coveredMs, weightedMean(values, spans));
        expectAlike(averageOver(row.sum, 8 * HOUR_MS), (weightedMean(values, spans) * (to - from)) / (480 * MINUTE_MS));
      }),
    );
  });
  test('gamma dose: the middle of each two readings weighted by the time between them', () => {
    fc.assert(
      fc.property(samples, (list) => {
        const { made, from, to, spans } = series('gamma', 'mR/h', list);
        const [row] = integral(made, 'gamma', from, to, 'trapezoid');
        if (row === undefined) throw new Error('no row');
        const middles = spans.map((_, index) => mean([list[index]?.tenths ?? 0, list[index + 1]?.tenths ?? 0]) / 10);
        expectAlike(averageOver(row.sum, HOUR_MS), (weightedMean(middles, spans) * (to - from)) / HOUR_MS);
      }),
    );
  });
});
