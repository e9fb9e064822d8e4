/** Directions of wind. Arithmetic of directions; that a direction is where it comes from: common practice, no source. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { asBearing, meanWind, turnedBy, windTo } from '../../shared/map/wind.ts';

const from = (fromDegrees: number, speedMs = 3) => ({ fromDegrees, speedMs });
const degrees = fc.double({ min: -720, max: 720, noNaN: true });

test('a direction and its opposite', () => {
  expect([0, 90, 180, 270, 359.5, 360, -10].map(windTo)).toEqual([180, 270, 0, 90, 179.5, 180, 170]);
  expect(asBearing(-1e-20)).toBe(0);
  expect(() => asBearing(Number.NaN)).toThrow(RangeError);
});

test('turned by the shorter way: veered above 0, backed below', () => {
  expect(turnedBy(350, 10)).toBe(20);
  expect(turnedBy(10, 350)).toBe(-20);
  expect(turnedBy(90, 200)).toBe(110);
  expect(turnedBy(0, 180)).toBe(-180);
  fc.assert(
    fc.property(degrees, degrees, (before, after) => {
      const turn = turnedBy(before, after);
      expect(turn).toBeGreaterThanOrEqual(-180);
      expect(turn).toBeLessThan(180);
      expect(Math.abs(turnedBy(asBearing(before + turn), after))).toBeLessThan(1e-9);
    }),
  );
});

describe('mean wind', () => {
  // Arrows of 3 from the north and 4 from the east: 5 from atan2(4, 3).
  test('is weighted by speed', () => {
    const mean = meanWind([from(0, 3), from(90, 4)]);
    expect(mean.fromDegrees).toBeCloseTo(53.1301, 4);
    expect(mean).toMatchObject({ carriedMs: expect.closeTo(2.5, 9), speedMs: 3.5, count: 2 });
  });
  test('has no direction where it cancels out, in a calm, or where nothing is known', () => {
    expect(meanWind([from(0), from(180)])).toEqual({ fromDegrees: null, reason: 'variable' });
    expect(meanWind([from(90, 0)])).toEqual({ fromDegrees: null, reason: 'calm' });
    expect(meanWind([])).toEqual({ fromDegrees: null, reason: 'no-wind-known' });
    expect(meanWind([from(Number.NaN), from(10, -1)])).toEqual({ fromDegrees: null, reason: 'no-wind-known' });
  });
  test('a missing direction is not north', () => {
    expect(meanWind([from(Number.NaN, 9), from(120)])).toMatchObject({ fromDegrees: expect.closeTo(120, 9), count: 1 });
  });
  test('a calm counts in the speed and turns nothing', () => {
    expect(meanWind([from(120, 4), from(300, 0)])).toMatchObject({
      fromDegrees: expect.closeTo(120, 9),
      speedMs: 2,
      carriedMs: expect.closeTo(2, 9),
    });
  });
  test('turns with the winds that it is of, across north as anywhere', () => {
    const winds = fc.array(fc.tuple(fc.double({ min: -40, max: 40, noNaN: true }), fc.integer({ min: 1, max: 20 })), {
      minLength: 1,
      maxLength: 8,
    });
    fc.assert(
      fc.property(winds, degrees, (offs, turn) => {
        const mean = meanWind(offs.map(([off, speed]) => from(off, speed))).fromDegrees ?? Number.NaN;
        const turned = meanWind(offs.map(([off, speed]) => from(off + turn, speed))).fromDegrees ?? Number.NaN;
        expect(Math.abs(turnedBy(asBearing(mean + turn), turned))).toBeLessThan(1e-6);
        expect(Math.abs(turnedBy(0, mean))).toBeLessThanOrEqual(40 + 1e-6);
      }),
    );
  });
});
