/** ppm, ppb, %vol and mg/m³ against the definition, the gas law computed apart, and printed conversions. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Air, AMOUNT_UNITS, convertAmount, molarVolume } from '../../shared/quantity/amount.ts';
import { SUBSTANCES } from '../../shared/quantity/substances.ts';
import { codeOf, numberOf } from '../support/answers.ts';

const ROOM: Air = { temperatureC: 25, pressureKPa: 101.325, basis: 'exact' };
const COLD: Air = { ...ROOM, temperatureC: -10 };
const HIGH: Air = { ...ROOM, pressureKPa: 83.4 };
const CONVENTION: Air = { ...ROOM, basis: 'convention' };

describe('molar volume', () => {
  // Table worked apart with R = 8.314462618 J/(mol·K), to four decimals. 22.414 L/mol at 0 °C and 1 atm is also CODATA's.
  test.each([
    [25, 101.325, 24.4654],
    [20, 101.325, 24.0551],
    [0, 101.325, 22.414],
    [-10, 101.325, 21.5934],
    [35, 101.325, 25.286],
    [25, 83.4, 29.7237],
  ])('%s °C, %s kPa: %s L/mol', (temperatureC, pressureKPa, expected) => {
    expect(numberOf(molarVolume({ temperatureC, pressureKPa, basis: 'exact' }))).toBeCloseTo(expected, 4);
  });
  // CODATA 2018: molar volume of an ideal gas, 22.71095464e-3 m³/mol at 273.15 K and 100 kPa (from memory).
  test('agrees with the molar volume of CODATA at 100 kPa', () => {
    const volume = numberOf(molarVolume({ temperatureC: 0, pressureKPa: 100, basis: 'exact' }));
    expect(volume).toBeCloseTo(22.71095464, 7);
  });
  // Boltzmann and Avogadro constants, exact by the SI of 2019; litres by another route: number of molecules × k·T ÷ P.
  test('agrees with counting molecules', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -60, max: 100, noNaN: true }),
        fc.double({ min: 30, max: 120, noNaN: true }),
        (temperatureC, pressureKPa) => {
          const kT = 1.380649e-23 * (273.15 + temperatureC);
          const litres = ((6.02214076e23 * kT) / (pressureKPa * 1000)) * 1000;
          const answered = numberOf(molarVolume({ temperatureC, pressureKPa, basis: 'exact' }));
          expect(Math.abs(answered / litres - 1)).toBeLessThan(1e-9);
        },
      ),
    );
  });
  // 29 CFR 1910.1000 Table Z-1 footnote (seen in a copy): 25 °C and 760 torr.
  test('the convention is 24.45 L/mol, 0.06 % under the gas law, and says that it is one', () => {
    const answer = molarVolume(CONVENTION);
    expect(numberOf(answer)).toBeCloseTo(24.45, 10);
    expect(numberOf(answer) / numberOf(molarVolume(ROOM)) - 1).toBeCloseTo(-0.0006, 4);
    expect(answer).toMatchObject({ source: expect.stringContaining('24.45'), sourceTag: 'seen-copy' });
  });
  // Worked apart: 24.45 × 263.15/298.15 × 101.325/83.4 = 26.2179.
  test('the convention is brought to the temperature and pressure in the same proportion', () => {
    const answer = molarVolume({ temperatureC: -10, pressureKPa: 83.4, basis: 'convention' });
    expect(numberOf(answer)).toBeCloseTo(26.2179, 4);
  });
  test.each([
    [{ ...ROOM, temperatureC: -273.15 }, 'out-of-range'],
    [{ ...ROOM, pressureKPa: 0 }, 'out-of-range'],
    [{ ...ROOM, pressureKPa: 1013 }, 'out-of-range'],
    [{ ...ROOM, temperatureC: Number.NaN }, 'not-a-number'],
  ] as const)('%j is refused: %s', (air, code) => {
    expect(codeOf(molarVolume(air))).toBe(code);
  });
});

describe('mg/m³ of carbon monoxide, molar mass 28.01', () => {
  const massOf = (ppm: number, air: Air, molarMass = 28.01) =>
    numberOf(convertAmount({ value: ppm, from: 'ppm', to: 'mg/m3', molarMass, air }));
  test.each([
    ['25 °C, 1 atm', ROOM, 40.07],
    ['−10 °C, 1 atm', COLD, 45.4],
    ['25 °C, 83.4 kPa', HIGH, 32.98],
  ])('35 ppm at %s', (_where, air, expected) => {
    expect(massOf(35, air)).toBeCloseTo(expected, 2);
  });
  // NIOSH prints 40 mg/m³ for its REL of 35 ppm and 229 for its ceiling of 200 ppm (229 seen; molar mass 28.0, 24.45).
  test('what NIOSH prints', () => {
    expect(Math.round(massOf(35, CONVENTION, 28))).toBe(40);
    expect(massOf(35, CONVENTION, 28)).toBeCloseTo(40.08, 2);
    expect(massOf(200, CONVENTION, 28)).toBeCloseTo(229.04, 2);
  });
  test('trap 28: 24.45 unscaled would be 13 % off at −10 °C and 18 % at 83.4 kPa', () => {
    expect(massOf(35, COLD) / ((35 * 28.01) / 24.45) - 1).toBeCloseTo(0.1323, 3);
    expect(1 - massOf(35, HIGH) / ((35 * 28.01) / 24.45)).toBeCloseTo(0.1774, 3);
  });
  test('without a molar mass or the air there is no answer', () => {
    const asked = { value: 35, from: 'ppm', to: 'mg/m3' } as const;
    expect(codeOf(convertAmount({ ...asked, molarMass: null, air: ROOM }))).toBe('missing');
    expect(codeOf(convertAmount({ ...asked, molarMass: 28, air: null }))).toBe('missing');
  });
});

// NIOSH Pocket Guide conversion factors (per row: tag in the data) agree with molar mass ÷ 24.45 to 1 %.
test.each(SUBSTANCES.filter(({ massPerPpm }) => massPerPpm).map((one) => [one.name, one] as const))(
  'conversion factor of %s',
  (_name, { massPerPpm, molarMass }) => {
    if (!massPerPpm || !molarMass) throw new Error('a conversion without a molar mass');
    const question = { value: 1, from: 'ppm', to: 'mg/m3', molarMass: molarMass.value, air: CONVENTION } as const;
    expect(Math.abs(numberOf(convertAmount(question)) / massPerPpm.value - 1)).toBeLessThan(0.01);
  },
);

describe('parts by volume', () => {
  // Definition: 1 %vol = 10,000 ppm = 10,000,000 ppb.
  test.each([
    [1, '%vol', 'ppm', 10_000],
    [1, 'ppm', 'ppb', 1000],
    [100, 'ppb', 'ppm', 0.1],
    [350, 'ppb', 'ppm', 0.35],
    [20.9, '%vol', 'ppb', 209_000_000],
  ] as const)('%s %s in %s %s', (value, from, to, expected) => {
    const answer = convertAmount({ value, from, to, molarMass: null, air: null });
    expect(numberOf(answer)).toBe(expected);
    expect(answer).toMatchObject({ unit: to, inputs: [{ name: 'Amount', value, unit: from }] });
  });
  test.each([
    [-1, 'ppm', 'out-of-range'],
    [100.1, '%vol', 'out-of-range'],
    [1_000_001, 'ppm', 'out-of-range'],
    [Number.POSITIVE_INFINITY, 'ppm', 'not-a-number'],
  ] as const)('%s %s is refused: %s', (value, from, code) => {
    expect(codeOf(convertAmount({ value, from, to: 'ppb', molarMass: null, air: null }))).toBe(code);
  });
  test('more mg/m³ than the whole of the air is refused', () => {
    expect(codeOf(convertAmount({ value: 2e6, from: 'mg/m3', to: 'ppm', molarMass: 28, air: ROOM }))).toBe(
      'inconsistent',
    );
  });
});

describe('properties', () => {
  const question = fc.record({
    value: fc.double({ min: 0.001, max: 100, noNaN: true }),
    from: fc.constantFrom(...AMOUNT_UNITS),
    to: fc.constantFrom(...AMOUNT_UNITS),
    molarMass: fc.double({ min: 10, max: 300, noNaN: true }),
    air: fc.record({
      temperatureC: fc.double({ min: -60, max: 100, noNaN: true }),
      pressureKPa: fc.double({ min: 30, max: 120, noNaN: true }),
      basis: fc.constantFrom('exact' as const, 'convention' as const),
    }),
  });
  test('there and back is where one began', () => {
    fc.assert(
      fc.property(question, (asked) => {
        const there = convertAmount(asked);
        if (!there.ok) return;
        const back = numberOf(convertAmount({ ...asked, value: there.value, from: asked.to, to: asked.from }));
        expect(Math.abs(back / asked.value - 1)).toBeLessThan(1e-12);
      }),
    );
  });
  test('more is more, in every unit', () => {
    fc.assert(
      fc.property(question, fc.double({ min: 1.001, max: 2, noNaN: true }), (asked, factor) => {
        const [less, more] = [convertAmount(asked), convertAmount({ ...asked, value: asked.value * factor })];
        if (less.ok && more.ok) expect(more.value).toBeGreaterThan(less.value);
      }),
    );
  });
});
