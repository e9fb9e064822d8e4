import { describe, expect, test } from 'vitest';
import { alarmStateOf } from '../../shared/incident/alarms.ts';
import type { AlarmRecord } from '../../shared/incident/state.ts';
import type { CommandAnswer } from '../../shared/protocol/commands.ts';
import { alarmEvents, co, createRun, lel, o2, openedRecord, told } from './fold-run.ts';

// States by ISA-18.2 / IEC 62682 as publicly restated: A normal, B unacknowledged, C acknowledged, D returned
// unacknowledged, E latched unacknowledged, F latched acknowledged, G shelved, H suppressed by design, I out of service;
// "any of A to D to G, H, I and back to the state that the current condition implies", with the condition true: B.

type Run = ReturnType<typeof createRun>;
type Case = { readonly run: Run; readonly alarm: AlarmRecord; at: number };

const HOLDS = { readings: co(40) };
const ENDED = { readings: co(0) };
const OVER = { readings: { co: { flag: 'over-range' } } };

function begin(set: (run: Run) => void, setPoint: string): Case {
  const run = createRun();
  set(run);
  return { run, alarm: run.need(setPoint), at: 20 };
}
/** A set-point alarm in each of its states at second 20. */
const STATES: Record<string, () => Case> = {
  unacknowledged: () => begin((run) => run.every(1, 19, HOLDS), 'co-35'),
  acknowledged: acknowledgedAt20,
  'returned-unacknowledged': () =>
    begin((run) => {
      run.read(1, co(40));
      run.every(2, 19, ENDED);
    }, 'co-35'),
  'latched-unacknowledged': () =>
    begin((run) => {
      run.packet(1, OVER);
      run.every(2, 19, ENDED);
    }, 'over-range'),
  'latched-acknowledged': () =>
    begin((run) => {
      run.packet(1, OVER);
      run.every(2, 18, ENDED);
      run.acknowledge(18.5, run.need('over-range'));
    }, 'over-range'),
  shelved: () => {
    const made = begin((run) => run.every(1, 18, HOLDS), 'co-35');
    shelve(made.run, 18.5, made.alarm, 1);
    return made;
  },
  suppressed: () => begin((run) => run.every(1, 19, { ...HOLDS, test: true }), 'co-35'),
  'out-of-service': () => {
    const run = createRun();
    run.read(1, co(0));
    service(run, 2, true);
    run.every(3, 19, HOLDS);
    return { run, alarm: run.need('co-35'), at: 20 };
  },
};

/** Answered at second 10.5 and still over its level. */
function acknowledgedAt20(): Case {
  return begin((run) => {
    run.every(1, 10, HOLDS);
    run.acknowledge(10.5, run.need('co-35'));
    run.every(11, 19, HOLDS);
  }, 'co-35');
}

const shelve = (run: Run, at: number, alarm: AlarmRecord, minutes = 10): CommandAnswer =>
  run.command(at, { type: 'shelve', alarm: alarm.id, minutes, reason: 'known source' });
const unshelve = (run: Run, at: number, alarm: AlarmRecord): CommandAnswer =>
  run.command(at, { type: 'unshelve', alarm: alarm.id });
const service = (run: Run, at: number, out: boolean, rest: { sensor?: string; setPoint?: string } = {}) =>
  run.command(at, { type: 'out-of-service', monitor: 'M-1', out, reason: 'sensor change', ...rest });

const ACTS: Record<string, (made: Case) => CommandAnswer | undefined> = {
  acknowledge: ({ run, alarm, at }) => run.acknowledge(at, alarm),
  reset: ({ run, alarm, at }) => run.reset(at, alarm),
  shelve: ({ run, alarm, at }) => shelve(run, at, alarm),
  unshelve: ({ run, alarm, at }) => unshelve(run, at, alarm),
  'put out': ({ run, at }) => service(run, at, true),
  'put back': ({ run, at }) => service(run, at, false),
  'condition ends': ({ run, at }) => {
    run.every(at, at + 7, { readings: co(0) });
    return undefined;
  },
  'condition comes up': ({ run, alarm, at }) => {
    run.packet(at, alarm.kind === 'over-range' ? OVER : HOLDS);
    return undefined;
  },
  'a minute passes': ({ run, at }) => {
    run.advance(at + 61);
    return undefined;
  },
};

describe('every state and every act', () => {
  const table: [state: string, act: string, after: string, answer?: string][] = [
    ['unacknowledged', 'acknowledge', 'acknowledged', 'done'],
    ['unacknowledged', 'reset', 'unacknowledged', 'not-latched'],
    ['unacknowledged', 'shelve', 'shelved', 'done'],
    ['unacknowledged', 'unshelve', 'unacknowledged', 'not-shelved'],
    ['unacknowledged', 'put out', 'out-of-service', 'done'],
    ['unacknowledged', 'put back', 'unacknowledged', 'is-in'],
    ['unacknowledged', 'condition ends', 'returned-unacknowledged'],
    ['unacknowledged', 'condition comes up', 'unacknowledged'],
    ['unacknowledged', 'a minute passes', 'unacknowledged'],
    ['acknowledged', 'acknowledge', 'acknowledged', 'already'],
    ['acknowledged', 'reset', 'acknowledged', 'not-latched'],
    ['acknowledged', 'shelve', 'shelved', 'done'],
    ['acknowledged', 'unshelve', 'acknowledged', 'not-shelved'],
    ['acknowledged', 'put out', 'out-of-service', 'done'],
    ['acknowledged', 'condition ends', 'normal'],
    ['acknowledged', 'condition comes up', 'acknowledged'],
    ['acknowledged', 'a minute passes', 'acknowledged'],
    ['returned-unacknowledged', 'acknowledge', 'normal', 'done'],
    ['returned-unacknowledged', 'reset', 'returned-unacknowledged', 'not-latched'],
    ['returned-unacknowledged', 'shelve', 'shelved', 'done'],
    ['returned-unacknowledged', 'unshelve', 'returned-unacknowledged', 'not-shelved'],
    ['returned-unacknowledged', 'put out', 'out-of-service', 'done'],
    ['returned-unacknowledged', 'condition comes up', 'unacknowledged'],
    ['returned-unacknowledged', 'a minute passes', 'returned-unacknowledged'],
    ['latched-unacknowledged', 'acknowledge', 'latched-acknowledged', 'done'],
    ['latched-unacknowledged', 'reset', 'latched-unacknowledged', 'not-acknowledged'],
    ['latched-unacknowledged', 'shelve', 'latched-unacknowledged', 'protected'],
    ['latched-unacknowledged', 'put out', 'latched-unacknowledged', 'done'],
    ['latched-unacknowledged', 'condition comes up', 'unacknowledged'],
    ['latched-unacknowledged', 'a minute passes', 'latched-unacknowledged'],
    ['latched-acknowledged', 'acknowledge', 'latched-acknowledged', 'already'],
    ['latched-acknowledged', 'reset', 'normal', 'done'],
    ['latched-acknowledged', 'shelve', 'latched-acknowledged', 'protected'],
    ['latched-acknowledged', 'put out', 'latched-acknowledged', 'done'],
    ['latched-acknowledged', 'condition comes up', 'unacknowledged'],
    ['shelved', 'acknowledge', 'shelved', 'done'],
    ['shelved', 'reset', 'shelved', 'not-latched'],
    ['shelved', 'shelve', 'shelved', 'done'],
    ['shelved', 'unshelve', 'unacknowledged', 'done'],
    ['shelved', 'put out', 'out-of-service', 'done'],
    ['shelved', 'condition ends', 'shelved'],
    ['shelved', 'condition comes up', 'shelved'],
    ['shelved', 'a minute passes', 'unacknowledged'],
    ['suppressed', 'acknowledge', 'suppressed', 'done'],
    ['suppressed', 'shelve', 'suppressed', 'done'],
    ['suppressed', 'put out', 'out-of-service', 'done'],
    ['suppressed', 'condition comes up', 'unacknowledged'], // a packet that tests no more
    ['suppressed', 'a minute passes', 'unacknowledged'],
    ['out-of-service', 'acknowledge', 'out-of-service', 'done'],
    ['out-of-service', 'shelve', 'out-of-service', 'done'],
    ['out-of-service', 'put out', 'out-of-service', 'is-out'],
    ['out-of-service', 'put back', 'unacknowledged', 'done'],
    ['out-of-service', 'condition ends', 'normal'], // nobody was ever told of it
    ['out-of-service', 'a minute passes', 'out-of-service'],
  ];
  test.each(table)('%s, %s: %s', (state, act, after, answer) => {
    const made = STATES[state]?.();
    if (made === undefined) throw new Error(state);
    expect(alarmStateOf(made.alarm)).toBe(state);
    const given = ACTS[act]?.(made);
    expect(made.run.stateOf(made.alarm.setPoint ?? '')).toBe(after);
    if (answer !== undefined) expect(given?.code ?? given?.status).toBe(answer);
  });
});

describe('shelving', () => {
  test('ends by itself at its time, and what holds then has to be answered whoever answered before', () => {
    const { run, alarm } = acknowledgedAt20();
    shelve(run, 20, alarm, 10);
    run.advance(619.999);
    expect(run.views()[0]).toMatchObject({
      state: 'shelved',
      shelved: { by: 'safety', until: '2026-05-14T13:10:20.000Z', reason: 'known source' },
    });
    run.advance(620);
    expect(run.stateOf('co-35')).toBe('unacknowledged');
    expect(
      alarmEvents(run.events)
        .filter((event) => event.setPoint === 'co-35')
        .at(-1),
    ).toMatchObject({
      change: 'unshelved',
      state: 'unacknowledged',
    });
  });
  test('what came up and went while it was shelved waits for an answer afterwards: nothing is lost', () => {
    const { run, alarm } = acknowledgedAt20();
    shelve(run, 20, alarm, 1);
    run.every(21, 28, ENDED);
    run.every(30, 31, HOLDS);
    run.every(32, 40, ENDED);
    expect(
      alarmEvents(run.events)
        .slice(-3)
        .map((event) => [event.change, event.state]),
    ).toEqual([
      ['returned', 'shelved'],
      ['again', 'shelved'],
      ['returned', 'shelved'],
    ]);
    run.advance(80);
    expect(run.stateOf('co-35')).toBe('returned-unacknowledged');
  });
  test('answered before and over by then: it leaves the list', () => {
    const { run, alarm } = acknowledgedAt20();
    shelve(run, 20, alarm, 1);
    run.every(21, 28, ENDED);
    expect(run.stateOf('co-35')).toBe('shelved');
    run.advance(80);
    expect(run.stateOf('co-35')).toBe('normal');
    expect(run.state.deadlines.byKey.has(`shelf-end ${alarm.id}`)).toBe(false);
  });
  test('a shelved alarm does not sound again and does not escalate', () => {
    const run = createRun();
    run.read(1, co(300));
    shelve(run, 2, run.need('co-200'), 30);
    run.advance(300);
    const mine = alarmEvents(run.events).filter((event) => event.setPoint === 'co-200');
    expect(mine.map((event) => event.change)).toEqual(['raised', 'shelved']);
  });
  test.each([
    ['down', { status: { motion: 'down' } }, 'down'],
    ['help', { status: { help: true } }, 'help'],
    ['over range', OVER, 'over-range'],
    ['combustible danger', { readings: lel(30) }, 'lel-25'],
    ['carbon monoxide IDLH', { readings: co(1200) }, 'co-idlh'],
    ['hydrogen sulfide IDLH', { readings: { h2s: { value: 100, unit: 'ppm' } } }, 'h2s-idlh'],
    ['10 R/h', { readings: { gamma: { value: 10, unit: 'R/h' } } }, 'gamma-10r'],
    ['not watched in the hot zone', { status: { pump: 'blocked' } }, 'not-watched'],
  ])('%s is never put aside', (_, wire, setPoint) => {
    const run = createRun();
    run.packet(0.5);
    run.assign(1, 'E1-A');
    run.zone(2, 'hot');
    run.packet(3, { ...wire, test: true });
    expect(run.stateOf(setPoint)).toBe('unacknowledged');
    expect(shelve(run, 4, run.need(setPoint))).toMatchObject({ status: 'refused', code: 'protected' });
    service(run, 5, true);
    expect(run.stateOf(setPoint)).toBe('unacknowledged');
    expect(run.views().find((view) => view.id === run.need(setPoint).id)?.protected).toBe(true);
    if (setPoint.includes('-') && setPoint !== 'not-watched') {
      expect(service(run, 6, true, { setPoint })).toMatchObject({ code: 'protected' });
    }
  });
  test('silence in the hot zone is never shelved; one that was shelved before sounds when the wearer goes in', () => {
    const run = createRun();
    run.packet(0.5);
    run.assign(1, 'E1-A');
    run.zone(2, 'warm');
    run.advance(20);
    expect(shelve(run, 21, run.need('silent'))).toMatchObject({ status: 'done' });
    run.zone(22, 'hot');
    expect(run.stateOf('silent')).toBe('unacknowledged');
    expect(shelve(run, 23, run.need('silent'))).toMatchObject({ code: 'protected' });
  });
});

describe('nobody answers', () => {
  test('a danger escalates after 30 s, any alarm sounds again after 60 s', () => {
    const run = createRun();
    run.read(1, { ...co(40), ...o2(19) });
    run.advance(100);
    expect(told(alarmEvents(run.events)).slice(3)).toEqual([
      '31 escalated o2-low',
      '31 raised silent',
      '61 sounds-again co-35',
      '61 sounds-again o2-low',
      '61 sounds-again o2-off-background',
      '91 sounds-again silent',
    ]);
    expect(run.views().find((view) => view.setPoint?.id === 'o2-low')?.escalated).toBe(true);
    run.acknowledge(101, run.need('o2-low'));
    expect(run.views().find((view) => view.setPoint?.id === 'o2-low')?.escalated).toBeUndefined();
    const before = run.events.length;
    run.advance(115);
    expect(run.events.length).toBe(before);
  });
  test('what is back within its level does not sound again, but a danger still escalates', () => {
    const run = createRun();
    run.read(1, o2(19));
    run.every(2, 100, { readings: o2(20.9) });
    const mine = alarmEvents(run.events).filter((event) => event.setPoint === 'o2-low');
    expect(mine.map((event) => event.change)).toEqual(['raised', 'returned', 'escalated']);
  });
  test('a night with nobody there does not fill the journal', () => {
    const run = createRun();
    run.read(1, co(40));
    run.advance(8 * 3600);
    expect(run.events.length).toBeLessThan(150);
  });
});

describe('a test of horn and lights', () => {
  test('puts levels aside for 60 s at most; what holds then sounds', () => {
    const run = createRun();
    run.every(1, 70, { readings: co(40), test: true });
    const mine = alarmEvents(run.events).filter((event) => event.setPoint === 'co-35');
    expect(mine.map((event) => [event.change, event.state])).toEqual([
      ['raised', 'suppressed'],
      ['unsuppressed', 'unacknowledged'],
    ]);
    expect(mine[1]?.at).toBe(run.monitor().testSince + 60_000_001);
  });
  test('does not cover what stood before it', () => {
    const run = createRun();
    run.read(1, co(40));
    run.packet(2, { readings: co(40), test: true });
    expect(run.stateOf('co-35')).toBe('unacknowledged');
  });
  test('over before the test is, it is recorded and asks for nothing', () => {
    const run = createRun();
    run.packet(1, { readings: co(40), test: true });
    run.every(2, 12, { readings: co(0), test: true });
    expect(run.stateOf('co-35')).toBe('normal');
    expect(alarmEvents(run.events).map((event) => event.change)).toEqual(['raised', 'cleared']);
  });
  test('silence during it does not keep it up', () => {
    const run = createRun();
    run.packet(1, { readings: co(40), test: true });
    run.advance(62);
    expect(run.stateOf('co-35')).toBe('unacknowledged');
  });
});

describe('a call that nothing contradicts', () => {
  test.each([
    ['down', { status: { motion: 'down' } }],
    ['help', { status: { help: true } }],
    ['over-range', { readings: { lel: { flag: 'over-range' } } }],
  ])('%s: reset by an officer with a reason, once acknowledged; recorded; the next call sounds', (setPoint, wire) => {
    const run = createRun();
    run.packet(1, wire);
    const { id } = run.need(setPoint);
    const reason = 'seen walking at the gate';
    expect(run.command(2, { type: 'reset', alarm: id, reason })).toMatchObject({ code: 'not-acknowledged' });
    run.acknowledge(3, run.need(setPoint));
    expect(run.command(4, { type: 'reset', alarm: id })).toMatchObject({ code: 'condition-holds' });
    expect(run.command(5, { type: 'reset', alarm: id, reason })).toMatchObject({ status: 'done' });
    expect(run.stateOf(setPoint)).toBe('normal');
    expect(alarmEvents(run.events).at(-1)).toMatchObject({ change: 'reset', by: 'safety', reason });
    run.packet(6, wire);
    expect(run.stateOf(setPoint)).toBe('unacknowledged');
  });
  test('a level is not talked away', () => {
    const table = openedRecord();
    if (table.kind !== 'opened') throw new Error('not opened');
    const latching = table.setPoints.setPoints.map((point) => ({ ...point, latched: true }));
    const run = createRun({ ...table.setPoints, setPoints: latching });
    run.read(1, co(40));
    run.acknowledge(2, run.need('co-35'));
    const act = { type: 'reset', alarm: run.need('co-35').id, reason: 'I say so' } as const;
    expect(run.command(3, act)).toMatchObject({ code: 'condition-holds' });
  });
});

describe('a wearer past the control line with no monitor at all', () => {
  test.each([
    ['hot', 'danger'],
    ['warm', 'caution'],
  ] as const)('%s zone: %s, until there is one', (zone, priority) => {
    const run = createRun();
    run.packet(0.5);
    run.assign(1, 'E1-A');
    run.assign(2, null);
    expect(run.listed()).toEqual([]);
    run.zone(3, zone);
    expect(run.need('no-monitor', '')).toMatchObject({ priority, condition: true, entrant: 'E1-A' });
    expect(run.views()[0]).toMatchObject({ kind: 'not-watched', words: 'E1-A has no monitor', entrant: 'E1-A' });
    if (zone === 'hot') expect(shelve(run, 4, run.need('no-monitor', ''))).toMatchObject({ code: 'protected' });
    run.assign(5, 'E1-A');
    expect(run.stateOf('no-monitor', '')).toBe('returned-unacknowledged');
  });
  test('handing the monitor to another while one is in there', () => {
    const run = createRun();
    run.packet(0.5);
    run.assign(1, 'E1-A');
    run.zone(2, 'hot');
    run.assign(3, 'E1-B');
    expect(run.need('no-monitor', '').entrant).toBe('E1-A');
    run.zone(4, 'cold');
    expect(run.stateOf('no-monitor', '')).toBe('returned-unacknowledged');
  });
});

test('the first-out is the first that waits, and passes to what comes up when all is answered', () => {
  const run = createRun();
  run.read(1, co(40));
  run.acknowledge(2, run.need('co-35'));
  run.every(3, 10, { readings: co(0) });
  run.read(11, lel(12));
  expect(run.need('lel-10').firstOut).toBe(true);
  run.read(12, { ...lel(12), ...co(40) });
  expect(run.need('co-35').firstOut).toBe(false);
});
