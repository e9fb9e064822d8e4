/** A chart never joins two readings across a silence, and its summary counts what the chart shows. */
import { describe, expect, it } from 'vitest';
import type { Cell } from '../../shared/protocol/board.ts';
import { type HistoryChannel, type HistoryPoint, history, monitorPackets } from '../../shared/protocol/history.ts';
import {
  gapsOf,
  pointsSince,
  staleAfterMs,
  summarize,
  valueRange,
  withReading,
} from '../../web/monitor/history-data.ts';

const T = Date.parse('2026-05-14T13:05:00.000Z');
const STALE = 10_000;
const point = (s: number, value: number | null, low = value, high = value): HistoryPoint => [
  T + s * 1000,
  value,
  low,
  high,
];
const channel = (points: HistoryPoint[]): HistoryChannel => ({
  channel: 'o2',
  unit: '%vol',
  points,
  flags: [],
  levels: [],
});
const cell = (s: number, value: number | null, flag?: Cell['flag']): Cell => ({
  value,
  unit: value === null ? null : '%vol',
  raw: null,
  standing: 'good',
  reasons: [],
  headroom: null,
  ticks: [],
  trend: null,
  measuredAt: new Date(T + s * 1000).toISOString(),
  level: null,
  spark: [],
  ...(flag === undefined ? {} : { flag }),
});

describe('live readings join the history', () => {
  it('adds a newer reading once', () => {
    const one = withReading(channel([point(0, 20.9)]), cell(1, 20.8), STALE);
    expect(one.points).toEqual([point(0, 20.9), point(1, 20.8)]);
    expect(withReading(one, cell(1, 20.8), STALE)).toBe(one);
    expect(withReading(one, cell(0.5, 20.7), STALE)).toBe(one);
  });

  it('puts a gap where it was silent for longer than the stale time', () => {
    const { points } = withReading(channel([point(0, 20.9)]), cell(40, 20.8), STALE);
    expect(points).toEqual([point(0, 20.9), point(10, null), point(40, 20.8)]);
    expect(withReading(channel([point(0, 20.9)]), cell(10, 20.8), STALE).points).toHaveLength(2);
  });

  it('keeps a missing number missing, with its flag over the time it lasted', () => {
    let one = withReading(channel([point(0, 20.9)]), cell(1, null, 'fault'), STALE);
    one = withReading(one, cell(2, null, 'fault'), STALE);
    expect(one.points.slice(1)).toEqual([point(1, null), point(2, null)]);
    expect(one.flags).toEqual([{ from: T + 1000, to: T + 2000, flag: 'fault' }]);
  });
});

describe('gaps and summary', () => {
  const points = [point(0, 20.9), point(5, null), point(30, 20.1, 19.9, 20.3), point(31, 20.2)];

  it('finds silences, the one that lasts included', () => {
    expect(gapsOf(points, T + 32_000, STALE)).toEqual([{ from: T + 5000, to: T + 30_000 }]);
    expect(gapsOf(points, T + 60_000, STALE)).toEqual([
      { from: T + 5000, to: T + 30_000 },
      { from: T + 41_000, to: null },
    ]);
    expect(gapsOf([], T, STALE)).toEqual([]);
  });

  it('takes least and greatest from the spans, and never a nought for a gap', () => {
    expect(summarize(points)).toEqual({
      least: { value: 19.9, at: T + 30_000 },
      greatest: { value: 20.9, at: T },
      last: { value: 20.2, at: T + 31_000 },
      count: 3,
    });
    expect(summarize([point(0, null)])).toBeNull();
  });

  it('keeps the reading before the window, so that the line comes in from its edge', () => {
    expect(pointsSince(points, T + 30_500)).toEqual(points.slice(2));
    expect(pointsSince(points, T + 90_000)).toEqual(points.slice(3));
  });

  it('shows the nearest level on either side', () => {
    const levels = [19.5, 20.4, 21.4, 23.5].map((value) => ({ value, priority: 'caution' as const, words: '' }));
    const [low, high] = valueRange(summarize([point(0, 20.9), point(1, 20.0)]), levels, 1.5);
    expect(low).toBeLessThan(19.5);
    expect(high).toBeGreaterThan(21.4);
    expect(high).toBeLessThan(23.5);
  });

  it('expects the next reading within 10 s or three intervals', () => {
    expect(staleAfterMs({ status: {} })).toBe(10_000);
    expect(staleAfterMs({ status: { intervalMs: 1000 } })).toBe(10_000);
    expect(staleAfterMs({ status: { intervalMs: 60_000 } })).toBe(180_000);
  });
});

describe('schemas', () => {
  it('take a gap as null and refuse it as anything else', () => {
    const answer = (value: unknown) => ({
      monitor: 'M-07',
      from: '2026-05-14T13:00:00.000Z',
      to: '2026-05-14T13:15:00.000Z',
      channels: [{ channel: 'o2', unit: '%vol', points: [[T, value, null, null]], flags: [], levels: [] }],
    });
    expect(history.safeParse(answer(null)).success).toBe(true);
    expect(history.safeParse(answer('gap')).success).toBe(false);
    expect(monitorPackets.safeParse({ packets: [], refused: [] }).success).toBe(true);
  });
});
