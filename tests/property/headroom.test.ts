/** A worse value never has a longer bar, whatever the table, the background and the values. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { pointsOf } from '../../shared/alarm/compile.ts';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import { headroom } from '../../shared/alarm/headroom.ts';
import { CHANNELS, KNOWN_CHANNELS } from '../../shared/quantity/channels.ts';

/** Backgrounds and values to try, by channel, in its canonical unit; backgrounds an officer could override included. */
const SPANS = {
  o2: { background: [18, 25], value: [0, 40] },
  lel: { background: [-5, 30], value: [-10, 120] },
  co: { background: [-5, 300], value: [-20, 2000] },
  h2s: { background: [-2, 60], value: [-5, 200] },
  voc: { background: [0, 5], value: [-1, 100] },
  gamma: { background: [0, 3000], value: [0, 2e7] },
} as const;

/** Values close to every level as well as anywhere. */
function anyValue(channel: keyof typeof SPANS) {
  const [min, max] = SPANS[channel].value;
  const levels = pointsOf(DEFAULT_TABLE, channel).map((point) => point.value);
  const near = fc.tuple(fc.constantFrom(...levels), fc.constantFrom(-0.1, -1e-12, 0, 1e-12, 0.1));
  return fc.oneof(
    fc.double({ min, max, noNaN: true }),
    near.map(([level, off]) => level + off),
  );
}
function left(channel: keyof typeof SPANS, value: number, background: number): number | null {
  return headroom(pointsOf(DEFAULT_TABLE, channel), value, background)?.left ?? null;
}

describe.each(KNOWN_CHANNELS)('%s', (channel) => {
  const [from, to] = SPANS[channel].background;
  const background = fc.oneof(
    fc.constant<number>(CHANNELS[channel].assumedBackground),
    fc.double({ min: from, max: to, noNaN: true }),
  );
  test('further from the background on one side never leaves more', () => {
    fc.assert(
      fc.property(background, anyValue(channel), anyValue(channel), (normal, a, b) => {
        const side = (value: number) => value >= normal;
        // Where the background itself is beyond a level, going away from it can be the way to safety.
        fc.pre(side(a) === side(b) && left(channel, normal, normal) !== 0);
        const [better, worse] = Math.abs(a - normal) <= Math.abs(b - normal) ? [a, b] : [b, a];
        const [more, less] = [left(channel, better, normal), left(channel, worse, normal)];
        if (more === null || less === null) return;
        expect(less).toBeLessThanOrEqual(more + 1e-12);
      }),
    );
  });
  test('at or beyond a withdrawal level nothing is left, on whichever side the background lies', () => {
    const withdrawals = pointsOf(DEFAULT_TABLE, channel).filter((point) => point.withdraw && point.compare === 'value');
    fc.assert(
      fc.property(background, anyValue(channel), (normal, value) => {
        const beyond = withdrawals.some(({ direction, value: level }) =>
          direction.startsWith('<') ? value <= level : value >= level,
        );
        if (beyond) expect(left(channel, value, normal)).toBe(0);
      }),
    );
  });
  test('is a share from 0 to 1, with ticks between', () => {
    fc.assert(
      fc.property(background, anyValue(channel), (normal, value) => {
        const room = headroom(pointsOf(DEFAULT_TABLE, channel), value, normal);
        for (const share of room === null ? [] : [room.left, ...room.ticks]) {
          expect(share).toBeGreaterThanOrEqual(0);
          expect(share).toBeLessThanOrEqual(1);
        }
      }),
    );
  });
});

test('oxygen has both sides: from 20.9 down to 19.5 and up to 23.5', () => {
  expect(left('o2', 19.5, 20.9)).toBe(0);
  expect(left('o2', 23.5, 20.9)).toBe(0);
  expect(left('o2', 20.2, 20.9)).toBeCloseTo(0.5, 9);
  expect(left('o2', 22.2, 20.9)).toBeCloseTo(0.5, 9);
});

// A background that an officer overrode: the level has not gone away with it.
test('a background beyond a level never makes a value beyond that level look free', () => {
  expect(left('o2', 24.5, 24)).toBe(0);
  expect(left('o2', 19, 19.4)).toBe(0);
  expect(left('o2', 23.8, 24)).toBe(0);
  // The low level is no end of the way up.
  expect(left('o2', 19.6, 19)).toBeCloseTo((23.5 - 19.6) / 4.5, 9);
});
