/** Air of a breathing apparatus. Worked values stand with their sources in tests/reference/traps.test.ts. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { airLitres, airTimes, leaveIn, teamAir, turnPressure, type Wearer } from '../../shared/people/air.ts';

const SIX_LITRES = { regime: 'bar', waterLitres: 6, fullBar: 300 } as const;
function wearer(over: Partial<Wearer> = {}): Wearer {
  return {
    name: 'E1-A',
    fullLitres: 1800,
    litres: 1800,
    litresPerMinute: 60,
    alarmFraction: 0.33,
    wayOutMinutes: 4,
    decontaminationMinutes: 6,
    ...over,
  };
}

describe('litres', () => {
  // Boyle: 6 L of water volume at 300 bar are 1,800 L, at 100 bar 600 L.
  test('by water volume and bar', () => {
    expect(airLitres(SIX_LITRES, { pressure: 300, unit: 'bar' })).toEqual({ ok: true, litres: 1800 });
    expect(airLitres(SIX_LITRES, { pressure: 100, unit: 'bar' })).toEqual({ ok: true, litres: 600 });
  });
  test('an empty gauge is 0 L, and a missing one is none', () => {
    expect(airLitres(SIX_LITRES, { pressure: 0, unit: 'bar' })).toEqual({ ok: true, litres: 0 });
    for (const pressure of [Number.NaN, -1, Infinity])
      expect(airLitres(SIX_LITRES, { pressure, unit: 'bar' })).toEqual({
        ok: false,
        problem: 'not-usable',
        what: 'gauge',
      });
  });
  test('the other unit is refused, never guessed', () => {
    const psi = { regime: 'psi', ratedLitres: 1200, fullPsi: 2216 } as const;
    expect(airLitres(psi, { pressure: 150, unit: 'bar' })).toMatchObject({ problem: 'units-differ' });
    expect(airLitres({ ...psi, fullPsi: 0 }, { pressure: 150, unit: 'psi' })).toMatchObject({ what: 'fullPsi' });
    expect(airLitres({ ...SIX_LITRES, waterLitres: 0 }, { pressure: 9, unit: 'bar' })).toMatchObject({ ok: false });
  });
});

describe('minutes', () => {
  test('after the alarm has sounded there is none left to it', () => {
    expect(airTimes(wearer({ litres: 500 }))).toMatchObject({ toAlarm: 0, toEmpty: 500 / 60 });
    expect(leaveIn(wearer({ litres: 500 }))).toMatchObject({ minutes: 0 });
  });
  // (1800 − 594 − 10 × 60) ÷ 60
  test('way out and decontamination are off', () => {
    expect(leaveIn(wearer())).toEqual({ ok: true, minutes: expect.closeTo(10.1, 9), neededLitres: 1194 });
  });
  test.each([
    ['litresPerMinute', 0],
    ['litres', -1],
    ['fullLitres', 0],
    ['alarmFraction', 1.1],
    ['wayOutMinutes', Number.NaN],
    ['decontaminationMinutes', -1],
  ])('%s of %s is not usable', (what, value) => {
    expect(leaveIn(wearer({ [what]: value }))).toEqual({ ok: false, problem: 'not-usable', what });
  });
  test('less air, harder work, a longer way or a higher alarm never leave more time', () => {
    const share = fc.double({ min: 0, max: 1, noNaN: true });
    const some = fc.double({ min: 0, max: 60, noNaN: true });
    fc.assert(
      fc.property(share, share, some, some, (fill, worse, way, decontamination) => {
        const one = wearer({ litres: fill * 1800, wayOutMinutes: way, decontaminationMinutes: decontamination });
        const minutes = (over: Partial<Wearer>) => {
          const result = leaveIn({ ...one, ...over });
          if (!result.ok) throw new Error(result.what);
          return result.minutes;
        };
        const base = minutes({});
        for (const over of [
          { litres: one.litres * worse },
          { litresPerMinute: 60 * (1 + worse) },
          { wayOutMinutes: way + worse },
          { decontaminationMinutes: decontamination + worse },
          { alarmFraction: 0.33 + worse * 0.67 },
        ])
          expect(minutes(over)).toBeLessThanOrEqual(base + 1e-9);
      }),
    );
  });
});

describe('team', () => {
  test('the lowest governs; who is not known is named', () => {
    const low = wearer({ name: 'E1-B', litres: 1400 });
    const none = wearer({ name: 'E1-C', litres: Number.NaN });
    expect(teamAir([wearer(), low, none])).toEqual({
      minutes: expect.closeTo((1400 - 1194) / 60, 9),
      governs: 'E1-B',
      unknown: ['E1-C'],
    });
    expect(teamAir([none])).toEqual({ minutes: null, governs: null, unknown: ['E1-C'] });
    expect(teamAir([])).toEqual({ minutes: null, governs: null, unknown: [] });
  });
});

describe('turn pressure', () => {
  const bar = (pressure: number) => ({ pressure, unit: 'bar' }) as const;
  test('reserve and what the way in used', () => {
    expect(turnPressure(bar(300), bar(260), bar(100))).toEqual({ ok: true, pressure: 140, unit: 'bar' });
  });
  test('a gauge that rose, or another unit, is refused', () => {
    expect(turnPressure(bar(200), bar(260), bar(100))).toMatchObject({ ok: false, what: 'atWork' });
    expect(turnPressure(bar(200), { pressure: 2000, unit: 'psi' }, bar(1))).toMatchObject({ problem: 'units-differ' });
    expect(turnPressure(bar(200), bar(180), { pressure: 1500, unit: 'psi' })).toMatchObject({ what: 'reserve' });
  });
});
