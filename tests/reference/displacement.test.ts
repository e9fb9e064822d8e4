/** Oxygen displaced, against tables worked apart and steam tables. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  dampAirOxygen,
  displacedAmount,
  oxygenLeft,
  saturationPressureKPa,
} from '../../shared/quantity/displacement.ts';
import { codeOf, numberOf } from '../support/answers.ts';

// x = drop ÷ baseline, worked apart; 20.9 as baseline also in public confined-space guides.
describe('what a drop may stand for', () => {
  test.each([
    [20.9, 4785, 66_986],
    [20.946, 4774, 69_035],
    [20.8, 4808, 62_500],
  ])('baseline %s: 0.1 %%vol is %s ppm, down to 19.5 is %s ppm', (baseline, tenth, to195) => {
    expect(numberOf(displacedAmount({ oxygen: baseline - 0.1, baseline }))).toBeCloseTo(tenth, -0.5);
    expect(numberOf(displacedAmount({ oxygen: 19.5, baseline }))).toBeCloseTo(to195, -0.5);
  });
  test('trap 17: the rule of 5,000 ppm for each 0.1 is 4.5 % over', () => {
    expect((14 * 5000) / numberOf(displacedAmount({ oxygen: 19.5, baseline: 20.9 })) - 1).toBeCloseTo(0.045, 3);
  });
  test('it is an estimate, and says what else can do it', () => {
    const answer = displacedAmount({ oxygen: 20.1, baseline: 20.9 });
    expect(answer).toMatchObject({ estimate: true, unit: 'ppm', rounding: { figures: 2 } });
    expect(answer.ok && answer.cautions[0]).toMatch(/damp air alone/);
    expect(Number(numberOf(answer).toPrecision(2))).toBe(38_000);
  });
});

test.each([
  [1, 20.691],
  [2.5, 20.3775],
  [5, 19.855],
  [10, 18.81],
  [25, 15.675],
])('%s %%vol of another gas leaves %s %%vol of 20.9', (percent, expected) => {
  expect(numberOf(oxygenLeft({ displacing: percent * 10_000, baseline: 20.9 }))).toBeCloseTo(expected, 10);
});

describe('damp air', () => {
  // Saturated steam tables (from memory): 0.6113 kPa at 0.01 °C, 2.339 at 20, 4.247 at 30, 7.385 at 40, 12.35 at 50.
  test.each([
    [0.01, 0.6113],
    [20, 2.339],
    [30, 4.247],
    [40, 7.385],
    [50, 12.35],
  ])('water at %s °C has %s kPa, to half a percent', (celsius, expected) => {
    expect(Math.abs(saturationPressureKPa(celsius) / expected - 1)).toBeLessThan(0.005);
  });
  test('30 °C and saturated: 20.07 %vol with no contaminant (worked apart with 4.24 kPa)', () => {
    const answer = dampAirOxygen({ temperatureC: 30, humidity: 100, pressureKPa: 101.325 });
    expect(numberOf(answer)).toBeCloseTo(20.07, 2);
    expect(answer).toMatchObject({ sourceTag: 'memory' });
  });
  test('dry air is 20.946 %vol', () => {
    expect(numberOf(dampAirOxygen({ temperatureC: 30, humidity: 0, pressureKPa: 101.325 }))).toBe(20.946);
  });
});

test.each([
  [displacedAmount({ oxygen: 21, baseline: 20.9 }), 'inconsistent'],
  [displacedAmount({ oxygen: -0.1, baseline: 20.9 }), 'out-of-range'],
  [displacedAmount({ oxygen: 19.5, baseline: 0 }), 'out-of-range'],
  [displacedAmount({ oxygen: Number.NaN, baseline: 20.9 }), 'not-a-number'],
  [oxygenLeft({ displacing: 1_000_001, baseline: 20.9 }), 'out-of-range'],
  [dampAirOxygen({ temperatureC: 30, humidity: 101, pressureKPa: 101.325 }), 'out-of-range'],
] as const)('refused %#: %s', (answer, code) => {
  expect(codeOf(answer)).toBe(code);
});

test('there and back, and less oxygen is more gas', () => {
  fc.assert(
    fc.property(
      fc.double({ min: 1, max: 19, noNaN: true }),
      fc.double({ min: 19, max: 21, noNaN: true }),
      (oxygen, baseline) => {
        const displacing = numberOf(displacedAmount({ oxygen, baseline }));
        expect(numberOf(oxygenLeft({ displacing, baseline }))).toBeCloseTo(oxygen, 9);
        expect(numberOf(displacedAmount({ oxygen: oxygen - 0.1, baseline }))).toBeGreaterThan(displacing);
      },
    ),
  );
});
