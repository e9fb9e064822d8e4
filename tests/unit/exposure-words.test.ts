/** Exposure in words. The figures themselves are checked against 29 CFR 1910.1000(d)(1) in tests/reference. */
import { describe, expect, test } from 'vitest';
import type { ExposureSummary } from '../../shared/protocol/board.ts';
import {
  coverageWords,
  type ExposureChannel,
  exposureFacts,
  exposureLine,
  leaveWords,
  mixtureWords,
  toLimitWords,
} from '../../web/words/exposure-words.ts';
import { T0 } from './web-fixtures.ts';

const HOUR = 3_600_000;
const full = { partial: false, coveredMs: 900_000, spanMs: 900_000 };
const CO: ExposureChannel = {
  channel: 'co',
  unit: 'ppm',
  stel: { ...full, value: 120.4, limit: 200 },
  twa: { value: 3.14, limit: 35, partial: true, coveredMs: 6.25 * HOUR, spanMs: 8 * HOUR },
  dose: null,
  peak: 240,
  minimum: 0,
  overRangeMs: 0,
};
const GAMMA: ExposureChannel = {
  channel: 'gamma',
  unit: 'uR/h',
  stel: null,
  twa: null,
  dose: { value: 0.1234, limit: 5000, partial: false, coveredMs: 2 * HOUR, spanMs: 2 * HOUR },
  peak: 300,
  minimum: 7,
  overRangeMs: 0,
};

function summary(channels: ExposureChannel[], over: Partial<ExposureSummary> = {}): ExposureSummary {
  return { atMs: T0, fromMs: T0 - HOUR, correcting: false, channels, mixture: null, toLimit: null, ...over };
}
const said = (channel: ExposureChannel, ...rest: [] | [{ value: number; assumed: boolean }]) =>
  exposureFacts(channel, ...rest).map(({ name, words, coverage }) => [name, words, coverage]);

describe('figures of a channel', () => {
  test('say how much of the time was measured, and that a partial one is a lower bound', () => {
    expect(said(CO)).toEqual([
      ['15-min average (STEL)', '120 ppm, limit 200 ppm', '15 of 15 min measured'],
      ['8-h average (TWA)', 'at least 3.1 ppm, limit 35 ppm', 'partial, 6.2 of 8 h measured'],
      ['peak', '240 ppm', null],
    ]);
  });

  test('of gamma keep the background apart: 2 h of 7 µR/h are 0.014 mR', () => {
    expect(said(GAMMA, { value: 7, assumed: true })).toEqual([
      ['dose, background included', '0.123 mR, limit 5000 mR', '2 of 2 h measured'],
      ['of it background', 'about 0.014 mR (7 µR/h, assumed)', null],
      ['peak', '300 µR/h', null],
    ]);
  });

  test('of oxygen tell the least, not the peak, and a time over range is in no figure', () => {
    const o2 = {
      ...CO,
      channel: 'o2',
      unit: '%vol',
      stel: null,
      twa: null,
      peak: 20.9,
      minimum: 18.9,
      overRangeMs: 1500,
    };
    expect(said(o2)).toEqual([
      ['least', '18.9 %vol', null],
      ['over range', 'for 2 s: in no figure', null],
    ]);
  });

  test('never look measured for longer than they were', () => {
    expect(coverageWords(8 * HOUR - 1, 8 * HOUR)).toBe('7.9 of 8 h');
    expect(coverageWords(14.9 * 60_000, 15 * 60_000)).toBe('14 of 15 min');
    expect(coverageWords(20_000, 30_000)).toBe('20 of 30 s');
    expect(coverageWords(43_900, 900_000)).toBe('43 s of 15 min');
  });
});

describe('the limit that comes first', () => {
  const next = { channel: 'co', setPoint: 'co-stel', minutes: 12.9, governs: 'rate' as const };
  test('is told in whole minutes that are left, with what governs', () => {
    expect(toLimitWords(summary([], { toLimit: next }))).toBe(
      'carbon monoxide: limit co-stel in 12 min, if it goes on as it reads now',
    );
    expect(toLimitWords(summary([], { toLimit: { ...next, minutes: 0.5 } }))).toMatch(/in less than 1 min/);
    expect(toLimitWords(summary([], { toLimit: { ...next, minutes: 0, governs: 'reached' } }))).toMatch(/is reached$/);
    expect(toLimitWords(summary([], { toLimit: { ...next, minutes: 5599 } }))).toMatch(/in more than 93 h/);
    expect(toLimitWords(summary([]))).toBeNull();
  });
});

test('a mixture without all its parts is at least so much', () => {
  const mixture = { value: 0.914, complete: false, limit: 1, leftOut: ['voc'] };
  expect(mixtureWords(summary([], { mixture }))).toBe('at least 0.91, limit 1; without organic vapour');
});

describe('the line in the table', () => {
  test('names what is nearest to its limit and the dose', () => {
    expect(exposureLine(summary([CO, GAMMA]))).toBe('15-min carbon monoxide 120 of 200 ppm; dose 0.123 mR');
    const toLimit = { channel: 'co', setPoint: 'co-stel', minutes: 12.9, governs: 'rate' as const };
    expect(exposureLine(summary([CO], { toLimit, correcting: true }))).toBe(
      'limit in 12 min (estimate); 15-min carbon monoxide 120 of 200 ppm; being corrected',
    );
  });

  test('is empty in clean air', () => {
    const clean = { ...CO, stel: { ...full, value: 1, limit: 200 }, twa: null };
    expect(exposureLine(summary([clean]))).toBe('');
    const dose = { value: 0.09, limit: 5000, partial: false, coveredMs: HOUR, spanMs: HOUR };
    const toLimit = { channel: 'gamma', setPoint: 'dose', minutes: 1393, governs: 'rate' as const };
    expect(exposureLine(summary([{ ...GAMMA, dose }], { toLimit }))).toBe('');
  });
});

describe('until the wearer must start back', () => {
  const timeLeft = {
    minutes: 12.9,
    words: 'leave in 12 min at most: air unknown',
    governs: null,
    unknown: ['air unknown'],
  };

  test('is told with what could not be told', () => {
    expect(leaveWords(summary([], { timeLeft }))).toBe('leave in 12 min at most: air unknown');
  });

  test('is not told where it is over a shift away, or not known', () => {
    expect(leaveWords(summary([], { timeLeft: { ...timeLeft, minutes: 481 } }))).toBeNull();
    expect(leaveWords(summary([], { timeLeft: { ...timeLeft, minutes: null } }))).toBeNull();
    expect(leaveWords(summary([]))).toBeNull();
  });
});
