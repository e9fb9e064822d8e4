import { describe, expect, test } from 'vitest';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import { createChanges } from '../../shared/incident/changes.ts';
import { fold } from '../../shared/incident/fold.ts';
import { createState } from '../../shared/incident/state.ts';
import { encodeState } from '../../shared/incident/state-codec.ts';
import { alarmEvents, co, createRun, isoAt, lel, o2, openedRecord, START_US, told } from './fold-run.ts';

type Run = ReturnType<typeof createRun>;

describe('while the post was down', () => {
  test('what was due happens at its end, marked; values are old until heard again', () => {
    const run = createRun();
    run.packet(1, { readings: o2(20.9) });
    run.assign(2, 'E1-A');
    run.status(3, { motion: 'still' });
    const events = run.gap(4, 100);
    expect(events.every((event) => event.at === START_US + 100e6)).toBe(true);
    expect(told(events)).toEqual([
      '100 gap',
      '100 link stale',
      '100 motion still',
      '100 link lost',
      '100 raised silent',
      '100 raised still',
    ]);
    expect(events.slice(1).every((event) => event.whileDown === true)).toBe(true);
    expect(run.view().link).toBe('lost');
  });
  test('what was due before it happened in time, unmarked', () => {
    const run = createRun();
    run.packet(1);
    const events = run.gap(20, 21);
    expect(told(events)).toEqual(['11 link stale', '21 gap']);
    expect(events[0]?.whileDown).toBeUndefined();
  });
  test('however short, each value is old until it is heard again', () => {
    const run = createRun();
    run.packet(1, { readings: { ...o2(20.9), ...lel(0) } });
    run.gap(1.5, 4);
    expect(run.view().link).toBe('stale');
    expect(run.cell('o2').standing).toBe('unusable');
    run.packet(5, { readings: o2(20.9) });
    expect(run.view().link).toBe('live');
    expect(run.cell('o2').standing).toBe('good');
    expect(run.cell('lel').standing).toBe('unusable');
  });
  test('an off-delay that ended inside it ended nothing', () => {
    const run = createRun();
    run.read(1, lel(30));
    run.read(2, lel(0));
    run.read(3, lel(0));
    run.gap(3.5, 60);
    expect(run.stateOf('lel-25')).toBe('unacknowledged');
  });
  test('the length is in the words, or that no clock can tell it', () => {
    const run = createRun();
    run.gap(1, 61);
    expect(run.state.notices.at(-1)?.words).toBe('the post was down for 60 s (restarted)');
    run.put(70, { kind: 'gap', from: START_US + 62e6, cause: 'restart', judgedBy: 'unknown' });
    expect(run.state.notices.at(-1)?.words).toMatch(/no clock can tell/);
  });
});

describe('the wall clock was set', () => {
  test('no timer is touched', () => {
    const run = createRun();
    run.packet(1);
    run.put(2, { kind: 'clock', wallOffsetBeforeMs: 0, wallOffsetAfterMs: 3_600_000 });
    run.advance(10.999);
    expect(run.view().link).toBe('live');
    run.advance(11);
    expect(run.view().link).toBe('stale');
    expect(run.state.notices[0]?.words).toMatch(/3600 s forward; no timer was touched/);
  });
  test('a relay that gives measuredAt alone is not taken for an hour late', () => {
    const run = createRun();
    run.packet(1, { measuredAt: isoAt(1), sentAt: isoAt(1), readings: o2(20.9) });
    run.put(2, { kind: 'clock', wallOffsetBeforeMs: 0, wallOffsetAfterMs: 3_600_000 });
    run.packet(3, { measuredAt: isoAt(3), readings: o2(18) });
    expect(run.view().link).toBe('live');
    expect(run.cell('o2').value).toBe(18);
    expect(run.need('o2-low').late).toBe(false);
    expect(run.monitor().heardAt).toBe(START_US + 3e6);
  });
});

describe('late is only what has a newer measurement before it', () => {
  const measured = (at: number, sent: number) => ({ measuredAt: isoAt(at), sentAt: isoAt(sent) });

  test('newest first, then the backlog: the newest counts as present and shows its age', () => {
    const run = createRun();
    run.packet(100, { ...measured(60, 100), readings: lel(12) });
    expect(run.need('lel-10')).toMatchObject({ late: false, condition: true, since: START_US + 60e6 });
    expect(run.cell('lel')).toMatchObject({ value: 12, measuredAt: isoAt(60) });
    expect(run.view().link).toBe('lost');
    run.packet(101, { ...measured(50, 101), readings: lel(40) });
    expect(run.cell('lel').value).toBe(12);
    expect(run.need('lel-25')).toMatchObject({ late: true, condition: true });
  });
  test('a late caution peak stands returned and waits for an answer, once for the whole backlog', () => {
    const run = createRun();
    run.packet(100, { ...measured(100, 100), readings: co(0) });
    for (const [i, value] of [40, 90, 36, 60].entries())
      run.packet(101 + i, { ...measured(50 - i, 101 + i), readings: co(value) });
    expect(run.stateOf('co-35')).toBe('returned-unacknowledged');
    expect(run.need('co-35')).toMatchObject({ late: true, worst: 90 });
    expect(run.need('co-35').words).toMatch(/learned late/);
    expect(told(alarmEvents(run.events))).toEqual(['101 raised co-35', '101 returned co-35']);
    run.acknowledge(110, run.need('co-35'));
    expect(run.stateOf('co-35')).toBe('normal');
  });
  test.each([
    ['at a withdraw level', { readings: lel(40) }, 'lel-25', { readings: lel(0) }],
    ['IDLH', { readings: co(1200) }, 'co-idlh', { readings: co(0) }],
    ['under-range oxygen', { readings: { o2: { flag: 'under-range' } } }, 'o2-low', { readings: o2(20.9) }],
  ])('late %s sounds until newer packets say otherwise', (_, wire, setPoint, contrary) => {
    const run = createRun();
    run.packet(100, { ...measured(100, 100), ...contrary });
    run.packet(101, { ...measured(50, 101), ...wire });
    expect(run.need(setPoint)).toMatchObject({ late: true, condition: true });
    run.advance(105);
    expect(run.need(setPoint).condition).toBe(true);
    for (let at = 106; at < 113; at += 1) run.packet(at, { ...measured(at, at), ...contrary });
    expect(run.stateOf(setPoint)).toBe('returned-unacknowledged');
  });
  test.each([
    ['down', { status: { motion: 'down' } }, { status: { motion: 'moving' } }],
    ['help', { status: { help: true } }, { status: { help: false } }],
    ['over-range', { readings: { lel: { flag: 'over-range' } } }, { readings: lel(0) }],
  ])('late %s sounds until a newer packet says otherwise, and latches', (setPoint, wire, contrary) => {
    const run = createRun();
    run.packet(100, { ...measured(100, 100), ...contrary });
    run.packet(101, { ...measured(50, 101), ...wire });
    expect(run.need(setPoint)).toMatchObject({ late: true, condition: true, latched: true });
    run.packet(102, { ...measured(102, 102), ...contrary });
    expect(run.stateOf(setPoint)).toBe('latched-unacknowledged');
  });
  test('a late alarm that is then seen at present is late no longer', () => {
    const run = createRun();
    run.packet(100, { ...measured(100, 100), readings: lel(0) });
    run.packet(101, { ...measured(50, 101), readings: lel(40) });
    run.packet(102, { ...measured(102, 102), readings: lel(41) });
    expect(run.need('lel-25')).toMatchObject({ late: false, condition: true, words: 'combustible 41 %LEL' });
  });
  test('a late packet takes no newer thing back', () => {
    const run = createRun();
    run.packet(100, { ...measured(100, 100), readings: lel(30), status: { motion: 'down' } });
    run.packet(101, { ...measured(50, 101), readings: lel(0), status: { motion: 'moving', help: false } });
    run.advance(109);
    expect(run.stateOf('lel-25')).toBe('unacknowledged');
    expect(run.stateOf('down')).toBe('unacknowledged');
  });
  test('a link that is always 12 s slow still alarms', () => {
    const run = createRun();
    for (let at = 20; at < 60; at += 1) run.packet(at, { ...measured(at - 12, at), readings: lel(30) });
    expect(run.need('lel-25')).toMatchObject({ late: false, condition: true });
    expect(run.view().link).toBe('stale');
  });
});

describe('clocks of relays', () => {
  test.each([
    ['an hour behind', -3_600],
    ['a day ahead', 86_400],
    ['never set (1970)', -1_778_763_600],
    ['in 2099', 2_300_000_000],
  ])('%s: the age cancels it out', (_, off) => {
    const run = createRun();
    run.packet(100, { measuredAt: isoAt(95 + off), sentAt: isoAt(100 + off), readings: lel(30) });
    expect(run.cell('lel').measuredAt).toBe(isoAt(95));
    expect(run.need('lel-25').late).toBe(false);
    run.packet(101, { measuredAt: isoAt(50 + off), sentAt: isoAt(101 + off), readings: lel(60) });
    expect(run.cell('lel').value).toBe(30);
  });
  test('measuredAt alone is judged by what is known of the relay', () => {
    const run = createRun();
    run.packet(1, { measuredAt: isoAt(-99), sentAt: isoAt(-99) });
    run.packet(20, { measuredAt: isoAt(-85), readings: lel(0) }); // 100 s behind: measured at 15
    expect(run.cell('lel').measuredAt).toBe(isoAt(15));
  });
  test.each([['1970-01-01T00:00:07Z'], ['2099-01-01T00:00:00Z']])(
    'measuredAt %s alone counts as present',
    (measuredAt) => {
      const run = createRun();
      run.packet(1, { measuredAt: isoAt(1), sentAt: isoAt(1), readings: lel(0) });
      run.packet(20, { measuredAt, readings: lel(30) });
      expect(run.need('lel-25').late).toBe(false);
      expect(run.cell('lel')).toMatchObject({ value: 30, measuredAt: isoAt(20) });
    },
  );
  test('a clock that stands still: packets count in their order', () => {
    const run = createRun();
    for (let at = 1; at < 10; at += 1)
      run.packet(at, { measuredAt: isoAt(-500), sentAt: isoAt(-500), readings: lel(at) });
    expect(run.cell('lel').value).toBe(9);
    expect(alarmEvents(run.events)).toEqual([]);
  });
  test('two relays whose clocks differ by a second and a half: the true age decides', () => {
    const run = createRun();
    run.packet(1, { ...{ measuredAt: isoAt(2.5), sentAt: isoAt(2.5) }, readings: lel(0) }, 'relay-1');
    run.packet(2, { ...{ measuredAt: isoAt(2), sentAt: isoAt(2) }, readings: lel(12) }, 'relay-2');
    expect(run.cell('lel').value).toBe(12);
    expect(run.need('lel-10')).toMatchObject({ late: false, condition: true });
  });
  test('a relay that is off is named, and named again when it agrees', () => {
    const run = createRun();
    run.packet(1, { sentAt: isoAt(61) });
    expect(told(run.events).at(-1)).toBe('1 relay-clock off');
    for (let at = 2; at < 200; at += 1) run.packet(at, { sentAt: isoAt(at) });
    expect(told(run.events).at(-1)).toMatch(/relay-clock agrees/);
  });
});

describe('taken over from the file before', () => {
  function handOver(before: Run, setPoints = DEFAULT_TABLE) {
    const text = encodeState(before.state, { withSeries: false });
    const state = createState();
    fold(state, { ...openedRecord(setPoints), at: before.state.now + 1 }, createChanges());
    const changes = fold(
      state,
      { cursor: 2, at: before.state.now + 2, kind: 'carried', fromEpoch: 'e-0', fromCursor: 9, state: text },
      createChanges(),
    );
    return { state, changes };
  }
  test('alarms, people and timers go on; a screen has to draw the alarms first', () => {
    const before = createRun();
    before.packet(1);
    before.assign(2, 'E1-A');
    before.zone(3, 'hot');
    before.packet(4, { readings: lel(30), status: { motion: 'still' } });
    before.acknowledge(5, before.need('lel-25'));
    const { state, changes } = handOver(before);
    expect(changes.events.map((event) => event.change)).toEqual(['carried', 'carried']);
    expect([...state.alarms.values()].map((alarm) => alarm.id)).toEqual(['M-1~lel~lel-10~1', 'M-1~lel~lel-25~1']);
    expect([...state.alarms.values()].every((alarm) => alarm.worseCursor === 2)).toBe(true);
    expect(state.alarms.get('M-1~lel~lel-25~1')?.acknowledged?.by).toBe('safety');
    expect(state.people.get('E1-A')?.zone).toBe('hot');
    expect(state.monitors.get('M-1')?.entrant).toBe('E1-A');
    expect(state.deadlines.byKey.has('still M-1')).toBe(true);
    expect(state.monitors.get('M-1')?.series).toBeDefined();
  });
  test('another table: each set-point keeps its own condition', () => {
    const before = createRun();
    before.packet(1, { readings: lel(30) });
    const lelPoints = DEFAULT_TABLE.setPoints.filter((point) => point.channel === 'lel').reverse();
    const { state } = handOver(before, {
      ...DEFAULT_TABLE,
      setPoints: [
        { ...(lelPoints[0] ?? DEFAULT_TABLE.setPoints[0]), id: 'lel-60', value: 60 } as (typeof lelPoints)[0],
        ...lelPoints,
      ],
    });
    expect(state.monitors.get('M-1')?.channels.get('lel')?.phases).toEqual([0, 1, 1]);
  });
});

describe('the state as text', () => {
  test('is the same whether or not it was read back in between', () => {
    const run = createRun();
    run.every(1, 30, { readings: { ...o2(20.9), ...lel(0) } });
    const text = encodeState(run.state, { withSeries: true });
    expect(text).not.toMatch(/queuedAt/);
  });
});

describe('a state that an earlier version handed over', () => {
  test('is read with what it did not know of filled in, and goes on', () => {
    const run = createRun();
    run.packet(1, { readings: { ...lel(30), ...o2(20.9) } });
    run.assign(2, 'E1-A');
    const old = JSON.parse(encodeState(run.state, { withSeries: false }));
    for (const name of ['backgrounds', 'outOfService', 'figures']) delete old[name];
    const later = ['shelved', 'suppressed', 'outOfService', 'announced', 'escalated', 'sounded', 'relay', 'protected'];
    for (const [, alarm] of old.alarms.$map) for (const name of later) delete alarm[name];
    for (const [, person] of old.people.$map) for (const name of ['worn', 'exposure']) delete person[name];
    old.deadlines.byKey.$map = old.deadlines.byKey.$map.filter(([key]: [string]) => !/^(sound|escal|expos)/.test(key));
    const next = createRun();
    next.put(3, { kind: 'carried', fromEpoch: 'e-0', fromCursor: 9, state: JSON.stringify(old) });
    expect(next.need('lel-25')).toMatchObject({ condition: true, announced: true, shelved: null });
    expect(next.views().map((view) => view.state)).toEqual(['unacknowledged', 'unacknowledged']);
    const { id, occurrence } = next.need('lel-25');
    const act = { type: 'acknowledge', alarm: id, occurrence, seenCursor: next.state.cursor } as const;
    expect(next.command(4, act, 'safety', 'other-1')).toMatchObject({ status: 'done' });
    next.command(5, { type: 'assign', monitor: 'M-1', entrant: null }, 'safety', 'other-2');
    next.advance(120);
    expect(next.stateOf('lel-25')).toBe('acknowledged');
  });
});

describe('doubt never removes an alarm', () => {
  // Four-agency manual of 1985 (NIOSH 85-115): combustible readings are not valid in under 19.5 % oxygen. Trap 14.
  test('14 %LEL in 18 % oxygen: doubtful, more than it says, and an alarm', () => {
    const run = createRun();
    run.packet(1, { readings: { ...lel(14), ...o2(18) } });
    expect(run.cell('lel')).toMatchObject({
      value: 14,
      standing: 'doubtful',
      reasons: [{ code: 'oxygen-thin', words: '14 %LEL or more: oxygen is thin' }],
      level: 'caution',
    });
    expect(run.stateOf('lel-10')).toBe('unacknowledged');
  });
  test('below 12 % it is unusable, not 0, and the alarm stays', () => {
    const run = createRun();
    run.packet(1, { readings: { ...lel(14), ...o2(18) } });
    run.packet(2, { readings: { ...lel(14), ...o2(11.9) } });
    expect(run.cell('lel')).toMatchObject({ value: 14, standing: 'unusable', reasons: [{ code: 'oxygen-too-thin' }] });
    expect(run.stateOf('lel-10')).toBe('unacknowledged');
  });
  test.each([
    ['under range', { o2: { flag: 'under-range' } }, 'oxygen-too-thin'],
    ['at a fault', { o2: { flag: 'fault' } }, 'oxygen-unknown'],
    ['missing', {}, 'oxygen-unknown'],
  ])('oxygen %s: 0 %%LEL is not "clean"', (_, oxygen, code) => {
    const run = createRun();
    run.packet(1, { readings: { ...lel(0), ...oxygen } });
    expect(run.cell('lel').reasons.map((reason) => reason.code)).toContain(code);
    expect(run.cell('lel').standing).not.toBe('good');
  });
  test('19.5 % exactly is not thin', () => {
    const run = createRun();
    run.packet(1, { readings: { ...lel(14), ...o2(19.5) } });
    expect(run.cell('lel').standing).toBe('good');
  });
  test('trap 12: a negative reading is shown, doubted and not clamped', () => {
    const run = createRun();
    run.packet(1, { readings: { ...lel(-4), ...o2(20.9) } });
    expect(run.cell('lel')).toMatchObject({ value: -4, standing: 'doubtful', reasons: [{ code: 'negative' }] });
  });
  test('a fault after an alarm: no number, the cell keeps the level, the alarm stays', () => {
    const run = createRun();
    run.packet(1, { readings: lel(30) });
    run.every(2, 60, { readings: { lel: { flag: 'fault' } } });
    expect(run.cell('lel')).toMatchObject({ value: null, standing: 'unusable', level: 'danger' });
    expect(run.stateOf('lel-25')).toBe('unacknowledged');
  });
});

describe('trend', () => {
  test.each([0.25, 0.5, 1, 2])('a rise of 6 a minute sampled every %s s', (step) => {
    const run = createRun();
    for (let at = 1; at < 40; at += step) run.read(at, co(at / 10));
    expect(run.cell('co').trend).toBeCloseTo(6, 6);
  });
  test('is that of the last minute, whatever was before', () => {
    const run = createRun();
    for (let at = 1; at < 300; at += 1) run.read(at, co(at < 200 ? 500 - at : (at - 200) / 10));
    expect(run.cell('co').trend).toBeCloseTo(6, 6);
  });
});
