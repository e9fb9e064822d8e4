/** %LEL against %vol and ppm on a stated limit. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { amountAtLel, combustibleInGas, percentLel } from '../../shared/quantity/combustible.ts';
import { findSubstance } from '../../shared/quantity/substances.ts';
import { codeOf, numberOf } from '../support/answers.ts';

// Methane: NFPA 497:2008 5.0 %vol, IEC 60079-20-1:2010 4.4 %vol (both seen in data tables, the standards not read).
describe('methane on two limits', () => {
  test.each([
    [5.0, 5000, 0.5],
    [4.4, 4400, 0.44],
  ])('10 %%LEL of %s %%vol', (lelVolPercent, ppm, vol) => {
    expect(numberOf(amountAtLel({ percent: 10, to: 'ppm', lelVolPercent }))).toBeCloseTo(ppm, 8);
    expect(numberOf(amountAtLel({ percent: 10, to: '%vol', lelVolPercent }))).toBeCloseTo(vol, 12);
  });
  test.each([
    [2.5, 5.0, 50],
    [2.5, 4.4, 56.82],
    [0.44, 5.0, 8.8],
    [0.44, 4.4, 10],
    [5, 5.0, 100],
  ])('%s %%vol on %s %%vol is %s %%LEL', (value, lelVolPercent, expected) => {
    expect(numberOf(percentLel({ value, unit: '%vol', lelVolPercent }))).toBeCloseTo(expected, 2);
  });
  test('the same air reads 13.6 % higher on the second', () => {
    const on = (lelVolPercent: number) => numberOf(percentLel({ value: 1, unit: '%vol', lelVolPercent }));
    expect(on(4.4) / on(5) - 1).toBeCloseTo(0.136, 3);
  });
  test('the limit stands in the numbers put in', () => {
    expect(percentLel({ value: 1, unit: '%vol', lelVolPercent: 4.4 })).toMatchObject({
      inputs: [{ unit: '%vol' }, { name: 'LEL', value: 4.4, unit: '%vol' }],
    });
  });
});

// NIOSH IDLH documentation prints these amounts at 10 % LEL (all seen).
test.each([
  ['carbon monoxide', 12_500],
  ['hydrogen sulfide', 4000],
  ['hydrogen cyanide', 5600],
  ['phosphine', 1790],
  ['benzene', 1200],
  ['toluene', 1100],
  ['ethylene oxide', 3000],
])('10 %%LEL of %s is %s ppm', (name, expected) => {
  const lel = findSubstance(name)?.lel[0];
  if (!lel) throw new Error(`no limit for ${name}`);
  expect(numberOf(amountAtLel({ percent: 10, to: 'ppm', lelVolPercent: lel.value }))).toBeCloseTo(expected, 6);
});

// The limits that two lists give: NFPA 497:2008 and IEC 60079-20-1:2010 (seen in a copy); differences worked apart.
test.each([
  ['carbon monoxide', 0.147],
  ['ethylene oxide', 0.154],
])('%s differs between the lists as well', (name, expected) => {
  const lists = findSubstance(name)?.lel.map(({ value }) => value) ?? [];
  expect(Math.max(...lists) / Math.min(...lists) - 1).toBeCloseTo(expected, 3);
});

test('a reading of 40 with a factor of 2 is 80 %LEL (worked apart)', () => {
  expect(numberOf(combustibleInGas({ reading: 40, factor: 2 }))).toBe(80);
});

test.each([
  [percentLel({ value: 5, unit: '%vol', lelVolPercent: 0 }), 'out-of-range'],
  [percentLel({ value: -0.1, unit: '%vol', lelVolPercent: 5 }), 'out-of-range'],
  [percentLel({ value: Number.NaN, unit: 'ppm', lelVolPercent: 5 }), 'not-a-number'],
  [amountAtLel({ percent: 10, to: 'ppm', lelVolPercent: 101 }), 'out-of-range'],
  [amountAtLel({ percent: 900, to: 'ppm', lelVolPercent: 15 }), 'out-of-range'],
  [combustibleInGas({ reading: 101, factor: 1 }), 'out-of-range'],
] as const)('refused %#: %s', (answer, code) => {
  expect(codeOf(answer)).toBe(code);
});

test('there and back, and a higher limit reads lower', () => {
  const positive = fc.double({ min: 0.01, max: 90, noNaN: true });
  fc.assert(
    fc.property(positive, fc.double({ min: 0.5, max: 20, noNaN: true }), (percent, lelVolPercent) => {
      for (const to of ['%vol', 'ppm', 'ppb'] as const) {
        const value = numberOf(amountAtLel({ percent, to, lelVolPercent }));
        expect(Math.abs(numberOf(percentLel({ value, unit: to, lelVolPercent })) / percent - 1)).toBeLessThan(1e-12);
        const higher = percentLel({ value, unit: to, lelVolPercent: lelVolPercent * 1.1 });
        expect(numberOf(higher)).toBeLessThan(percent);
      }
    }),
  );
});
