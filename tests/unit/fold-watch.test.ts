import { describe, expect, test } from 'vitest';
import { alarmEvents, createRun, lel, o2, told } from './fold-run.ts';

type Run = ReturnType<typeof createRun>;
const changesOf = (run: Run) => told(run.events).filter((line) => !/opened|assigned|zone/.test(line));

/** E1-A wears M-1 in `zone`; M-1 was heard once, at second 2. */
function wornIn(zone: 'cold' | 'warm' | 'hot', role: 'entry' | 'perimeter' = 'entry'): Run {
  const run = createRun();
  run.packet(0.1);
  run.assign(0.5, 'E1-A', 'M-1', role);
  run.zone(1, zone);
  run.packet(2, { readings: o2(20.9), status: { motion: 'moving' } });
  return run;
}

describe('silence', () => {
  test.each([
    [undefined, 10, 30],
    [1000, 10, 30],
    [5000, 15, 45],
    [60_000, 180, 540],
  ])('interval %s ms: stale after %s s, lost after %s s', (intervalMs, staleS, lostS) => {
    const run = createRun();
    run.packet(1, { status: intervalMs === undefined ? {} : { intervalMs } });
    run.advance(staleS + 0.999);
    expect(run.view().link).toBe('live');
    run.advance(staleS + 1);
    expect(run.view().link).toBe('stale');
    run.advance(lostS + 0.999);
    expect(run.view().link).toBe('stale');
    run.advance(lostS + 1);
    expect(run.view().link).toBe('lost');
    expect(told(run.events).slice(1)).toEqual([
      `${staleS + 1} link stale`,
      `${lostS + 1} link lost`,
      `${lostS + 1} raised silent`,
    ]);
  });
  test('trap 24: what was read before is old at once, with no trend', () => {
    const run = createRun();
    run.every(1, 30, { readings: o2(20.9) });
    expect(run.cell('o2')).toMatchObject({ standing: 'good', trend: expect.any(Number) });
    run.advance(41);
    expect(run.cell('o2')).toMatchObject({ standing: 'unusable', reasons: [{ code: 'stale' }], trend: null });
  });
  test('one channel that is not sent any more is old, while the others are not', () => {
    const run = createRun();
    run.packet(1, { readings: { ...o2(20.9), ...lel(0) } });
    run.every(2, 12, { readings: o2(20.9) });
    expect(run.cell('lel').standing).toBe('unusable');
    expect(run.cell('o2').standing).toBe('good');
  });
  test('a packet that was refused counts as heard and stands on the row', () => {
    const run = createRun();
    run.packet(1);
    for (let at = 9; at < 60; at += 8) {
      run.put(at, {
        kind: 'refused',
        relay: 'relay-1',
        monitor: 'M-1',
        code: 'conflict',
        path: '',
        message: 'x',
        raw: '',
      });
    }
    expect(run.view()).toMatchObject({ link: 'live', refused: { code: 'conflict', count: 7 } });
    run.advance(800);
    expect(run.view().refused).toBeUndefined();
  });
  test('a simulated packet that was refused says nothing of the real monitor of that name', () => {
    const run = createRun();
    run.packet(1);
    run.put(9, { kind: 'refused', relay: 'r', monitor: 'M-1', code: 'simulated', path: '', message: 'x', raw: '' });
    run.advance(12);
    expect(run.view()).toMatchObject({ link: 'stale', refused: { code: 'simulated' } });
  });
  test('a refused packet of a monitor that nobody knows makes none', () => {
    const run = createRun();
    run.put(1, { kind: 'refused', relay: 'r', monitor: 'M-9', code: 'invalid', path: 'seq', message: 'x', raw: '' });
    expect(run.state.monitors.size).toBe(0);
    expect(run.state.refusedElsewhere.count).toBe(1);
  });
  test.each([
    ['hot', 'entry', 12, 'danger'],
    ['warm', 'entry', 12, 'caution'],
    ['hot', 'perimeter', 12, 'caution'],
    ['cold', 'entry', 32, 'caution'],
  ] as const)('%s zone, %s: an alarm at second %s, %s', (zone, role, at, priority) => {
    const run = wornIn(zone, role);
    run.advance(at - 0.001);
    expect(run.stateOf('silent')).toBe('normal');
    run.advance(at);
    expect(run.need('silent')).toMatchObject({ priority, condition: true });
    if (role === 'entry') expect(run.views()[0]?.entrant).toBe('E1-A');
  });
  test('a wearer who goes into the hot zone while lost: it gets worse', () => {
    const run = wornIn('cold');
    run.advance(40);
    run.acknowledge(41, run.need('silent'));
    run.zone(42, 'hot');
    expect(run.need('silent').priority).toBe('danger');
    expect(run.stateOf('silent')).toBe('unacknowledged');
  });
  test('its words do not say "no alarm" where there was one', () => {
    const run = wornIn('hot');
    run.read(3, lel(30));
    run.advance(20);
    expect(run.need('silent').words).toBe('silent: in alarm when last heard, unknown now');
    const calm = wornIn('hot');
    calm.advance(20);
    expect(calm.need('silent').words).toBe('silent: no alarm when last heard, unknown now');
  });
  test('a lost signal ends no alarm', () => {
    const run = createRun();
    run.read(1, lel(30));
    run.read(2, lel(0));
    run.advance(600); // one reading, then silence: nobody knows that it is over
    expect(run.stateOf('lel-25')).toBe('unacknowledged');
    run.every(601, 607, { readings: lel(0) });
    expect(run.stateOf('lel-25')).toBe('returned-unacknowledged');
  });
  test('a monitor in the hot zone that was never heard is an alarm, until it is heard', () => {
    const run = createRun();
    run.assign(1, 'E1-A');
    expect(run.listed()).toEqual([]);
    run.zone(2, 'hot');
    expect(run.need('silent')).toMatchObject({ priority: 'danger', entrant: 'E1-A', condition: true });
    expect(run.need('silent').words).toMatch(/^never heard/);
    run.packet(3);
    expect(run.stateOf('silent')).toBe('returned-unacknowledged');
  });
});

describe('not watched past the control line', () => {
  const blind: [string, Record<string, unknown>, RegExp][] = [
    ['radiation only', { status: { mode: 'radiation-only' } }, /gas is not being watched: radiation only/],
    ['gas only', { status: { mode: 'gas-only' } }, /radiation is not being watched: gas only/],
    ['pump blocked', { status: { pump: 'blocked' } }, /gas is not being watched: pump blocked/],
    ['pump off', { status: { pump: 'off' } }, /gas is not being watched: pump off/],
    ['a fault', { readings: { lel: { flag: 'fault' } } }, /combustible sensor has a fault/],
    ['warming', { readings: { co: { flag: 'warming' } } }, /carbon monoxide is warming up/],
    ['switched off', { readings: { h2s: { flag: 'off' } } }, /hydrogen sulfide is switched off/],
    ['not understood', { readings: { o2: { value: 20.9 } } }, /oxygen was not understood/],
  ];
  test.each(blind)('%s', (_, wire, words) => {
    for (const [zone, priority] of [
      ['hot', 'danger'],
      ['warm', 'caution'],
    ] as const) {
      const run = wornIn(zone);
      run.packet(3, wire);
      expect(run.need('not-watched')).toMatchObject({ priority, condition: true });
      expect(run.need('not-watched').words).toMatch(words);
      expect(run.view().notWatched.join()).toMatch(words);
    }
    const cold = wornIn('cold');
    cold.packet(3, wire);
    expect(cold.stateOf('not-watched')).toBe('normal');
    cold.zone(4, 'warm');
    expect(cold.stateOf('not-watched')).toBe('unacknowledged');
  });
  test('a channel that is not sent any more, while the monitor goes on', () => {
    const run = wornIn('hot');
    run.packet(3, { readings: lel(0) });
    run.every(4, 13, { readings: o2(20.9) });
    expect(run.stateOf('not-watched')).toBe('normal');
    run.packet(14, { readings: o2(20.9) });
    expect(run.need('not-watched').words).toBe('combustible is not sent any more');
  });
  test('packets that are all refused watch nothing', () => {
    const run = wornIn('hot');
    for (let at = 9; at < 20; at += 1) {
      run.put(at, { kind: 'refused', relay: 'r', monitor: 'M-1', code: 'conflict', path: '', message: 'x', raw: '' });
    }
    expect(run.stateOf('not-watched')).toBe('unacknowledged');
  });
  test('channels that the mode takes out show no old number', () => {
    const run = wornIn('hot');
    run.packet(3, { readings: lel(3), status: { mode: 'radiation-only' } });
    expect(run.cell('lel')).toMatchObject({ value: null, flag: 'off', standing: 'unusable', headroom: null });
    expect(run.cell('lel').reasons[0]?.words).toMatch(/not being watched/);
  });
  test('another reason asks again; one reason less does not', () => {
    const run = wornIn('hot');
    run.packet(3, { readings: { lel: { flag: 'fault' }, co: { flag: 'warming' } } });
    run.acknowledge(4, run.need('not-watched'));
    run.packet(5, { readings: { lel: { flag: 'fault' }, co: { value: 0, unit: 'ppm' } } });
    expect(run.stateOf('not-watched')).toBe('acknowledged');
    run.packet(6, { status: { pump: 'blocked' } });
    expect(run.stateOf('not-watched')).toBe('unacknowledged');
  });
  test('a sensor that comes and goes with every packet sounds once', () => {
    const run = wornIn('hot');
    for (let at = 3; at < 60; at += 1) {
      run.packet(at, { readings: { ...o2(20.9), ...(at % 2 === 0 ? lel(0) : { lel: { flag: 'fault' } }) } });
    }
    const mine = alarmEvents(run.events).filter((event) => event.kind === 'not-watched');
    // Nobody answers, so it escalates after 30 s; it never came and went.
    expect(mine.map((event) => event.change)).toEqual(['raised', 'escalated']);
    run.every(60, 66, { readings: { ...o2(20.9), ...lel(0) } });
    expect(run.stateOf('not-watched')).toBe('returned-unacknowledged');
  });
  test('back behind the line it ends at once', () => {
    const run = wornIn('hot');
    run.packet(3, { status: { pump: 'blocked' } });
    run.acknowledge(4, run.need('not-watched'));
    run.zone(5, 'cold');
    expect(run.stateOf('not-watched')).toBe('normal');
  });
});

describe('motion', () => {
  test('down and help sound at once, worn or not, and latch', () => {
    const run = createRun();
    run.status(1, { motion: 'down', help: true });
    expect(run.need('down')).toMatchObject({ condition: true, priority: 'danger', latched: true });
    expect(run.need('help')).toMatchObject({ condition: true, priority: 'danger', latched: true });
    run.status(2, { motion: 'moving', help: false });
    // Trap 25: movement does not clear it.
    expect(run.stateOf('down')).toBe('latched-unacknowledged');
    expect(run.stateOf('help')).toBe('latched-unacknowledged');
    run.acknowledge(3, run.need('down'));
    expect(run.stateOf('down')).toBe('latched-acknowledged');
    expect(run.reset(4, run.need('down'))).toMatchObject({ status: 'done' });
  });
  test('a test of the horn covers neither', () => {
    const run = wornIn('warm');
    run.packet(3, { test: true, status: { motion: 'down', help: true } });
    expect(run.listed()).toEqual(expect.arrayContaining(['M-1~-~down', 'M-1~-~help']));
  });
  test('still: told at 20 s, alarm at 30 s, through silence', () => {
    const run = wornIn('cold');
    run.status(10, { motion: 'still' });
    run.advance(100);
    // NFPA 1982: alarm after 30 s without motion; pre-alarm about 10 s before (sources differ, both ours to set).
    expect(changesOf(run)).toEqual([
      '20 link stale',
      '30 motion still',
      '40 link lost',
      '40 raised silent',
      '40 raised still',
      '70 escalated still',
      '100 sounds-again silent',
      '100 sounds-again still',
    ]);
  });
  test('movement before takes both back; after, the alarm returns and stays until answered', () => {
    const run = wornIn('cold');
    run.status(10, { motion: 'still' });
    run.status(19, { motion: 'moving' });
    run.every(20, 60, { status: { motion: 'moving' } });
    expect(changesOf(run)).toEqual([]);
    run.every(61, 95, { status: { motion: 'still' } });
    expect(run.stateOf('still')).toBe('unacknowledged');
    run.status(96, { motion: 'moving' });
    expect(run.stateOf('still')).toBe('returned-unacknowledged');
  });
  test.each([
    ['nobody wears it', (run: Run) => run.packet(0.5), false],
    ['it marks a place behind the line', (run: Run) => run.assign(0.5, 'North gate', 'M-1', 'perimeter'), false],
    ['somebody wears it', (run: Run) => run.assign(0.5, 'E1-A'), true],
  ])('%s', (_, before, alarms) => {
    const run = createRun();
    before(run);
    run.every(1, 60, { status: { motion: 'still' } });
    expect(run.alarm('still') !== undefined).toBe(alarms);
  });
  test('a place past the control line counts', () => {
    const run = wornIn('warm', 'perimeter');
    run.every(3, 60, { status: { motion: 'still' } });
    expect(run.stateOf('still')).toBe('unacknowledged');
  });
  test('age counts: still since 40 s by its own clock is an alarm at once', () => {
    const run = wornIn('cold');
    run.packet(60, { ageMs: 40_000, status: { motion: 'still' } });
    run.advance(60);
    expect(run.stateOf('still')).toBe('unacknowledged');
  });
  test('down, then still, then silence: nothing ends', () => {
    const run = wornIn('hot');
    run.status(3, { motion: 'down' });
    run.status(4, { motion: 'still' });
    run.advance(200);
    expect(run.stateOf('down')).toBe('latched-unacknowledged');
    expect(run.stateOf('still')).toBe('unacknowledged');
    expect(run.stateOf('silent')).toBe('unacknowledged');
  });
});

describe('who wears it', () => {
  test('handed from one to the other, and each has one monitor at most', () => {
    const run = createRun();
    run.packet(1);
    run.packet(2, { monitor: 'M-2' });
    run.assign(3, 'E1-A', 'M-1');
    run.assign(4, 'E1-B', 'M-1');
    expect(run.view('M-1').entrant).toBe('E1-B');
    expect(run.state.people.get('E1-A')?.monitor).toBeNull();
    run.assign(5, 'E1-B', 'M-2');
    expect(run.view('M-1').entrant).toBeUndefined();
    expect(run.view('M-2').entrant).toBe('E1-B');
    run.assign(6, null, 'M-2');
    expect(run.view('M-2').entrant).toBeUndefined();
    expect(run.state.people.get('E1-B')?.monitor).toBeNull();
  });
  test('an alarm keeps the name of the one who wore it', () => {
    const run = wornIn('warm');
    run.read(3, lel(30));
    run.assign(4, 'E1-B');
    expect(run.need('lel-25').entrant).toBe('E1-A');
    expect(run.views()[0]?.entrant).toBe('E1-A');
  });
  test('handing back ends no alarm', () => {
    const run = wornIn('hot');
    run.packet(3, { readings: lel(30), status: { motion: 'down' } });
    run.assign(4, null);
    expect(run.stateOf('lel-25')).toBe('unacknowledged');
    expect(run.stateOf('down')).toBe('unacknowledged');
  });
  test('nobody of that name is refused', () => {
    expect(createRun().zone(1, 'hot')).toMatchObject({ status: 'refused', code: 'no-such-entrant' });
  });
});

describe('a test of horn and lights', () => {
  test('60 s at most, and not in the hot zone', () => {
    const run = wornIn('warm');
    run.every(3, 63, { test: true, readings: o2(20.9) });
    expect(run.cell('o2').reasons).toMatchObject([{ code: 'test' }]);
    run.packet(64, { test: true, readings: o2(20.9) });
    expect(run.cell('o2').standing).toBe('good');
    const hot = wornIn('hot');
    hot.packet(3, { test: true, readings: o2(20.9) });
    expect(hot.cell('o2').standing).toBe('good');
  });
  test('ends with the first packet that does not say so', () => {
    const run = wornIn('warm');
    run.packet(3, { test: true, readings: o2(20.9) });
    run.packet(4, { readings: o2(20.9) });
    expect(run.cell('o2').standing).toBe('good');
  });
});
