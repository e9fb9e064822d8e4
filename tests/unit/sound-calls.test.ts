import { beforeEach, describe, expect, test } from 'vitest';
import type { AlarmEvent } from '../../shared/incident/events.ts';
import type { AlarmView } from '../../shared/protocol/board.ts';
import { type Calls, createCalls } from '../../web/sound/calls.ts';
import { alarm } from './web-fixtures.ts';

let calls: Calls;
beforeEach(() => {
  calls = createCalls();
});

/** All that calls now, highest first; taken as if each were played. */
function taken(): string[] {
  const all: string[] = [];
  for (let next = calls.next(); next !== null; next = calls.next()) {
    calls.took(next);
    all.push(next);
  }
  return all;
}

function event(change: AlarmEvent['change'], of = 'a', priority: AlarmView['priority'] = 'danger'): AlarmEvent {
  return {
    type: 'alarm',
    at: 1,
    change,
    alarm: of,
    occurrence: 1,
    monitor: 'M-01',
    kind: 'level',
    priority,
    state: 'unacknowledged',
    words: 'x',
  };
}

describe('what calls', () => {
  test('what waits at first sight, danger before caution before notice', () => {
    calls.see([alarm('c', { priority: 'notice' }), alarm('a'), alarm('b', { priority: 'caution' })], 0);
    expect(taken()).toEqual(['danger', 'caution', 'notice']);
  });

  test('nothing that was answered', () => {
    calls.see([alarm('a', { state: 'acknowledged' }), alarm('b', { state: 'latched-acknowledged' })], 0);
    calls.tick(600_000, false);
    expect(taken()).toEqual([]);
  });

  test('latched and not answered calls as what it is', () => {
    calls.see([alarm('a', { state: 'latched-unacknowledged' })], 0);
    expect(taken()).toEqual(['danger']);
  });

  test('returned and not answered calls once, as a notice', () => {
    calls.see([alarm('a')], 0);
    taken();
    calls.see([alarm('a', { state: 'returned-unacknowledged' })], 10_000);
    calls.see([alarm('a', { state: 'returned-unacknowledged' })], 11_000);
    expect(taken()).toEqual(['notice']);
    calls.tick(200_000, false);
    expect(taken()).toEqual([]);
  });

  test('the event and the list are one piece of news; a higher priority is another', () => {
    calls.see([alarm('a', { priority: 'caution' })], 0);
    calls.hear(event('raised', 'a', 'caution'), 5);
    expect(taken()).toEqual(['caution']);
    calls.hear(event('again', 'a', 'caution'), 10_000);
    calls.see([alarm('a', { priority: 'caution', occurrence: 2 })], 10_005);
    expect(taken()).toEqual(['caution']);
    calls.see([alarm('a', { occurrence: 2 })], 10_500);
    expect(taken()).toEqual(['danger']);
  });

  test.each(['worse', 'again', 'sounds-again', 'escalated'] as const)(
    'an alarm that waits is heard upon "%s"',
    (change) => {
      calls.see([alarm('a')], 0);
      taken();
      calls.hear(event(change), 20_000);
      expect(taken()).toEqual(['danger']);
    },
  );

  test.each(['acknowledged', 'returned', 'cleared', 'reset', 'carried'] as const)('"%s" is not heard', (change) => {
    calls.see([alarm('a')], 0);
    taken();
    calls.hear(event(change), 20_000);
    expect(taken()).toEqual([]);
  });

  test('an answered one that is asked again is heard, however soon', () => {
    calls.see([alarm('a')], 0);
    taken();
    calls.see([alarm('a', { state: 'acknowledged' })], 500);
    calls.see([alarm('a')], 900);
    expect(taken()).toEqual(['danger']);
  });
});

describe('what calls again', () => {
  test('after a minute unanswered, and each minute', () => {
    calls.see([alarm('a', { priority: 'caution' })], 0);
    taken();
    calls.tick(59_900, false);
    expect(taken()).toEqual([]);
    calls.tick(60_000, false);
    expect(taken()).toEqual(['caution']);
    calls.tick(119_900, false);
    expect(taken()).toEqual([]);
    calls.tick(120_000, false);
    expect(taken()).toEqual(['caution']);
  });

  test('the minute counts from when the post let it sound again', () => {
    calls.see([alarm('a')], 0);
    taken();
    calls.hear(event('sounds-again'), 59_000);
    taken();
    calls.tick(60_000, false);
    expect(taken()).toEqual([]);
  });

  test('an escalated danger every 5 s until it is answered', () => {
    calls.see([alarm('a')], 0);
    taken();
    calls.hear(event('escalated'), 30_000);
    taken();
    calls.see([alarm('a')], 30_010);
    calls.tick(34_900, false);
    expect(taken()).toEqual([]);
    calls.tick(35_000, false);
    expect(taken()).toEqual(['danger']);
    calls.tick(40_000, false);
    expect(calls.isWanted('danger')).toBe(true);
    calls.see([alarm('a', { state: 'acknowledged' })], 40_100);
    expect(taken()).toEqual([]);
    expect(calls.isWanted('danger')).toBe(false);
    calls.see([alarm('a')], 50_000);
    taken();
    calls.tick(56_000, false);
    expect(taken()).toEqual([]);
  });

  test('one that was escalated before this page was there', () => {
    calls.see([alarm('a', { escalated: true }), alarm('b', { priority: 'caution' })], 0);
    taken();
    calls.tick(5000, false);
    expect(taken()).toEqual(['danger']);
    calls.see([alarm('a', { escalated: false })], 6000);
    calls.tick(11_000, false);
    expect(taken()).toEqual([]);
  });

  test('a page that is not live: at once, then every 15 s, until it is', () => {
    calls.tick(0, true);
    expect(taken()).toEqual(['caution']);
    calls.tick(14_900, true);
    expect(taken()).toEqual([]);
    calls.tick(15_000, true);
    expect(taken()).toEqual(['caution']);
    calls.tick(16_000, false);
    calls.tick(40_000, false);
    expect(taken()).toEqual([]);
    expect(calls.isWanted('caution')).toBe(false);
  });
});
