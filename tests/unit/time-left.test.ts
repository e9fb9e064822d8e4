/** Time left until a person must start back. Arithmetic; that all of this is taken off: common practice, no source. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { LIMIT_KINDS, type TimeLimit, timeLeft, WAY_BACK_PARTS, type WayBack } from '../../shared/people/time-left.ts';

const NOTHING: WayBack = { 'way-out': 0, decontamination: 0, reserve: 0 };
const MINUTE_MS = 60_000;
function limit(over: Partial<TimeLimit> = {}): TimeLimit {
  return {
    kind: 'air',
    minutes: 20,
    ageMs: 0,
    certainty: 'estimated',
    from: 'pressure by radio, 60 L/min',
    alreadyOff: [],
    ...over,
  };
}

describe('the first limit governs', () => {
  test('air 20, dose 12, work time 30: dose, and says what it rests on', () => {
    const limits = [
      limit(),
      limit({ kind: 'dose', minutes: 12.9, certainty: 'measured', from: 'dose rate of M-1', ageMs: 0 }),
      limit({ kind: 'work-time', minutes: 30 }),
    ];
    expect(timeLeft(limits, NOTHING)).toEqual({
      minutes: 12.9,
      governs: { kind: 'dose', of: null },
      words: 'leave in 12 min',
      estimate: { from: 'dose rate of M-1', certainty: 'measured', ageMs: 0 },
      unknown: [],
    });
  });
  test('of equal ones the first by kind, in whatever order they come', () => {
    const both = [limit({ kind: 'stel', of: 'h2s' }), limit()];
    expect(timeLeft(both, NOTHING).governs).toEqual({ kind: 'air', of: null });
    expect(timeLeft([...both].reverse(), NOTHING).governs).toEqual({ kind: 'air', of: null });
  });
  test('which channel it is of', () => {
    expect(timeLeft([limit({ kind: 'stel', of: 'co' })], NOTHING).governs).toEqual({ kind: 'stel', of: 'co' });
  });
  test('what is known and will not be reached does not limit', () => {
    const dose = limit({ kind: 'dose', minutes: 'not-limiting' });
    expect(timeLeft([limit(), dose], NOTHING)).toMatchObject({ minutes: 20, unknown: [] });
    expect(timeLeft([dose], NOTHING)).toMatchObject({ minutes: null, words: 'nothing known limits the stay' });
    expect(timeLeft([limit({ minutes: Infinity })], NOTHING).words).toBe('nothing known limits the stay');
  });
});

describe('what is taken off', () => {
  const wayBack: WayBack = { 'way-out': 4, decontamination: 5, reserve: 2 };
  test('way out, decontamination and reserve: 20 − 11', () => {
    expect(timeLeft([limit()], wayBack)).toMatchObject({ minutes: 9, words: 'leave in 9 min' });
  });
  test('not what is off already', () => {
    expect(timeLeft([limit({ alreadyOff: ['way-out', 'reserve'] })], wayBack).minutes).toBe(15);
  });
  test('the time since it was told: 20 min as of 3 min ago', () => {
    expect(timeLeft([limit({ ageMs: 3 * MINUTE_MS })], wayBack)).toMatchObject({
      minutes: 6,
      estimate: { ageMs: 3 * MINUTE_MS },
    });
  });
  test('a report from the future and a way back below 0 give nothing', () => {
    expect(timeLeft([limit({ ageMs: -60_000 })], { ...NOTHING, reserve: -5 }).minutes).toBe(20);
  });
  test('never negative', () => {
    expect(timeLeft([limit({ minutes: 3 })], wayBack)).toMatchObject({ minutes: 0, words: 'LEAVE NOW' });
    expect(timeLeft([limit({ minutes: -3 })], NOTHING).minutes).toBe(0);
  });
  test('under a minute is no minute', () => {
    expect(timeLeft([limit({ minutes: 0.9 })], NOTHING).words).toBe('leave in less than 1 min');
    expect(timeLeft([limit({ minutes: 1.99 })], NOTHING).words).toBe('leave in 1 min');
  });
});

describe('what is not known is said', () => {
  test('nothing known: no number, and why', () => {
    expect(timeLeft([limit({ minutes: null })], NOTHING)).toEqual({
      minutes: null,
      governs: null,
      words: 'air unknown',
      estimate: null,
      unknown: [{ what: 'air', of: null, words: 'air unknown' }],
    });
    expect(timeLeft([], NOTHING)).toMatchObject({ minutes: null, words: 'time left unknown' });
    expect(timeLeft([limit({ minutes: Number.NaN, reason: 'not reported' })], NOTHING).words).toBe(
      'air unknown (not reported)',
    );
  });
  test('one limit known beside one that is not: at most', () => {
    const dose = limit({ kind: 'dose', minutes: 9.5 });
    expect(timeLeft([limit({ minutes: null }), dose], NOTHING)).toMatchObject({
      minutes: 9.5,
      words: 'leave in 9 min at most: air unknown',
    });
  });
  test('a part of the way back that nobody said', () => {
    const result = timeLeft([limit()], { ...NOTHING, decontamination: null });
    expect(result.words).toBe('leave in 20 min at most: decontamination not known');
    const off = limit({ alreadyOff: ['decontamination'] });
    expect(timeLeft([off], { ...NOTHING, decontamination: null }).unknown).toEqual([]);
  });
  test.each([null, Number.NaN])('an age of %s counts as all used up', (ageMs) => {
    expect(timeLeft([limit({ ageMs })], NOTHING)).toMatchObject({
      minutes: 0,
      words: 'LEAVE NOW',
      estimate: { ageMs: null },
      unknown: [{ what: 'age', of: 'air' }],
    });
  });
});

const minutes = fc.oneof(fc.double({ min: -10, max: 600, noNaN: true }), fc.constantFrom(0, Infinity, -Infinity));
const anyLimit = fc.record({
  kind: fc.constantFrom(...LIMIT_KINDS),
  of: fc.constantFrom('co', 'h2s'),
  minutes: fc.oneof({ weight: 5, arbitrary: minutes }, fc.constantFrom('not-limiting' as const, null, Number.NaN)),
  ageMs: fc.option(fc.double({ min: -1e5, max: 1e6, noNaN: true }), { nil: null, freq: 8 }),
  certainty: fc.constantFrom('measured' as const, 'reported' as const, 'estimated' as const),
  from: fc.constant('x'),
  alreadyOff: fc.subarray([...WAY_BACK_PARTS]),
});
const part = fc.option(fc.double({ min: -5, max: 60, noNaN: true }), { nil: null, freq: 5 });
const anyWay = fc.record({ 'way-out': part, decontamination: part, reserve: part });
const anyLimits = fc.uniqueArray(anyLimit, { selector: (one) => `${one.kind} ${one.of}`, maxLength: 6 });
const AS_MUCH = Number.POSITIVE_INFINITY;

describe('properties', () => {
  test('adding a limit never lengthens it', () => {
    fc.assert(
      fc.property(anyLimits, anyLimit, anyWay, (limits, added, way) => {
        const before = timeLeft(limits, way).minutes ?? AS_MUCH;
        expect(timeLeft([...limits, added], way).minutes ?? AS_MUCH).toBeLessThanOrEqual(before);
      }),
    );
  });
  test('a worse limit never lengthens it: fewer minutes, older, less taken off already', () => {
    fc.assert(
      fc.property(
        anyLimits,
        fc.nat(),
        fc.double({ min: 0, max: 500, noNaN: true }),
        anyWay,
        (limits, pick, by, way) => {
          const at = pick % Math.max(1, limits.length);
          const one = limits[at];
          if (one === undefined) return;
          const { minutes: now, ageMs } = one;
          const worse: TimeLimit[] = [
            { ...one, minutes: typeof now === 'number' ? now - by : now },
            { ...one, ageMs: ageMs === null ? null : ageMs + by * MINUTE_MS },
            { ...one, ageMs: null },
            { ...one, alreadyOff: [] },
          ];
          const before = timeLeft(limits, way).minutes ?? AS_MUCH;
          for (const instead of worse) {
            const after = timeLeft([...limits.slice(0, at), instead, ...limits.slice(at + 1)], way).minutes ?? AS_MUCH;
            expect(after).toBeLessThanOrEqual(before);
          }
        },
      ),
    );
  });
  test('a longer way back never lengthens it', () => {
    fc.assert(
      fc.property(
        anyLimits,
        anyWay,
        fc.constantFrom(...WAY_BACK_PARTS),
        fc.double({ min: 0, max: 60, noNaN: true }),
        (limits, way, which, by) => {
          const before = timeLeft(limits, way).minutes ?? AS_MUCH;
          const longer = { ...way, [which]: (way[which] ?? 0) + by };
          expect(timeLeft(limits, longer).minutes ?? AS_MUCH).toBeLessThanOrEqual(before);
        },
      ),
    );
  });
  test('is never negative, and always has words; LEAVE NOW exactly at 0', () => {
    fc.assert(
      fc.property(anyLimits, anyWay, (limits, way) => {
        const result = timeLeft(limits, way);
        expect(result.words).not.toBe('');
        if (result.minutes !== null) expect(result.minutes).toBeGreaterThanOrEqual(0);
        expect(result.words === 'LEAVE NOW').toBe(result.minutes === 0);
        if (result.minutes === null && limits.some((one) => one.minutes === null)) {
          expect(result.words).toMatch(/unknown/);
        }
      }),
    );
  });
  test('the order of the limits changes nothing', () => {
    fc.assert(
      fc.property(anyLimits, anyWay, (limits, way) => {
        expect(timeLeft([...limits].reverse(), way)).toEqual(timeLeft(limits, way));
      }),
    );
  });
});
