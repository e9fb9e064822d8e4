/** Units of dose, inverse square and stay time. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  AIR_KERMA_GY_PER_R,
  airKerma,
  DOSE_UNITS,
  type DoseRate,
  doseOverTime,
  fieldEquivalent,
  RATE_UNITS,
} from '../../shared/quantity/dose.ts';
import { distanceToRate, rateAtDistance } from '../../shared/quantity/point-source.ts';
import { type StayQuestion, stayTime, wayOutDose } from '../../shared/quantity/stay-time.ts';
import { codeOf, numberOf } from '../support/answers.ts';

describe('the field equivalence', () => {
  test.each([
    // REMM, zones of radiological response (seen): 10 mR/h ≈ 0.1 mSv/h, 10 R/h ≈ 0.1 Sv/h.
    [10, 'mR/h', 'mSv/h', 0.1],
    [10, 'R/h', 'Sv/h', 0.1],
    // The same, worked apart; 1 Sv = 100 rem and 1 Gy = 100 rad by definition.
    [1, 'uR/h', 'uSv/h', 0.01],
    [1, 'mR/h', 'uSv/h', 10],
    [10, 'mR/h', 'uR/h', 10_000],
    [7, 'uR/h', 'uSv/h', 0.07],
    [7, 'uR/h', 'mR/h', 0.007],
    [7, 'uR/h', 'mrem/h', 0.007],
    [0.07, 'uSv/h', 'uR/h', 7],
    [1, 'Sv', 'rem', 100],
    [1, 'Gy', 'rad', 100],
    [50, 'rad', 'Gy', 0.5],
    [25, 'rem', 'mSv', 250],
  ] as const)('%s %s in %s is %s', (value, from, to, expected) => {
    expect(numberOf(fieldEquivalent({ value, from, to }))).toBe(expected);
  });
  test('roentgen to sievert is a convention and says so; rem to sievert is a definition', () => {
    expect(fieldEquivalent({ value: 1, from: 'R', to: 'Sv' })).toMatchObject({
      sourceTag: 'seen',
      cautions: [expect.stringContaining('12 %')],
    });
    expect(fieldEquivalent({ value: 1, from: 'rem', to: 'Sv' })).toMatchObject({ sourceTag: 'calc', cautions: [] });
  });
  test('trap 3: a dose is not a dose rate', () => {
    expect(codeOf(fieldEquivalent({ value: 1, from: 'R', to: 'R/h' }))).toBe('different-quantity');
    expect(codeOf(fieldEquivalent({ value: -1, from: 'R', to: 'rem' }))).toBe('out-of-range');
    expect(codeOf(fieldEquivalent({ value: Number.NaN, from: 'R', to: 'rem' }))).toBe('not-a-number');
  });
  test('there and back is where one began, for all units', () => {
    const value = fc.integer({ min: 1, max: 1_000_000 }).map((whole) => whole / 1000);
    for (const units of [DOSE_UNITS, RATE_UNITS]) {
      const unit = fc.constantFrom(...units);
      fc.assert(
        fc.property(value, unit, unit, (amount, from, to) => {
          const there = numberOf(fieldEquivalent({ value: amount, from, to }));
          expect(numberOf(fieldEquivalent({ value: there, from: to, to: from }))).toBe(amount);
        }),
      );
    }
  });
});

describe('the physical figure', () => {
  // 1 R = 2.58e-4 C/kg by definition; × 33.97 J/C = 8.76 mGy air kerma, 0.876 rad (worked apart).
  test('1 R is 8.76 mGy of air kerma, within 13 % of the equivalence', () => {
    expect(numberOf(airKerma({ value: 1, from: 'R' }))).toBeCloseTo(8.76, 2);
    expect(Math.abs(AIR_KERMA_GY_PER_R / 0.01 - 1)).toBeLessThan(0.13);
  });
  // Dwellings survey: 46.6 nGy/h outdoors is 5.3 µR/h (worked apart).
  test('5.32 µR/h is 46.6 nGy/h', () => {
    expect(numberOf(airKerma({ value: 5.32, from: 'uR/h' })) * 1e6).toBeCloseTo(46.6, 1);
  });
  test('is not given for a sievert, which depends on the energy', () => {
    expect(codeOf(airKerma({ value: 1, from: 'Sv' }))).toBe('different-quantity');
  });
});

test('7 µR/h for a year of 8,760 h is 61.3 mR', () => {
  const dose = doseOverTime({ rate: { value: 7, unit: 'uR/h' }, minutes: 8760 * 60 });
  expect(numberOf(dose) / 1000).toBeCloseTo(61.32, 6);
  expect(dose).toMatchObject({ unit: 'µR' });
});

describe('inverse square', () => {
  const mR = (value: number): DoseRate => ({ value, unit: 'mR/h' });
  test.each([
    [200, 1, 10, 2],
    [1000, 1, 10, 10],
  ])('%s mR/h at %s m is at %s m %s mR/h', (rate, atMetres, toMetres, expected) => {
    expect(numberOf(rateAtDistance({ rate: mR(rate), atMetres, toMetres }))).toBeCloseTo(expected, 12);
  });
  test.each([
    [200, 10, 4.472],
    [200, 2, 10],
    // Caesium-137, 10 Ci, 0.33 R·m²/(h·Ci) (from memory): 3.3 R/h at 1 m.
    [3300, 10, 18.166],
  ])('%s mR/h at 1 m falls to %s mR/h at %s m', (rate, wanted, expected) => {
    expect(numberOf(distanceToRate({ rate: mR(rate), atMetres: 1, wanted: mR(wanted) }))).toBeCloseTo(expected, 3);
  });
  test('units may differ: 1 R/h at 1 m is 0.1 mSv/h at 10 m', () => {
    const wanted: DoseRate = { value: 0.1, unit: 'mSv/h' };
    expect(numberOf(distanceToRate({ rate: { value: 1, unit: 'R/h' }, atMetres: 1, wanted }))).toBeCloseTo(10, 12);
  });
  test('says that it is not for a plume', () => {
    const answer = rateAtDistance({ rate: mR(200), atMetres: 1, toMetres: 10 });
    expect(answer.ok && answer.cautions.join(' ')).toMatch(/plume/);
  });
  test('refuses a distance or a wanted rate of 0', () => {
    expect(codeOf(rateAtDistance({ rate: mR(200), atMetres: 1, toMetres: 0 }))).toBe('out-of-range');
    expect(codeOf(distanceToRate({ rate: mR(200), atMetres: 1, wanted: mR(0) }))).toBe('out-of-range');
  });
  test('there and back, and farther is less', () => {
    const some = fc.double({ min: 0.1, max: 1000, noNaN: true });
    fc.assert(
      fc.property(some, some, some, (rate, atMetres, toMetres) => {
        const there = numberOf(rateAtDistance({ rate: mR(rate), atMetres, toMetres }));
        const back = numberOf(distanceToRate({ rate: mR(rate), atMetres, wanted: mR(there) }));
        expect(Math.abs(back / toMetres - 1)).toBeLessThan(1e-9);
        expect(numberOf(rateAtDistance({ rate: mR(rate), atMetres, toMetres: toMetres * 1.01 }))).toBeLessThan(there);
      }),
    );
  });
});

describe('stay time', () => {
  const ASKED: StayQuestion = {
    limit: { value: 5, unit: 'rem' },
    accumulated: { value: 0.4, unit: 'rem' },
    rate: { value: 2, unit: 'R/h' },
    exitDose: null,
    background: { value: 7, unit: 'uR/h' },
  };
  const none = { value: 0, unit: 'rem' } as const;
  // All worked apart.
  test.each<[string, Partial<StayQuestion>, number]>([
    ['5 rem, 0.4 taken, 2 R/h', {}, 138],
    [
      '25 rem at 10 R/h',
      { limit: { value: 25, unit: 'rem' }, accumulated: none, rate: { value: 10, unit: 'R/h' } },
      150,
    ],
    ['5 rem at 10 mR/h', { accumulated: none, rate: { value: 10, unit: 'mR/h' } }, 30_000],
  ])('%s', (_name, change, expected) => {
    expect(numberOf(stayTime({ ...ASKED, ...change }))).toBeCloseTo(expected, 8);
  });
  test('trap 26: the way out is taken off', () => {
    const asked: StayQuestion = {
      ...ASKED,
      limit: { value: 5000, unit: 'mrem' },
      accumulated: { value: 1200, unit: 'mrem' },
      rate: { value: 900, unit: 'mR/h' },
    };
    const exitDose = wayOutDose({ meanRate: { value: 450, unit: 'mR/h' }, minutes: 6 });
    expect(exitDose).toEqual({ value: 45, unit: 'mR' });
    if ('ok' in exitDose) throw new Error(exitDose.message);
    expect(numberOf(stayTime({ ...asked, exitDose }))).toBeCloseTo(250.3, 1);
    const without = stayTime(asked);
    expect(numberOf(without)).toBeCloseTo(253.3, 1);
    expect(without.ok && without.cautions[0]).toMatch(/way out is not in it/);
  });
  test.each([
    ['used up', { value: 5, unit: 'rem' }],
    ['more than used up', { value: 5.1, unit: 'rem' }],
    ['used up by the way out', { value: 4.99, unit: 'rem' }],
  ] as const)('%s: 0, never negative', (_name, accumulated) => {
    const answer = stayTime({ ...ASKED, accumulated, exitDose: { value: 10, unit: 'mrem' } });
    expect(numberOf(answer)).toBe(0);
    expect(answer.ok && answer.cautions[0]).toMatch(/used up/);
  });
  test.each([0, 6.9, 7])('%s µR/h at a background of 7 is not limiting', (value) => {
    const answer = stayTime({ ...ASKED, rate: { value, unit: 'uR/h' } });
    expect(codeOf(answer)).toBe('not-limiting');
    expect(answer.ok && answer.value).toBeNull();
  });
  test('a limit that is used up governs at background as well', () => {
    const accumulated = { value: 5, unit: 'rem' } as const;
    expect(numberOf(stayTime({ ...ASKED, accumulated, rate: { value: 7, unit: 'uR/h' } }))).toBe(0);
  });
  test('just over background it is limiting', () => {
    expect(codeOf(stayTime({ ...ASKED, rate: { value: 7.1, unit: 'uR/h' } }))).toBeNull();
  });
  test.each<[string, Partial<StayQuestion>]>([
    ['a limit of 0', { limit: none }],
    ['a negative dose', { accumulated: { value: -1, unit: 'rem' } }],
    ['a negative rate', { rate: { value: -1, unit: 'R/h' } }],
    ['a negative way out', { exitDose: { value: -1, unit: 'rem' } }],
  ])('%s is refused', (_name, change) => {
    expect(codeOf(stayTime({ ...ASKED, ...change }))).toBe('out-of-range');
  });
  test('never negative; more dose, a higher rate or a way out never give more time', () => {
    const some = fc.double({ min: 0, max: 10, noNaN: true });
    const rate = fc.double({ min: 0.001, max: 100, noNaN: true });
    fc.assert(
      fc.property(some, rate, some, (taken, hourly, more) => {
        const asked: StayQuestion = {
          ...ASKED,
          accumulated: { value: taken, unit: 'rem' },
          rate: { value: hourly, unit: 'R/h' },
        };
        const minutes = numberOf(stayTime(asked));
        expect(minutes).toBeGreaterThanOrEqual(0);
        const worse: Partial<StayQuestion>[] = [
          { accumulated: { value: taken + more, unit: 'rem' } },
          { rate: { value: hourly + more, unit: 'R/h' } },
          { exitDose: { value: more, unit: 'rem' } },
        ];
        for (const change of worse) expect(numberOf(stayTime({ ...asked, ...change }))).toBeLessThanOrEqual(minutes);
      }),
    );
  });
});
