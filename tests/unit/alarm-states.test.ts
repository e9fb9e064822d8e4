/** Where an alarm stands, in words. States by IEC 62682 / ISA-18.2 as publicly restated; wordings are our own. */
import { describe, expect, test } from 'vitest';
import { protectedWords, readShelfMinutes, resetNeeds, scopesOf } from '../../web/alarms/alarm-rules.ts';
import { chatteringNames } from '../../web/alarms/figures-part.tsx';
import { placeCards, sectionOf } from '../../web/alarms/sections.ts';
import { outWords } from '../../web/alarms/service-part.tsx';
import { joined, renewed } from '../../web/alarms/use-alarm-history.ts';
import { alarmAt } from '../../web/board/alarms-at.ts';
import { asideItem, floodItem, waitingItem } from '../../web/board/summary.ts';
import { alarmStateWords, stateMark, stateTag } from '../../web/words/alarm-states.ts';
import { leftWords } from '../../web/words/times.ts';
import { alarm, head, iso, T0 } from './web-fixtures.ts';

const ZONE = 'UTC';
const shelved = { by: 'R. Officer', at: iso(T0), until: iso(T0 + 600_000), reason: 'known source' };

describe('a state in words and with its shape', () => {
  test.each([
    [alarm('a'), null, '', 'stands, waits for an answer'],
    [
      alarm('a', { escalated: true, soundedAgain: 2 }),
      'escalated',
      'escalated',
      'stands, waits for an answer, escalated because nobody answered, sounded again 2 times',
    ],
    [alarm('a', { soundedAgain: 1 }), null, 'sounded again', 'stands, waits for an answer, sounded again'],
    [
      alarm('a', { state: 'acknowledged', acknowledgedBy: 'R. Officer', acknowledgedAt: iso(T0) }),
      'answered',
      'answered',
      'stands, acknowledged by R. Officer, 13:05:00',
    ],
    [
      alarm('a', { state: 'returned-unacknowledged' }),
      'returned',
      'back, not answered',
      'back within the level, still waits for an answer',
    ],
    [
      alarm('a', { state: 'latched-unacknowledged' }),
      'held',
      'held, not answered',
      'held until it is reset, waits for an answer',
    ],
    [alarm('a', { state: 'latched-acknowledged' }), 'held', 'held until reset', 'held until it is reset, acknowledged'],
    [
      alarm('a', { state: 'shelved', shelved }),
      'shelved',
      'shelved until 13:15',
      'shelved by R. Officer, 13:05:00, until 13:15:00: “known source”',
    ],
    [
      alarm('a', { state: 'suppressed', suppressed: 'a test' }),
      'suppressed',
      'suppressed',
      'suppressed by design: a test',
    ],
    [
      alarm('a', { state: 'out-of-service', outOfService: 'sensor change' }),
      'out-of-service',
      'out of service',
      'out of service: “sensor change”',
    ],
  ])('%#', (one, mark, tag, words) => {
    expect([stateMark(one), stateTag(one, ZONE), alarmStateWords(one, ZONE)]).toEqual([mark, tag, words]);
  });

  test('an escalated danger that went back says first that it did', () => {
    expect(stateTag(alarm('a', { state: 'returned-unacknowledged', escalated: true }), ZONE)).toBe(
      'back, not answered',
    );
  });

  test('an answer ends what escalation says', () => {
    const answered = alarm('a', { state: 'acknowledged', escalated: true, soundedAgain: 3 });
    expect(stateTag(answered, ZONE)).toBe('answered');
  });

  test('the time on the shelf is counted down, and never below nothing', () => {
    expect(leftWords(iso(T0 + 540_000), T0)).toBe('ends in 9 min');
    expect(leftWords(iso(T0 + 60_000), T0)).toBe('ends in 60 s');
    expect(leftWords(iso(T0 - 1), T0)).toBe('about to end');
  });
});

describe('what may be done', () => {
  test('what is protected says why, what is not says nothing', () => {
    expect(protectedWords(alarm('a', { kind: 'down', protected: true }))).toMatch(/somebody is down/);
    expect(protectedWords(alarm('a', { kind: 'silent', protected: true }))).toMatch(/hot zone/);
    expect(protectedWords(alarm('a'))).toBeNull();
  });

  test('a shelf has 1 to 60 whole minutes', () => {
    expect(['1', ' 60 ', '10'].map(readShelfMinutes)).toEqual([1, 60, 10]);
    expect(['0', '61', '', '1.5', '-1', 'ten', '1e1', '9999'].map(readShelfMinutes)).toEqual(Array(8).fill(null));
  });

  test('a reset needs a reason while nothing says that it is over, and is offered for nothing else', () => {
    expect(resetNeeds(alarm('a', { state: 'latched-acknowledged', kind: 'down' }))).toBe('plain');
    expect(resetNeeds(alarm('a', { state: 'acknowledged', kind: 'down' }))).toBe('reason');
    expect(resetNeeds(alarm('a', { state: 'acknowledged', kind: 'level' }))).toBeNull();
    expect(resetNeeds(alarm('a', { state: 'unacknowledged', kind: 'down' }))).toBeNull();
  });

  test('what can be put out of service is as narrow as the alarm allows, and nothing of a relay', () => {
    const setPoint = { id: 'co-35', words: 'at or over 35 ppm', reviewed: false };
    const level = alarm('a', { sensor: 'co', setPoint });
    expect(scopesOf(level).map(({ scope }) => scope)).toEqual(['set-point', 'sensor', 'monitor']);
    expect(scopesOf(alarm('a', { kind: 'still' })).map(({ scope }) => scope)).toEqual(['monitor']);
    expect(scopesOf(alarm('a', { kind: 'relay-lost', monitor: '' }))).toEqual([]);
    expect(outWords({ monitor: 'M-1', sensor: 'co', setPoint: 'co-35' })).toBe('M-1 carbon monoxide, set-point co-35');
  });
});

describe('the parts of the page', () => {
  test('each state has its part, and an alarm that was acknowledged keeps its place while somebody is there', () => {
    expect(sectionOf({ state: 'latched-unacknowledged' })).toBe('waiting');
    expect(sectionOf({ state: 'latched-acknowledged' })).toBe('latched');
    const first = placeCards([], [alarm('a'), alarm('b', { state: 'shelved', shelved })]);
    expect(first.map(({ alarm: { id }, section }) => [id, section])).toEqual([
      ['a', 'waiting'],
      ['b', 'shelved'],
    ]);
    const held = placeCards(first, [alarm('a', { state: 'acknowledged' }), alarm('c')]);
    expect(held.map(({ alarm: { id }, section, ended, moved }) => [id, section, ended, moved])).toEqual([
      ['a', 'waiting', false, true],
      ['c', 'waiting', false, false],
      ['b', 'shelved', true, true],
    ]);
  });

  test('the worst alarm of a sensor is shown in its cell, and one that is put aside only where there is no other', () => {
    const aside = alarm('a', { sensor: 'o2', state: 'shelved', shelved });
    const caution = alarm('b', { sensor: 'o2', priority: 'caution' });
    expect(alarmAt([aside, caution], 'M-01', 'o2')?.id).toBe('b');
    expect(alarmAt([aside], 'M-01', 'o2')?.id).toBe('a');
    // Of two as bad the one that waits, and never a caution in place of a danger.
    const answered = alarm('d', { sensor: 'o2', state: 'acknowledged' });
    expect(alarmAt([answered, alarm('e', { sensor: 'o2' })], 'M-01', 'o2')?.id).toBe('e');
    expect(alarmAt([answered, caution], 'M-01', 'o2')?.id).toBe('d');
    expect(alarmAt([aside], 'M-01', 'co')).toBeUndefined();
    expect(alarmAt([alarm('c', { sensor: 'o2', kind: 'exposure' })], 'M-01', 'o2')).toBeUndefined();
  });
});

describe('the summary line', () => {
  test('says what is shelved for as long as anything is', () => {
    expect(asideItem(head(), [alarm('a')], T0)).toBeNull();
    const one = alarm('a', { state: 'shelved', shelved });
    const later = alarm('b', { state: 'shelved', shelved: { ...shelved, until: iso(T0 + 1_800_000) } });
    const zone = { journal: { purpose: 'incident', name: 'x', zone: ZONE } } as const;
    expect(asideItem(head(zone), [one], T0)).toMatchObject({
      head: '1 shelved',
      detail: 'until 13:15, ends in 10 min',
    });
    expect(asideItem(head(zone), [later, one], T0)?.detail).toBe('the first until 13:15, ends in 10 min');
    const outOfService = [{ monitor: 'M-1', by: 'x', at: iso(T0), reason: 'y' }];
    expect(asideItem(head({ ...zone, outOfService }), [], T0)).toMatchObject({
      head: 'Put aside',
      detail: '1 out of service',
    });
    // What is shelved was not answered.
    expect(waitingItem([one], T0).detail).not.toMatch(/[1-9] answered/);
  });

  test('says when there is a flood', () => {
    expect(floodItem(head())).toBeNull();
    expect(floodItem(head({ figures: { last10Min: 11, flood: true, chattering: [] } }))?.head).toBe('Alarm flood');
  });

  test('names what chatters by its words', () => {
    const figures = { last10Min: 3, flood: false, chattering: ['a', 'M-2~co~co-35~1'] };
    expect(chatteringNames(figures, [alarm('a', { entrant: 'E1-A' })])).toEqual([
      'E1-A oxygen 18.9 %vol',
      'M-2 co co-35 1',
    ]);
  });
});

describe('pages of the history', () => {
  const entry = (number: number) => ({
    number,
    at: iso(T0),
    change: 'raised' as const,
    says: 'raised',
    alarm: 'a',
    occurrence: 1,
    monitor: 'M-1',
    kind: 'level' as const,
    priority: 'danger' as const,
    state: 'unacknowledged' as const,
    words: 'x',
  });
  const page = (numbers: number[], next: number | null, epoch = 'e') => ({
    epoch,
    events: numbers.map(entry),
    next,
    cut: false,
  });
  const numbers = (of: { events: { number: number }[] }) => of.events.map(({ number }) => number);
  const here = (history: ReturnType<typeof page>) => ({ phase: 'here' as const, history });

  test('are joined without a hole and without a repetition', () => {
    expect(numbers(joined(here(page([9, 8], 8)), page([7, 6], null)))).toEqual([9, 8, 7, 6]);
    const kept = renewed(here(page([9, 8, 7, 6], null)), page([11, 10, 9], 9));
    expect([numbers(kept), kept.next]).toEqual([[11, 10, 9, 8, 7, 6], null]);
  });

  test('begin anew where news do not touch what was known, and for another record', () => {
    expect(numbers(renewed(here(page([5, 4], null)), page([11, 10, 9], 9)))).toEqual([11, 10, 9]);
    expect(numbers(renewed(here(page([5, 4], null)), page([5], 5, 'f')))).toEqual([5]);
  });
});
