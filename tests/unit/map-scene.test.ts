/** What the map says of a monitor. The words are our own; what they must never do is ours to hold them to. */
import { describe, expect, it } from 'vitest';
import type { AlarmView, Cell, MonitorView } from '../../shared/protocol/board.ts';
import { listOrder } from '../../web/map/map-list.tsx';
import { coveredMarks, inMapOrder, mapMark, placesToFit } from '../../web/map/map-scene.ts';

const NOW = Date.parse('2026-05-14T13:05:10.000Z');
const at = (secondsAgo: number) => new Date(NOW - secondsAgo * 1000).toISOString();

const cell = (value: number | null, unit: Cell['unit'], more: Partial<Cell> = {}): Cell => ({
  value,
  unit,
  raw: null,
  standing: 'good',
  reasons: [],
  headroom: value === null ? null : 0.9,
  ticks: [],
  trend: null,
  measuredAt: at(1),
  level: null,
  spark: [],
  ...more,
});
const monitor = (more: Partial<MonitorView> = {}): MonitorView => ({
  id: 'M-07',
  entrant: 'E1-A',
  readings: { o2: cell(20.9, '%vol'), co: cell(3, 'ppm') },
  status: { intervalMs: 1000 },
  notWatched: [],
  position: { lat: 44.05, lon: -98.21, accuracy: 6, at: at(1) },
  track: [],
  lastHeardAt: at(1),
  link: 'live',
  ...more,
});
const alarm = (more: Partial<AlarmView> = {}): AlarmView => ({
  id: 'a',
  occurrence: 1,
  monitor: 'M-07',
  kind: 'level',
  priority: 'danger',
  state: 'unacknowledged',
  firstOut: false,
  since: at(5),
  raisedAt: at(5),
  words: 'oxygen 18.9 %vol',
  action: '',
  source: '',
  ...more,
});

describe('mark of a monitor', () => {
  it('says the reading of the alarm that weighs most, as it is now', () => {
    const view = monitor({ readings: { o2: cell(18.7, '%vol', { level: 'danger', headroom: 0 }) } });
    const mark = mapMark(view, [alarm({ sensor: 'o2', value: 18.9 })], NOW);
    expect(mark).toMatchObject({ priority: 'danger', worst: 'oxygen 18.7 %vol', worstShort: '18.7 %vol' });
  });

  it('names the gas wherever the unit alone would fit two', () => {
    const view = monitor({ readings: { co: cell(240, 'ppm', { level: 'danger', headroom: 0 }) } });
    expect(mapMark(view, [], NOW)).toMatchObject({ worst: 'carbon monoxide 240 ppm', worstShort: 'CO 240 ppm' });
  });

  it('keeps the alarm when the link is lost, and says how old it is', () => {
    const view = monitor({ lastHeardAt: at(48), link: 'lost' });
    const mark = mapMark(view, [alarm({ kind: 'down' })], NOW);
    expect(mark).toMatchObject({ priority: 'danger', worst: 'down', link: 'lost' });
    expect(mark.silence).toEqual({ short: '48 s old', words: 'danger when last heard, 48 s ago; unknown now' });
  });

  it('never loses an alarm, whatever the alarm leaves out', () => {
    expect(mapMark(monitor(), [alarm()], NOW)).toMatchObject({ priority: 'danger', worst: 'oxygen 18.9 %vol' });
    const gone = alarm({ sensor: 'h2s', words: 'hydrogen sulfide 60 ppm' });
    expect(mapMark(monitor(), [gone], NOW)).toMatchObject({ priority: 'danger', worst: 'hydrogen sulfide 60 ppm' });
    const worse = monitor({ readings: { co: cell(240, 'ppm', { level: 'danger' }) } });
    expect(mapMark(worse, [alarm({ kind: 'silent', priority: 'caution' })], NOW).priority).toBe('danger');
  });

  it('says that an alarm waits although its reading is back', () => {
    const back = alarm({ sensor: 'o2', state: 'returned-unacknowledged' });
    expect(mapMark(monitor(), [back], NOW)).toMatchObject({ priority: 'danger', worstShort: '20.9 %vol, unanswered' });
  });

  it('says where the alarm stands, and of two as bad takes the one that waits', () => {
    const view = monitor({ readings: { o2: cell(18.9, '%vol', { level: 'danger' }) } });
    const answered = alarm({ sensor: 'o2', state: 'acknowledged' });
    expect(mapMark(view, [answered], NOW)).toMatchObject({ worstShort: '18.9 %vol, answered' });
    const help = alarm({ kind: 'help', escalated: true });
    expect(mapMark(view, [answered, help], NOW)).toMatchObject({ worst: 'calls for help, escalated' });
    const aside = alarm({ kind: 'silent', priority: 'caution', state: 'suppressed' });
    expect(mapMark(monitor(), [aside], NOW)).toMatchObject({ worst: 'silent, suppressed' });
  });

  it('does not take a missing number for the worst reading, nor for a nought', () => {
    const view = monitor({
      readings: {
        o2: cell(null, null, { flag: 'off', standing: 'unusable' }),
        lel: cell(4, '%LEL', { headroom: 0.8 }),
      },
    });
    expect(mapMark(view, [], NOW).worst).toBe('combustible 4 %LEL');
    const none = monitor({ readings: { o2: cell(null, null, { flag: 'warming' }) } });
    expect(mapMark(none, [], NOW).worst).toBe('oxygen warming up');
  });

  it('says the age of a position that is older than a live one can be', () => {
    const old = monitor({ position: { lat: 44, lon: -98, at: at(75) } });
    expect(mapMark(old, [], NOW).place?.age).toBe('position 75 s old');
    expect(mapMark(monitor(), [], NOW).place?.age).toBeNull();
    const slow = monitor({ status: { intervalMs: 60_000 }, position: { lat: 44, lon: -98, at: at(75) } });
    expect(mapMark(slow, [], NOW).place?.age).toBeNull();
  });

  it('shows no value while the post is not heard, and keeps the alarm', () => {
    const mark = mapMark(monitor(), [alarm({ sensor: 'o2' })], NOW);
    const [covered] = coveredMarks([mark]);
    expect(covered).toMatchObject({ priority: 'danger', worst: 'danger when last heard; not known now' });
    expect(JSON.stringify(covered)).not.toContain('20.9');
  });
});

describe('order and fit', () => {
  const named = (id: string, priority: AlarmView['priority'] | null, link: MonitorView['link'] = 'live') => ({
    ...mapMark(monitor({ id, entrant: id }), [], NOW),
    priority,
    link,
  });

  it('lists danger, caution, notice, silent, then the rest by name with its number', () => {
    const marks = [
      named('E10', null),
      named('E2', null),
      named('S', null, 'lost'),
      named('C', 'caution'),
      named('D', 'danger'),
    ];
    expect(inMapOrder(marks).map((mark) => mark.id)).toEqual(['D', 'C', 'S', 'E2', 'E10']);
  });

  it('leaves rows where they are under a hand', () => {
    const wanted = [named('new', 'danger'), named('b', null), named('a', null)];
    expect(listOrder(['a', 'b', 'gone'], wanted, true)).toEqual(['a', 'b', 'new']);
    expect(listOrder(['a', 'b', 'gone'], wanted, false)).toEqual(['new', 'b', 'a']);
  });

  it('fits the view to the group, not to one wild position', () => {
    const wild = { ...named('x', null), place: { lat: 0, lon: 0, accuracyM: null, age: null, track: [] } };
    expect(placesToFit([named('a', null), wild, named('b', null)])).toHaveLength(2);
    expect(placesToFit([])).toEqual([]);
  });
});
