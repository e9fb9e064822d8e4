/** Lag of sensors and lines, against values worked apart. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { lineLag, shareShown, timeConstant, waitFor99 } from '../../shared/quantity/first-order.ts';
import { codeOf, numberOf } from '../support/answers.ts';

describe('first-order response', () => {
  test.each([
    [15, 6.514, [78.46, 90, 99, 99.99]],
    [30, 13.029, [53.58, 68.38, 90, 99]],
    [60, 26.058, [31.87, 43.77, 68.38, 90]],
  ])('T90 %s s: τ %s s', (t90S, tau, shares) => {
    expect(numberOf(timeConstant({ t90S }))).toBeCloseTo(tau, 3);
    [10, 15, 30, 60].forEach((elapsedS, index) => {
      expect(numberOf(shareShown({ t90S, elapsedS }))).toBeCloseTo(shares[index] ?? Number.NaN, 2);
    });
  });
  // The meaning of T90 itself, and a response worked out by small steps instead of the formula.
  test('agrees with a response integrated step by step', () => {
    const t90S = 30;
    const tau = numberOf(timeConstant({ t90S }));
    let shown = 0;
    for (let step = 0; step < 10_000; step += 1) shown += ((100 - shown) / tau) * 0.001;
    expect(shown).toBeCloseTo(numberOf(shareShown({ t90S, elapsedS: 10 })), 2);
    expect(numberOf(shareShown({ t90S, elapsedS: t90S }))).toBeCloseTo(90, 10);
  });
  test('rises with time, falls with T90, and never passes the truth', () => {
    const seconds = fc.double({ min: 0.1, max: 600, noNaN: true });
    fc.assert(
      fc.property(seconds, seconds, (t90S, elapsedS) => {
        const share = numberOf(shareShown({ t90S, elapsedS }));
        expect(share).toBeGreaterThan(0);
        expect(share).toBeLessThanOrEqual(100);
        expect(numberOf(shareShown({ t90S, elapsedS: elapsedS * 1.1 }))).toBeGreaterThanOrEqual(share);
        expect(numberOf(shareShown({ t90S: t90S * 1.1, elapsedS }))).toBeLessThanOrEqual(share);
      }),
    );
  });
});

describe('sampling line', () => {
  test.each([
    [3.175, 30, 300, 47.5],
    [3.175, 10, 300, 15.8],
    [4.76, 30, 500, 64.1],
  ])('%s mm, %s m, %s mL/min: %s s', (diameterMm, lengthM, flowMlPerMin, expected) => {
    expect(numberOf(lineLag({ diameterMm, lengthM, flowMlPerMin }))).toBeCloseTo(expected, 1);
  });
  test('30 m of 3.175 mm hold 237.5 mL, which stand in the numbers', () => {
    const answer = lineLag({ diameterMm: 3.175, lengthM: 30, flowMlPerMin: 300 });
    const volume = answer.ok ? answer.inputs.find(({ unit }) => unit === 'mL')?.value : undefined;
    expect(volume).toBeCloseTo(237.5, 1);
  });
  test('the whole wait is the lag and twice T90, by which 99 % are shown', () => {
    expect(numberOf(waitFor99({ lagS: 47.5, t90S: 30 }))).toBe(107.5);
    expect(numberOf(shareShown({ t90S: 30, elapsedS: 60 }))).toBeCloseTo(99, 10);
  });
});

test.each([
  [timeConstant({ t90S: 0 }), 'out-of-range'],
  [shareShown({ t90S: 30, elapsedS: -1 }), 'out-of-range'],
  [shareShown({ t90S: Number.NaN, elapsedS: 1 }), 'not-a-number'],
  [lineLag({ diameterMm: 3, lengthM: 10, flowMlPerMin: 0 }), 'out-of-range'],
] as const)('refused %#: %s', (answer, code) => {
  expect(codeOf(answer)).toBe(code);
});
