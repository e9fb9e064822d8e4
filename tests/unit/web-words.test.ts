import { describe, expect, it } from 'vitest';
import { cellWords } from '../../web/board/cell-words.ts';
import { groupedGrid } from '../../web/board/place-words.ts';
import { coveredByMode, lastKnownWords, modeWords, shownLink } from '../../web/board/row-words.ts';
import { sparkPath } from '../../web/board/spark-path.ts';
import { motionItem, relayItem, silentItem, waitingItem } from '../../web/board/summary.ts';
import { readRoute } from '../../web/shell/routes.ts';
import { ageWords, clockTime, secondsSince } from '../../web/words/times.ts';
import { columnFacts, columnsFor, figures, flagWords, inColumnUnit } from '../../web/words/values.ts';
import { alarm, cell, head, iso, T0, view } from './web-fixtures.ts';

describe('figures', () => {
  it('never clamp a negative, never invent a number, group thousands', () => {
    expect(figures(-2, 0)).toBe('−2');
    expect(figures(-0.04, 1)).toBe('0.0');
    expect(figures(12340.25, 0)).toBe('12,340');
    expect(figures(9999, 0)).toBe('9999');
  });

  it('show one decimal more where rounding would put the value on its level', () => {
    // 19.46 shown as 19.5 beside "below 19.5" would look like a mistake.
    expect(figures(19.46, 1, true)).toBe('19.46');
    expect(figures(18.9, 1, true)).toBe('18.9');
    expect(figures(19.46, 1)).toBe('19.5');
  });

  it('show organic vapour in ppb exactly (1 ppm = 1000 ppb) and every other channel as it is', () => {
    expect(inColumnUnit('voc', 0.212, 'ppm')).toEqual({ value: 212, unit: 'ppb' });
    expect(inColumnUnit('co', 35, 'ppm')).toEqual({ value: 35, unit: 'ppm' });
    expect(inColumnUnit('gamma', 7, 'uR/h')).toEqual({ value: 7, unit: 'µR/h' });
  });

  it('stand in six columns, then what else is measured', () => {
    expect(columnsFor(['nh3', 'o2', 'cl2', 'nh3'])).toEqual(['o2', 'lel', 'co', 'h2s', 'voc', 'gamma', 'cl2', 'nh3']);
  });
});

describe('a cell', () => {
  const o2 = columnFacts('o2');
  it('says why there is no number, and shows none', () => {
    for (const flag of ['warming', 'over-range', 'under-range', 'fault', 'off', 'not-understood'] as const) {
      const words = cellWords(o2, cell({ value: null, unit: null, flag, standing: 'unusable', headroom: null }));
      expect(words.main).toBe(flagWords(flag));
      expect(words.isNumber).toBe(false);
      expect(words.main).not.toMatch(/\d/);
    }
    expect(cellWords(o2, cell({ value: null, unit: null })).main).toBe('no number');
  });

  it('says what was sent when it was not understood', () => {
    const words = cellWords(
      columnFacts('co'),
      cell({ value: null, unit: null, flag: 'not-understood', raw: { value: 35 } }),
    );
    expect(words.notes).toContain('as sent: 35, no unit');
  });

  it('tells a trend only where it matters', () => {
    expect(cellWords(o2, cell({ trend: 0.05 })).trend).toBeNull();
    expect(cellWords(o2, cell({ trend: -0.4 })).trend).toEqual({ up: false, words: '0.4 a min' });
    expect(cellWords(o2, cell({ trend: null })).trend).toBeNull();
  });
});

describe('a trace', () => {
  it('draws no line across silence', () => {
    const shape = sparkPath(
      [
        [300, 1],
        [290, 1],
        [280, null],
        [200, 1],
        [190, 1],
        [100, 1], // 90 s after the last: nobody knows what was between
        [90, 1],
        [10, 1], // alone
      ],
      10,
      60,
      20,
    );
    expect(shape.lines.match(/M/g)).toHaveLength(3);
    expect(shape.dots).toHaveLength(1);
  });

  it('is empty without a number', () => {
    expect(sparkPath([[5, null]], 10, 60, 20)).toEqual({ lines: '', dots: [] });
  });
});

describe('a row', () => {
  it('grows old by itself: 10 s or three intervals, then three times that and at least 30 s', () => {
    const at = (s: number, intervalMs?: number) =>
      shownLink(view('M', { status: intervalMs === undefined ? {} : { intervalMs } }), T0 + s * 1000);
    expect([at(10), at(11), at(30), at(31)]).toEqual(['live', 'stale', 'stale', 'lost']);
    expect([at(30, 20_000), at(61, 20_000), at(180, 20_000), at(181, 20_000)]).toEqual([
      'live',
      'stale',
      'stale',
      'lost',
    ]);
    expect(shownLink(view('M', { link: 'lost' }), T0)).toBe('lost');
  });

  it('does not reassure when a monitor is silent', () => {
    expect(lastKnownWords(view('M-01'), [])).toBe('no alarm when last heard');
    const silent = alarm('s', { kind: 'silent' });
    expect(lastKnownWords(view('M-01'), [silent])).toBe('no alarm when last heard');
    expect(lastKnownWords(view('M-01'), [silent, alarm('a')])).toBe('danger when last heard');
  });

  it('says across its gas cells that gas is not watched, and never over a reading that is there', () => {
    const columns = columnsFor([]);
    const mode = { mode: 'radiation-only', modeSince: '2026-05-14T18:51:00.000Z' } as const;
    const radiation = view('M', { status: mode, readings: { gamma: cell() } });
    expect(coveredByMode(radiation, columns)).toEqual(['o2', 'lel', 'co', 'h2s', 'voc']);
    expect(modeWords(radiation, 'America/Chicago')).toBe('gas is not being watched: radiation only, since 13:51');
    expect(coveredByMode(view('M', { status: mode, readings: { o2: cell() } }), columns)).toEqual([]);
    expect(coveredByMode(view('M'), columns)).toEqual([]);
  });

  it('reads a grid in groups, as over the radio', () => {
    // Washington Monument, FGDC-STD-011-2001 table 1: 18SUJ2348306479.
    expect(groupedGrid('18SUJ2348306479')).toBe('18S UJ 23483 06479');
  });
});

describe('the summary', () => {
  it('counts only what waits', () => {
    const item = waitingItem(
      [alarm('a'), alarm('b', { state: 'acknowledged' }), alarm('c', { priority: 'caution' })],
      T0,
    );
    expect(item).toMatchObject({ head: '2 wait', level: 'danger' });
    expect(item.detail).toContain('1 danger, 1 caution');
    expect(waitingItem([alarm('b', { state: 'acknowledged' })], T0)).toMatchObject({ head: '0 wait', level: null });
  });

  it('names who calls for help before who is down before who is still', () => {
    const people = [
      view('M-01', { entrant: 'E1-A' }),
      view('M-02', { entrant: 'E1-B', status: { motion: 'down' } }),
      view('M-03', { entrant: 'E2-A', status: { help: true } }),
    ];
    expect(motionItem(people, [alarm('s', { kind: 'still' })], T0)).toMatchObject({
      head: 'E2-A calls for help',
      level: 'danger',
    });
    expect(motionItem([view('M', { status: { motion: 'still' } })], [], T0).head).toBe('0 still');
  });

  it('is louder about silence in the hot zone, and never says all is heard when nothing is', () => {
    const old = iso(T0 - 48_000);
    expect(silentItem([view('M-1', { lastHeardAt: old })], T0)).toMatchObject({ head: '1 silent', level: 'caution' });
    expect(silentItem([view('M-1', { lastHeardAt: old, zone: 'hot' })], T0).level).toBe('danger');
    expect(silentItem([], T0).detail).toBe('no monitor heard yet');
  });

  it('names relays that are silent or whose clock is off', () => {
    const relay = { name: 'North', lastHeardAt: iso(T0), clock: 'off', offsetMs: -94_000 } as const;
    expect(relayItem(head({ relays: [relay] }), T0)?.detail).toBe('North clock 1 min 34 s slow');
    expect(relayItem(head({ relays: [relay] }), T0 + 60_000)?.detail).toBe('North silent 60 s');
    expect(relayItem(head({ relays: [{ ...relay, clock: 'agrees' }] }), T0)).toBeNull();
  });
});

describe('times', () => {
  it("are in the incident's zone, 24-hour, whatever the computer's zone is", () => {
    // Chicago is 5 h behind UTC in May (daylight saving), 6 h in January.
    expect(clockTime('2026-05-14T19:07:33Z', 'America/Chicago')).toBe('14:07:33');
    expect(clockTime('2026-01-14T06:00:00Z', 'America/Chicago')).toBe('00:00:00');
  });

  it('ages are never negative and read aloud', () => {
    expect(secondsSince(iso(T0 + 5000), T0)).toBe(0);
    expect([8, 90, 125, 2520, 11_100].map(ageWords)).toEqual(['8 s', '1 min 30 s', '2 min 5 s', '42 min', '3 h 5 min']);
  });
});

describe('paths', () => {
  it('are read with odd ids and codes', () => {
    expect(readRoute('/monitor/M%2F07', '')).toEqual({ page: 'monitor', id: 'M/07' });
    expect(readRoute('/monitor/%E0%A4%A', '')).toEqual({ page: 'unknown' });
    expect(readRoute('/first', '?code=a-b')).toEqual({ page: 'first', code: 'a-b' });
    expect(readRoute('/elsewhere', '')).toEqual({ page: 'unknown' });
  });
});
