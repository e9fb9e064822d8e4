import { describe, expect, it } from 'vitest';
import { liveFrame } from '../../shared/protocol/frames.ts';
import { readFrame } from '../../web/feed/read-frame.ts';
import { nextWaitMs } from '../../web/feed/retry.ts';
import { alarm, cell, delta, head, snapshot, view } from './web-fixtures.ts';

const read = (frame: unknown) => readFrame(JSON.stringify(frame));

describe('reading frames', () => {
  it('takes a snapshot, a delta, a heartbeat and a farewell', () => {
    const spark: [number, number | null][] = [
      [5, null],
      [0, 20.9],
    ];
    const full = view('M-01', { readings: { o2: cell({ spark }) } });
    expect(read(snapshot([full], [alarm('a')])).ok).toBe(true);
    expect(read(delta(3, { monitors: [full], alarms: [alarm('a')], ended: ['b'] })).ok).toBe(true);
    expect(read({ type: 'heartbeat', cursor: 3, at: 'x' }).ok).toBe(true);
    expect(read({ type: 'gone', reason: 'stopped' }).ok).toBe(true);
  });

  it.each([
    ['not JSON', 'nonsense{'],
    ['an unknown type', JSON.stringify({ type: 'surprise', cursor: 1, at: 'x' })],
    [
      'a value that is text',
      JSON.stringify(delta(3, { monitors: [view('M', { readings: { o2: { ...cell(), value: '1' as never } } })] })),
    ],
    [
      'a missing value',
      JSON.stringify(
        delta(3, { monitors: [view('M', { readings: { o2: { ...cell(), value: undefined as never } } })] }),
      ),
    ],
    ['a link nobody knows', JSON.stringify(delta(3, { monitors: [view('M', { link: 'fine' as never })] }))],
    ['an alarm without words', JSON.stringify(delta(3, { alarms: [{ ...alarm('a'), words: undefined as never }] }))],
    ['a snapshot with a bad row', JSON.stringify(snapshot([view('M', { link: 'fine' as never })]))],
  ])('refuses %s', (_name, text) => {
    expect(readFrame(text).ok).toBe(false);
  });
});

describe('the quick check of a delta', () => {
  /** Copies of `value` with one key left out somewhere. */
  function* withoutOne(value: unknown): Generator<unknown> {
    if (Array.isArray(value)) {
      for (const [i, item] of value.entries()) for (const less of withoutOne(item)) yield value.with(i, less);
    } else if (typeof value === 'object' && value !== null) {
      for (const [key, item] of Object.entries(value)) {
        yield Object.fromEntries(Object.entries(value).filter(([other]) => other !== key));
        for (const less of withoutOne(item)) yield { ...value, [key]: less };
      }
    }
  }

  it('takes whatever the schema takes, with any one part left out', () => {
    const full = delta(3, {
      monitors: [view('M-01', { readings: { o2: cell({ spark: [[0, 20.9]] }) }, track: [[44, -98]] })],
      alarms: [alarm('a')],
      ended: ['b'],
      head: head(),
    });
    let taken = 0;
    for (const less of withoutOne(full)) {
      if (!liveFrame.safeParse(less).success) continue;
      taken += 1;
      expect(read(less).ok, JSON.stringify(less)).toBe(true);
    }
    expect(taken).toBeGreaterThan(2);
  });
});

describe('trying again', () => {
  it('waits 0.5 s first, half as long again each time, 5 s at most, with some chance in it', () => {
    expect(nextWaitMs(0, 1)).toBe(500);
    expect(nextWaitMs(1, 1)).toBe(750);
    expect(nextWaitMs(0, 0)).toBe(375);
    expect(nextWaitMs(50, 1)).toBe(5000);
  });
});
