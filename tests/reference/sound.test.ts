/**
 * What is played, against the numbers of the standards whose principles it follows.
 *
 * IEC 60601-1-8, tables 3 and 4: the numbers of pulses and the rhythm were seen in restatements of the standard
 * (10 pulses as 3 + 2 twice, 3, and 1 or 2), not in the standard itself. All times are from memory [memory]. The
 * fundamental of 150 to 1000 Hz with at least four harmonics between 300 and 4000 Hz: a restatement too.
 * Nothing here shows that the sounds conform to that standard; it is one for medical equipment.
 *
 * ISO 8201: pulses and pauses of 0.5 s ± 10 %, then 1.5 s ± 10 %, as restated in the Ontario Building Code,
 * A-3.2.4.18.(2); the cycle of 4.0 s follows from its bell form (strokes 1 s apart, then 2 s).
 */
import { describe, expect, test } from 'vitest';
import { BY_RANK, ESCALATED_EVERY_MS, NOT_LIVE_EVERY_MS } from '../../web/sound/calls.ts';
import { burstMs, harmonicsHz, PATTERNS, type PatternName } from '../../web/sound/patterns.ts';

const NAMES = Object.keys(PATTERNS) as PatternName[];
const lengths = (name: PatternName) => PATTERNS[name].pulses.map((pulse) => pulse.lengthMs);
/** Silence from the end of each pulse to the start of the next. */
const gaps = (name: PatternName) =>
  PATTERNS[name].pulses.slice(1).map((pulse, i) => {
    const before = PATTERNS[name].pulses[i];
    return before === undefined ? Number.NaN : pulse.atMs - before.atMs - before.lengthMs;
  });

function expectWithin(values: readonly number[], least: number, most: number): void {
  expect(values.length).toBeGreaterThan(0);
  for (const value of values) {
    expect(value).toBeGreaterThanOrEqual(least);
    expect(value).toBeLessThanOrEqual(most);
  }
}

describe('bursts by priority', () => {
  test('danger: ten pulses, three and two, twice', () => {
    const all = gaps('danger');
    expect(lengths('danger')).toHaveLength(10);
    expect(new Set(lengths('danger')).size).toBe(1);
    const [pulse = Number.NaN] = lengths('danger');
    expectWithin([pulse], 75, 200); // [memory]
    const within = [0, 1, 3, 5, 6, 8].map((i) => all[i] ?? Number.NaN);
    expectWithin(within, 50, 125); // [memory]
    expect(new Set(within).size).toBe(1);
    const x = within[0] ?? Number.NaN;
    expect([all[2], all[7]]).toEqual([2 * x + pulse, 2 * x + pulse]); // 3 to 4 and 8 to 9 [memory]
    expectWithin([all[4] ?? Number.NaN], 350, 1300); // 5 to 6 [memory]
  });

  test.each([
    ['caution', 3],
    ['notice', 2],
  ] as const)('%s: %i pulses, slower', (name, count) => {
    expect(lengths(name)).toHaveLength(count);
    expectWithin(lengths(name), 125, 250); // [memory]
    expectWithin(gaps(name), 125, 250); // [memory]
    expect(new Set(gaps(name)).size).toBe(1);
  });

  test('the silence between two bursts', () => {
    expectWithin([PATTERNS.danger.quietAfterMs, ESCALATED_EVERY_MS - burstMs(PATTERNS.danger)], 2500, 15_000); // [memory]
    expectWithin([PATTERNS.caution.quietAfterMs, NOT_LIVE_EVERY_MS - burstMs(PATTERNS.caution)], 2500, 30_000); // [memory]
    expect(PATTERNS.notice.quietAfterMs).toBeGreaterThanOrEqual(15_000); // [memory]
  });

  test.each(BY_RANK)('%s: fundamental and harmonics', (name) => {
    expectWithin([PATTERNS[name].fundamentalHz], 150, 1000);
    const heard = harmonicsHz(PATTERNS[name]).filter((hz) => hz >= 300 && hz <= 4000);
    expect(heard.length).toBeGreaterThanOrEqual(4);
    expect(Math.min(...PATTERNS[name].partials)).toBeGreaterThan(0);
  });

  test('no two share count, length or pitch', () => {
    const kinds = (of: (name: PatternName) => number | undefined) => new Set(NAMES.map(of)).size;
    expect(kinds((name) => PATTERNS[name].fundamentalHz)).toBe(4);
    expect(kinds((name) => lengths(name)[0])).toBe(4);
    expect(new Set(BY_RANK.map((name) => lengths(name).length)).size).toBe(3);
  });
});

test('evacuation: the temporal pattern of ISO 8201', () => {
  const { quietAfterMs } = PATTERNS.evacuation;
  expect(lengths('evacuation')).toHaveLength(3);
  expectWithin([...lengths('evacuation'), ...gaps('evacuation')], 450, 550);
  expectWithin([quietAfterMs], 1350, 1650);
  expect(burstMs(PATTERNS.evacuation) + quietAfterMs).toBe(4000);
});
