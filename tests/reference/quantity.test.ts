import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { compare, shiftDecimal, toCanonical } from '../../shared/quantity/canonical.ts';
import type { Unit } from '../../shared/quantity/channels.ts';

/** The text of a decimal with its point moved on paper, as a number: the outside reference for `shiftDecimal`. */
function movedOnPaper(digits: string, places: number, power: number): number {
  const padded = digits.padStart(40, '0') + '0'.repeat(40);
  const point = 40 - places + power;
  return Number(`${padded.slice(0, point)}.${padded.slice(point)}`);
}

describe('units', () => {
  // 1 %vol = 10,000 ppm = 10^7 ppb: definition of parts by volume.
  test.each<[string, number, Unit, number]>([
    ['voc', 100, 'ppb', 0.1],
    ['voc', 350, 'ppb', 0.35],
    ['voc', 1, '%vol', 10_000],
    ['co', 1, '%vol', 10_000],
    ['co', 35, 'ppm', 35],
    ['h2s', 10_000, 'ppb', 10],
    ['o2', 20.9, '%vol', 20.9],
    ['o2', 209_000, 'ppm', 20.9],
  ])('%s: %d %s is %d in the canonical unit', (channel, value, unit, expected) => {
    expect(toCanonical(channel, value, unit)?.value).toBe(expected);
  });

  // Field equivalence 1 R = 1 rem = 10 mSv: REMM (remm.hhs.gov, zones of radiological response): 10 mR/h = 0.1 mSv/h,
  // 10 R/h = 0.1 Sv/h.
  test.each<[number, Unit, number]>([
    [10, 'mR/h', 10_000],
    [100, 'uSv/h', 10_000],
    [0.1, 'mSv/h', 10_000],
    [10, 'R/h', 10_000_000],
    [0.1, 'Sv/h', 10_000_000],
    [0.07, 'uSv/h', 7],
    [0.007, 'mR/h', 7],
    [2, 'mR/h', 2000],
  ])('gamma: %d %s is %d uR/h', (value, unit, expected) => {
    expect(toCanonical('gamma', value, unit)).toEqual({ value: expected, unit: 'uR/h' });
  });

  test('trap 1: 350 ppb never becomes 350 ppm', () => {
    expect(toCanonical('voc', 350, 'ppb')).toEqual({ value: 0.35, unit: 'ppm' });
  });

  test('trap 2: %LEL and %vol are not brought together without a basis', () => {
    expect(toCanonical('lel', 5, '%vol')).toBeNull();
    expect(toCanonical('co', 5, '%LEL')).toBeNull();
    expect(toCanonical('co', 5, 'mg/m3')).toBeNull();
  });

  test('trap 3: micro, milli and whole roentgens an hour are a thousand apart; a gas unit is none of them', () => {
    expect(toCanonical('gamma', 1, 'R/h')?.value).toBe(1000 * (toCanonical('gamma', 1, 'mR/h')?.value ?? Number.NaN));
    expect(toCanonical('gamma', 1, 'mR/h')?.value).toBe(1000);
    expect(toCanonical('gamma', 1, 'ppm')).toBeNull();
    expect(toCanonical('co', 1, 'uR/h')).toBeNull();
  });

  test('a channel of its own keeps its unit', () => {
    expect(toCanonical('nh3', 12.5, 'ppb')).toEqual({ value: 12.5, unit: 'ppb' });
  });
});

test('shiftDecimal is what moving the point on paper gives', () => {
  const digits = fc.integer({ min: 0, max: 999_999_999_999 }).map(String);
  fc.assert(
    fc.property(digits, fc.nat(12), fc.integer({ min: -12, max: 12 }), (text, places, power) => {
      const value = movedOnPaper(text, places, 0);
      const expected = movedOnPaper(text, places, power);
      expect(shiftDecimal(value, power)).toBe(expected);
      expect(shiftDecimal(-value, power) + 0).toBe(-expected + 0);
    }),
    { numRuns: 2000 },
  );
});

describe('compare', () => {
  test('trap 16: a sum of tenths meets its decimal', () => {
    expect(0.1 + 0.2).not.toBe(0.3);
    expect(compare(0.1 + 0.2, 0.3)).toBe(0);
    expect(compare(19.5, 19.5)).toBe(0);
    expect(compare(23.5, 23.6)).toBe(-1);
    expect(compare(10.1, 10)).toBe(1);
  });

  // 29 CFR 1910.146(b): oxygen below 19.5 % is a hazardous atmosphere.
  test('trap 29: 19.46 shows as 19.5 and is below it', () => {
    expect((19.46).toFixed(1)).toBe('19.5');
    expect(compare(19.46, 19.5)).toBe(-1);
    expect(compare(19.499, 19.5)).toBe(-1);
  });
});
