/** Photo-ionisation: factors, mixtures and lamps. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { lampSees, pidAmount } from '../../shared/quantity/pid.ts';
import { mixtureFactor, mixtureLimit, mixtureSetPoint } from '../../shared/quantity/pid-mixture.ts';
import { findSubstance } from '../../shared/quantity/substances.ts';
import { codeOf, numberOf } from '../support/answers.ts';

describe('the correction factor: amount = reading × CF', () => {
  test.each([
    [100, 0.5, 50],
    [100, 10, 1000],
  ])('trap 10: a reading of %s with CF %s is %s ppm', (reading, factor, expected) => {
    expect(numberOf(pidAmount({ reading, factor, appliedBy: 'nobody' }))).toBe(expected);
  });
  test('trap 9: a factor that the instrument has applied is not applied again', () => {
    const once = numberOf(pidAmount({ reading: 100, factor: 0.5, appliedBy: 'nobody' }));
    const answer = pidAmount({ reading: once, factor: 0.5, appliedBy: 'instrument' });
    expect(numberOf(answer)).toBe(50);
    expect(answer.ok && answer.cautions[0]).toMatch(/already/);
  });
});

// Two parts, worked apart. The mixture's limit has the form of 29 CFR 1910.1000(d)(2).
const PARTS = [
  { fraction: 0.05, factor: 0.5, limit: 1 },
  { fraction: 0.95, factor: 4, limit: 50 },
];

describe('a mixture', () => {
  test('trap 11: its factor is 2.962963, not the average of 3.825', () => {
    expect(numberOf(mixtureFactor(PARTS))).toBeCloseTo(2.962963, 6);
  });
  test('a reading of 10 is 29.62963 ppm, of which 1.481481 ppm are the first part', () => {
    const total = numberOf(pidAmount({ reading: 10, factor: numberOf(mixtureFactor(PARTS)), appliedBy: 'nobody' }));
    expect(total).toBeCloseTo(29.62963, 5);
    expect(total * 0.05).toBeCloseTo(1.481481, 6);
  });
  test('its limit is 14.492754 ppm, reached at 4.891304 isobutylene units', () => {
    expect(numberOf(mixtureLimit(PARTS))).toBeCloseTo(14.492754, 6);
    expect(numberOf(mixtureSetPoint(PARTS))).toBeCloseTo(4.891304, 6);
  });
  // 29 CFR 1910.1000(d)(2), worked example (seen): 500/1000 + 45/200 + 40/200 = 0.925, so its 585 ppm are 0.925 of a limit.
  test('the law’s own example', () => {
    const amounts = [
      [500, 1000],
      [45, 200],
      [40, 200],
    ] as const;
    const parts = amounts.map(([ppm, limit]) => ({ fraction: ppm / 585, limit }));
    expect(585 / numberOf(mixtureLimit(parts))).toBeCloseTo(0.925, 10);
  });
  test('one part is itself', () => {
    expect(numberOf(mixtureFactor([{ fraction: 1, factor: 0.5 }]))).toBe(0.5);
    expect(numberOf(mixtureLimit([{ fraction: 1, limit: 50 }]))).toBe(50);
  });
  test.each([
    [[], 'missing'],
    [[{ fraction: 0.5, factor: 1 }], 'inconsistent'],
    [[{ fraction: 5, factor: 1 }], 'out-of-range'],
    [[{ fraction: 1, factor: 0 }], 'out-of-range'],
    [[{ fraction: 1, factor: Number.NaN }], 'not-a-number'],
  ] as const)('refused: %j', (parts, code) => {
    expect(codeOf(mixtureFactor(parts))).toBe(code);
  });
  test('factor and limit lie between those of the parts, and never over their average', () => {
    const number = fc.double({ min: 0.1, max: 50, noNaN: true });
    fc.assert(
      fc.property(fc.double({ min: 0.01, max: 0.99, noNaN: true }), number, number, (share, one, other) => {
        const parts = [
          { fraction: share, factor: one, limit: one },
          { fraction: 1 - share, factor: other, limit: other },
        ];
        for (const value of [numberOf(mixtureFactor(parts)), numberOf(mixtureLimit(parts))]) {
          expect(value).toBeGreaterThanOrEqual(Math.min(one, other) * (1 - 1e-12));
          expect(value).toBeLessThanOrEqual((share * one + (1 - share) * other) * (1 + 1e-12));
        }
      }),
    );
  });
});

describe('lamps', () => {
  // General physics with the ionisation energies of the data, many from memory. NO₂ with 9.8 eV is left out: tables differ.
  test.each([
    ['toluene', 'yes', 'yes', 'yes'],
    ['benzene', 'yes', 'yes', 'yes'],
    ['isobutylene', 'yes', 'yes', 'yes'],
    ['nitrogen dioxide', null, 'yes', 'yes'],
    ['phosphine', 'no', 'yes', 'yes'],
    ['ammonia', 'no', 'yes', 'yes'],
    ['hydrogen sulfide', 'no', 'yes', 'yes'],
    ['ethylene oxide', 'no', 'marginal', 'yes'],
    ['chlorine', 'no', 'no', 'yes'],
    ['sulfur dioxide', 'no', 'no', 'no'],
    ['methane', 'no', 'no', 'no'],
    ['hydrogen chloride', 'no', 'no', 'no'],
    ['hydrogen cyanide', 'no', 'no', 'no'],
    ['carbon dioxide', 'no', 'no', 'no'],
    ['carbon monoxide', 'no', 'no', 'no'],
    ['hydrogen fluoride', 'no', 'no', 'no'],
  ])('%s with 9.8, 10.6 and 11.7 eV: %s, %s, %s', (name, ...expected) => {
    const energy = findSubstance(name)?.ionisationEv?.value;
    if (energy === undefined) throw new Error(`no ionisation energy for ${name}`);
    [9.8, 10.6, 11.7].forEach((lampEv, index) => {
      const code = expected[index];
      if (code !== null) expect(codeOf(lampSees({ ionisationEv: energy, lampEv }))).toBe(code);
    });
  });
  test('blind or barely able is said to mean nothing at 0', () => {
    for (const ionisationEv of [10.56, 11.48]) {
      expect(lampSees({ ionisationEv, lampEv: 10.6 })).toMatchObject({
        cautions: [expect.stringMatching(/0 says nothing/)],
      });
    }
  });
  test('an energy that no lamp or substance has is refused', () => {
    expect(codeOf(lampSees({ ionisationEv: 0, lampEv: 10.6 }))).toBe('out-of-range');
  });
});
