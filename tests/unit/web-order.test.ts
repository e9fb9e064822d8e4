import { describe, expect, it } from 'vitest';
import { heldCards } from '../../web/board/held-alarms.ts';
import { arrange, holdStill, rowsOutOfPlace } from '../../web/board/order.ts';
import { alarm, cell, view } from './web-fixtures.ts';

const people = [
  view('M-10', { entrant: 'E1-B', team: 'Entry 1', role: 'entry' }),
  view('M-2', { entrant: 'E1-A', team: 'Entry 1', role: 'entry' }),
  view('M-3', { entrant: 'B1-A', role: 'backup' }),
  view('M-9'),
  view('M-11'),
  view('M-4', { entrant: 'North', role: 'perimeter' }),
];
const rows = (groups: readonly { ids: readonly string[] }[]) => groups.map((group) => group.ids.join(' '));

describe('the worksheet', () => {
  it('stands by team: entry, backup, decontamination, perimeter, not assigned', () => {
    const groups = arrange(people, []);
    expect(groups.map((group) => group.title)).toEqual(['Entry 1', 'Backup', 'Perimeter', 'Not assigned']);
    expect(rows(groups)).toEqual(['M-2 M-10', 'M-3', 'M-4', 'M-9 M-11']);
  });

  it('puts those who need somebody first, by alarms alone', () => {
    const waiting = [alarm('a', { monitor: 'M-10', priority: 'caution' })];
    expect(rows(arrange(people, waiting))[0]).toBe('M-10 M-2');
    const values = people.map((one) =>
      one.id === 'M-10' ? { ...one, readings: { o2: cell({ value: 3, level: 'danger' as const }) } } : one,
    );
    expect(rows(arrange(values, []))[0]).toBe('M-2 M-10');
  });

  it('holds still: nothing that is there moves, what is new joins the end', () => {
    const before = arrange(people, []);
    const wanted = arrange([...people, view('M-1')], [alarm('a', { monitor: 'M-10' })]);
    const held = holdStill(before, wanted);
    expect(rows(held)).toEqual(['M-2 M-10', 'M-3', 'M-4', 'M-9 M-11 M-1']);
    expect(rowsOutOfPlace(held, wanted)).toBeGreaterThan(0);
    expect(rowsOutOfPlace(wanted, wanted)).toBe(0);
  });

  it('shows a monitor once while it is held and given to another team', () => {
    const before = arrange(people, []);
    const moved = people.map((one) => (one.id === 'M-9' ? { ...one, role: 'backup' as const } : one));
    expect(
      rows(holdStill(before, arrange(moved, [])))
        .join(' ')
        .match(/M-9/g),
    ).toHaveLength(1);
  });
});

describe('the alarm list', () => {
  it('stands with the waiting ones first', () => {
    const answered = alarm('a', { state: 'acknowledged' });
    expect(heldCards([], [answered, alarm('b')]).map((card) => card.alarm.id)).toEqual(['b', 'a']);
  });

  it('holds still: an ended one stays and says so, a new danger joins the end and is counted', () => {
    const shown = heldCards([], [alarm('a'), alarm('b')]);
    const held = heldCards(shown, [alarm('new'), alarm('b')]);
    expect(held.map((card) => [card.alarm.id, card.ended, card.fresh])).toEqual([
      ['a', true, false],
      ['b', false, false],
      ['new', false, true],
    ]);
  });
});
