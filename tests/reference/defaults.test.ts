/**
 * The set-points in force from the start, held against where they are published. What goes in is a packet as a relay
 * writes it; what is looked at is which alarms the board lists.
 */
import { describe, expect, test } from 'vitest';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import { headroom } from '../../shared/alarm/headroom.ts';
import { setPointTable } from '../../shared/alarm/set-point.ts';
import { displayValue } from '../../shared/quantity/display.ts';
import { createRun, lel, o2 } from '../unit/fold-run.ts';

/** Set-points listed after one reading, in the table's order. */
function alarmsFor(channel: string, value: number, unit: string): string[] {
  const run = createRun();
  run.packet(1, { readings: { [channel]: { value, unit } } });
  const listed = new Set([...run.state.alarms.values()].map((alarm) => alarm.setPoint));
  return DEFAULT_TABLE.setPoints.map((point) => point.id).filter((id) => listed.has(id));
}
function priorityFor(channel: string, value: number, unit: string): string | null {
  const run = createRun();
  run.packet(1, { readings: { [channel]: { value, unit } } });
  return run.views()[0]?.priority ?? null;
}

describe('oxygen, 29 CFR 1910.146(b): hazardous below 19.5 and above 23.5 %; both themselves are inside', () => {
  test.each([
    [19.5, false],
    [19.4, true],
    [23.5, false],
    [23.6, true],
    [20.9, false],
    [0, true],
  ])('%s %%vol: danger %s', (value, danger) => {
    expect(priorityFor('o2', value, '%vol') === 'danger').toBe(danger);
  });
  test('the same as parts per million', () => {
    expect(priorityFor('o2', 195_000, 'ppm')).toBe('caution');
    expect(priorityFor('o2', 194_000, 'ppm')).toBe('danger');
  });
  // 0.5 off 20.9: the arithmetic of displacement, common practice as a level.
  test.each([
    [20.5, []],
    [20.4, ['o2-off-background']],
    [21.3, []],
    [21.4, ['o2-off-background']],
    [19.4, ['o2-low', 'o2-off-background']],
    [23.6, ['o2-high', 'o2-off-background']],
  ])('%s %%vol: %j', (value, expected) => {
    expect(alarmsFor('o2', value, '%vol')).toEqual(expected);
  });
});

// Four-agency manual of 1985 (NIOSH 85-115): under 10 % go on, 10 to 25 % extreme caution, over 25 % withdraw. Teams
// alarm at the level itself, so 10 and 25 are in the graver band (29 CFR 1910.146 says "in excess of" 10 %).
test.each([
  [9.9, null],
  [10, 'caution'],
  [24.9, 'caution'],
  [25, 'danger'],
  [26, 'danger'],
  [100, 'danger'],
])('combustible %s %%LEL: %s', (value, expected) => {
  expect(priorityFor('lel', value, '%LEL')).toBe(expected);
});

// NIOSH: carbon monoxide 35 ppm (shift), ceiling 200, IDLH 1200 (from memory); hydrogen sulfide ceiling 10 (10 min),
// OSHA Table Z-2 peak 50, IDLH 100.
test.each([
  ['co', 34.9, []],
  ['co', 35, ['co-35']],
  ['co', 199, ['co-35']],
  ['co', 200, ['co-35', 'co-200']],
  ['co', 1199, ['co-35', 'co-200']],
  ['co', 1200, ['co-35', 'co-200', 'co-idlh']],
  ['h2s', 9.9, []],
  ['h2s', 10, ['h2s-10']],
  ['h2s', 49.9, ['h2s-10']],
  ['h2s', 50, ['h2s-10', 'h2s-50']],
  ['h2s', 99.9, ['h2s-10', 'h2s-50']],
  ['h2s', 100, ['h2s-10', 'h2s-50', 'h2s-idlh']],
])('%s %s ppm: %j', (channel, value, expected) => {
  expect(alarmsFor(channel, value, 'ppm')).toEqual(expected);
});

// USDA APHIS: unknowns 1 ppm above background; EPA SOSG: over 5 ppm above background level B. Trap 1: ppb and ppm.
test.each([
  [999, 'ppb', []],
  [1000, 'ppb', ['voc-1']],
  [0.999, 'ppm', []],
  [1, 'ppm', ['voc-1']],
  [4999, 'ppb', ['voc-1']],
  [5000, 'ppb', ['voc-1', 'voc-5']],
  [5, 'ppm', ['voc-1', 'voc-5']],
])('organic vapour %s %s: %j', (value, unit, expected) => {
  expect(alarmsFor('voc', value, unit)).toEqual(expected);
});

// EPA Region 5: three times background (7 assumed: 21); USDA APHIS: 2 mR/h; NCRP as given by REMM: 10 mR/h, 10 R/h.
test.each([
  [20, 'uR/h', []],
  [20.9, 'uR/h', []],
  [21, 'uR/h', ['gamma-3x']],
  [0.21, 'uSv/h', ['gamma-3x']],
  [0.021, 'mR/h', ['gamma-3x']],
  [1999, 'uR/h', ['gamma-3x']],
  [2, 'mR/h', ['gamma-3x', 'gamma-2mr']],
  [20, 'uSv/h', ['gamma-3x', 'gamma-2mr']],
  [9.99, 'mR/h', ['gamma-3x', 'gamma-2mr']],
  [10, 'mR/h', ['gamma-3x', 'gamma-2mr', 'gamma-10mr']],
  [0.1, 'mSv/h', ['gamma-3x', 'gamma-2mr', 'gamma-10mr']],
  [9.99, 'R/h', ['gamma-3x', 'gamma-2mr', 'gamma-10mr']],
  [10, 'R/h', ['gamma-3x', 'gamma-2mr', 'gamma-10mr', 'gamma-10r']],
  [0.1, 'Sv/h', ['gamma-3x', 'gamma-2mr', 'gamma-10mr', 'gamma-10r']],
])('gamma %s %s: %j', (value, unit, expected) => {
  expect(alarmsFor('gamma', value, unit)).toEqual(expected);
});

describe('traps', () => {
  test('14: combustible in thin oxygen is no "0 and clean" (four-agency manual)', () => {
    const run = createRun();
    run.packet(1, { readings: { ...lel(0), ...o2(18) } });
    expect(run.cell('lel')).toMatchObject({ value: 0, standing: 'doubtful' });
    expect(run.cell('lel').reasons[0]?.words).toBe('0 %LEL or more: oxygen is thin');
  });
  test('15: oxygen alarms on both sides, and its deadbands point inwards', () => {
    const run = createRun();
    run.read(1, o2(19.4));
    run.every(2, 9, { readings: o2(19.6) });
    expect(run.stateOf('o2-low')).toBe('unacknowledged');
    const high = createRun();
    high.read(1, o2(23.6));
    high.every(2, 9, { readings: o2(23.4) });
    expect(high.stateOf('o2-high')).toBe('unacknowledged');
    high.every(10, 17, { readings: o2(23.2) });
    expect(high.stateOf('o2-high')).toBe('returned-unacknowledged');
  });
  test('16: 0.1 + 0.2 meets 0.3: at a level a sum of floats is at the level', () => {
    const nearly = 3.3 * 3 + 0.1; // 9.999999999999998
    expect(nearly).toBeLessThan(10);
    expect(alarmsFor('h2s', nearly, 'ppm')).toEqual(['h2s-10']);
    expect(alarmsFor('o2', 19.499_999_999_999_996, '%vol')).not.toContain('o2-low');
  });
  test('24: an old value is not normal', () => {
    const run = createRun();
    run.read(1, o2(20.9));
    run.advance(12);
    expect(run.cell('o2').standing).toBe('unusable');
    expect(run.view().link).toBe('stale');
  });
  test('25: an answer is no end, and a man down is not stood up by a movement', () => {
    const run = createRun();
    run.packet(1, { readings: lel(30), status: { motion: 'down' } });
    run.acknowledge(2, run.need('lel-25'));
    run.acknowledge(3, run.need('down'));
    run.packet(4, { readings: lel(30), status: { motion: 'moving' } });
    expect(run.stateOf('lel-25')).toBe('acknowledged');
    expect(run.stateOf('down')).toBe('latched-acknowledged');
  });
  test('29: 19.46 is an alarm and is not written as 19.5, nor 19.496 as 19.50', () => {
    expect(alarmsFor('o2', 19.46, '%vol')).toContain('o2-low');
    for (const value of [19.46, 19.496, 19.4996, 19.499_96]) {
      expect(Number(displayValue('o2', value, '%vol').figures)).toBeLessThan(19.5);
    }
    expect(displayValue('o2', 19.46, '%vol').figures).toBe('19.46');
    expect(displayValue('o2', 19.5, '%vol').figures).toBe('19.5');
    expect(displayValue('lel', 24.96, '%LEL').figures).toBe('24.96');
    expect(displayValue('voc', 0.999_96, 'ppm').figures).toBe('999.96');
    expect(displayValue('voc', 1, 'ppm')).toEqual({ figures: '1000', unit: 'ppb' });
  });
  test('12: a negative value is written as one', () => {
    expect(displayValue('lel', -4, '%LEL').figures).toBe('-4');
    expect(displayValue('voc', -0.1, 'ppm').figures).toBe('-100');
  });
});

describe('headroom', () => {
  const points = (channel: string) => DEFAULT_TABLE.setPoints.filter((point) => point.channel === channel);
  test.each([
    ['lel', 0, 0, 1],
    ['lel', 12.5, 0, 0.5],
    ['lel', 25, 0, 0],
    ['lel', 60, 0, 0],
    ['lel', -3, 0, 1],
    ['o2', 20.9, 20.9, 1],
    ['o2', 20.2, 20.9, 0.5],
    ['o2', 19.5, 20.9, 0],
    ['o2', 22.2, 20.9, 0.5],
    ['o2', 23.5, 20.9, 0],
  ])('%s %s with %s as normal: %s', (channel, value, normal, left) => {
    expect(headroom(points(channel), value, normal)?.left).toBeCloseTo(left, 9);
  });
  test('a worse value never has more', () => {
    for (const [channel, normal, values] of [
      ['lel', 0, Array.from({ length: 300 }, (_, i) => i / 10)],
      ['co', 0, Array.from({ length: 300 }, (_, i) => i)],
      ['gamma', 7, Array.from({ length: 300 }, (_, i) => 7 + i * 10)],
      ['o2', 20.9, Array.from({ length: 60 }, (_, i) => 20.9 - i / 20)],
      ['o2', 20.9, Array.from({ length: 60 }, (_, i) => 20.9 + i / 20)],
    ] as const) {
      const lefts = values.map((value) => headroom(points(channel), value, normal)?.left ?? Number.NaN);
      for (let i = 1; i < lefts.length; i += 1) expect(lefts[i]).toBeLessThanOrEqual(lefts[i - 1] ?? Number.NaN);
    }
  });
});

test('the table is well formed, says where each level comes from, and nobody has reviewed it', () => {
  expect(setPointTable.parse(DEFAULT_TABLE)).toEqual(DEFAULT_TABLE);
  expect(DEFAULT_TABLE.reviewedBy).toBeNull();
  const ids = DEFAULT_TABLE.setPoints.map((point) => point.id);
  expect(new Set(ids).size).toBe(ids.length);
  for (const point of DEFAULT_TABLE.setPoints) {
    expect(point.source.length).toBeGreaterThan(10);
    expect([point.onDelayMs, point.offDelayMs, point.latched]).toEqual([0, 5000, false]);
  }
  // What may never be shelved: IDLH, combustible danger, 10 R/h.
  expect(DEFAULT_TABLE.setPoints.filter((point) => point.protected).map((point) => point.id)).toEqual([
    'lel-25',
    'co-idlh',
    'h2s-idlh',
    'gamma-10r',
  ]);
});
