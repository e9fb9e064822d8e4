import { describe, expect, test } from 'vitest';
import { checkTable } from '../../shared/alarm/check-table.ts';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import type { SetPoint, SetPointTable } from '../../shared/alarm/set-point.ts';
import { tableFromText, tableToText } from '../../shared/alarm/table-text.ts';
import { previewTable } from '../../shared/incident/adopt-table.ts';
import { encodeState } from '../../shared/incident/state-codec.ts';
import { alarmEvents, co, createRun, lel, o2 } from './fold-run.ts';

type Run = ReturnType<typeof createRun>;

/** The default table with set-points changed by id; null takes one out. */
function tableWith(changes: Record<string, Partial<SetPoint> | null>, added: SetPoint[] = []): SetPointTable {
  const setPoints = DEFAULT_TABLE.setPoints.flatMap((point) => {
    const change = changes[point.id];
    return change === null ? [] : [{ ...point, ...change }];
  });
  return { ...DEFAULT_TABLE, name: 'County', version: 2, setPoints: [...setPoints, ...added] };
}
const adopt = (run: Run, at: number, table: SetPointTable) => run.command(at, { type: 'set-points-adopt', table });
function pointLike(id: string, change: Partial<SetPoint>): SetPoint {
  const point = DEFAULT_TABLE.setPoints.find((one) => one.id === id);
  if (point === undefined) throw new Error(id);
  return { ...point, ...change };
}

describe('checking a table', () => {
  test('the starting points have no error and no warning', () => {
    expect(checkTable(DEFAULT_TABLE)).toEqual([]);
  });
  test.each<[string, SetPointTable, string, string]>([
    ['a caution above the danger', tableWith({ 'co-35': { value: 250 } }), 'caution-above-danger', 'value'],
    ['another unit than the channel has', tableWith({ 'voc-1': { unit: 'ppb' } }), 'wrong-unit', 'unit'],
    ['a multiple with a unit', tableWith({ 'gamma-3x': { unit: 'uR/h' } }), 'wrong-unit', 'unit'],
    [
      'a deadband that reaches the next level',
      tableWith({ 'lel-25': { deadband: 15 } }),
      'deadband-too-wide',
      'deadband',
    ],
    [
      'a deadband from which nothing returns',
      tableWith({ 'lel-10': { deadband: 10 } }),
      'deadband-too-wide',
      'deadband',
    ],
    [
      'low oxygen that would return above 20.9',
      tableWith({ 'o2-low': { deadband: 1.5 } }),
      'deadband-too-wide',
      'deadband',
    ],
    ['an id twice', tableWith({}, [pointLike('co-35', { value: 50 })]), 'duplicate-id', 'id'],
    ['a name of the post', tableWith({ 'co-35': { id: 'over-range' } }), 'reserved-id', 'id'],
    ['no source', tableWith({ 'co-35': { source: ' ' } }), 'no-source', 'source'],
    ['a delay on IDLH', tableWith({ 'co-idlh': { onDelayMs: 1 } }), 'protected-delayed', 'onDelayMs'],
    ['IDLH as a caution', tableWith({ 'co-idlh': { priority: 'caution' } }), 'protected-not-danger', 'priority'],
    [
      'an average of oxygen',
      tableWith({}, [pointLike('o2-low', { id: 'o2-twa', compare: 'twa' })]),
      'wrong-kind',
      'compare',
    ],
    ['no combustible danger', tableWith({ 'lel-25': null }), 'protected-missing', ''],
    ['combustible danger later', tableWith({ 'lel-25': { value: 26 } }), 'protected-missing', ''],
    ['combustible danger only above 25', tableWith({ 'lel-25': { direction: '>' } }), 'protected-missing', ''],
    ['combustible danger unprotected', tableWith({ 'lel-25': { protected: false } }), 'protected-weakened', ''],
    ['no IDLH of hydrogen sulfide', tableWith({ 'h2s-idlh': { value: 101 } }), 'protected-weakened', ''],
    ['10 R/h unprotected', tableWith({ 'gamma-10r': { protected: false } }), 'protected-weakened', ''],
  ])('%s', (_, table, code, field) => {
    const found = checkTable(table).filter((problem) => problem.code === code && problem.severity === 'error');
    expect(found.length).toBeGreaterThan(0);
    expect(found[0]?.path).toMatch(field === '' ? /^setPoints$/ : new RegExp(`^setPoints\\.\\d+\\.${field}$`));
    expect(adopt(createRun(), 1, table)).toMatchObject({ status: 'refused', code: 'table-invalid' });
  });
  test('a channel that nobody knows, and one that nothing watches, are warnings', () => {
    const table = tableWith({ 'voc-1': null, 'voc-5': null }, [pointLike('co-35', { id: 'nh3-25', channel: 'nh3' })]);
    expect(checkTable(table).map((problem) => [problem.code, problem.severity])).toEqual([
      ['unknown-channel', 'warning'],
      ['channel-without-set-point', 'warning'],
    ]);
    expect(adopt(createRun(), 1, table)).toMatchObject({ status: 'done' });
  });
  test('earlier levels than asked for are fine', () => {
    expect(checkTable(tableWith({ 'lel-25': { value: 20 }, 'lel-10': { value: 5 } }))).toEqual([]);
  });
});

describe('a table as text', () => {
  test('comes back as it was', () => {
    const read = tableFromText(tableToText(DEFAULT_TABLE));
    expect(read).toEqual({ ok: true, table: DEFAULT_TABLE, problems: [] });
  });
  test.each([
    ['no JSON', '{', 'not-json'],
    ['no table', '{"name":"x"}', 'not-a-table'],
    ['a wrong unit', tableToText(DEFAULT_TABLE).replace('"%vol"', '"percent"'), 'not-a-table'],
    ['a table with an error', tableToText(tableWith({ 'lel-25': null })), 'protected-missing'],
  ])('%s', (_, text, code) => {
    const read = tableFromText(text);
    expect(read.ok).toBe(false);
    expect(read.problems.map((problem) => problem.code)).toContain(code);
  });
});

describe('adopting', () => {
  test('says who, and the table counts as reviewed from then on', () => {
    const run = createRun();
    adopt(run, 1, tableWith({}));
    expect(run.state.table).toMatchObject({ name: 'County', version: 2, reviewedBy: 'safety' });
    expect(run.events.at(-1)).toMatchObject({ change: 'set-points', by: 'safety' });
  });
  test('everything present is judged at once', () => {
    const run = createRun();
    run.read(1, { ...co(20), ...lel(6) });
    adopt(run, 2, tableWith({ 'co-35': { value: 18 }, 'lel-10': { value: 5 } }));
    expect(run.need('co-35')).toMatchObject({ condition: true, words: 'carbon monoxide 20 ppm' });
    expect(run.stateOf('lel-10')).toBe('unacknowledged');
    expect(run.monitor().channels.get('lel')?.phases).toEqual([1, 0]);
  });
  test('an alarm whose set-point went stays, is over, and asks to be answered again', () => {
    const run = createRun();
    run.read(1, co(40));
    run.acknowledge(2, run.need('co-35'));
    adopt(run, 3, tableWith({ 'co-35': null }));
    expect(run.stateOf('co-35')).toBe('returned-unacknowledged');
    expect(run.need('co-35').words).toBe('carbon monoxide 40 ppm (its set-point is gone from the table)');
    run.every(4, 30, { readings: co(40) });
    expect(run.stateOf('co-35')).toBe('returned-unacknowledged');
    run.acknowledge(31, run.need('co-35'));
    expect(run.stateOf('co-35')).toBe('normal');
  });
  test('one whose level was raised above the reading as well, and says the new level', () => {
    const run = createRun();
    run.read(1, co(40));
    adopt(run, 3, tableWith({ 'co-35': { value: 60 } }));
    expect(run.stateOf('co-35')).toBe('returned-unacknowledged');
    expect(run.need('co-35').words).toMatch(/its set-point is now at or over 60 ppm/);
    run.read(4, co(61));
    expect(run.stateOf('co-35')).toBe('unacknowledged');
  });
  test('one whose level changed and is still met comes up again', () => {
    const run = createRun();
    run.read(1, co(40));
    run.acknowledge(2, run.need('co-35'));
    adopt(run, 3, tableWith({ 'co-35': { value: 30 } }));
    expect(run.stateOf('co-35')).toBe('unacknowledged');
    const mine = alarmEvents(run.events).filter((event) => event.setPoint === 'co-35');
    expect(mine.map((event) => event.change)).toEqual(['raised', 'acknowledged', 'set-point-changed', 'again']);
  });
  test('one that did not change goes on, also at another place in the table', () => {
    const run = createRun();
    run.read(1, { ...lel(30), ...co(40) });
    run.acknowledge(2, run.need('lel-25'));
    const table = tableWith({});
    adopt(run, 3, { ...table, setPoints: [...table.setPoints].reverse() });
    expect(run.stateOf('lel-25')).toBe('acknowledged');
    run.every(4, 12, { readings: { ...lel(0), ...co(40) } });
    expect(run.stateOf('lel-25')).toBe('normal');
    expect(run.stateOf('co-35')).toBe('unacknowledged');
  });
  test('one that is protected from now on comes off the shelf', () => {
    const run = createRun();
    run.read(1, co(300));
    run.command(2, { type: 'shelve', alarm: run.need('co-200').id, minutes: 30, reason: 'x' });
    expect(run.stateOf('co-200')).toBe('shelved');
    adopt(run, 3, tableWith({ 'co-200': { protected: true } }));
    expect(run.stateOf('co-200')).toBe('unacknowledged');
  });
  test('under range, silent and old: the newest known value is judged as well', () => {
    const run = createRun();
    run.packet(1, { readings: { o2: { flag: 'under-range' }, ...co(20) } });
    run.advance(100);
    adopt(run, 101, tableWith({ 'co-35': { value: 15, deadband: 1 }, 'o2-low': { value: 19.4 } }));
    expect(run.stateOf('co-35')).toBe('unacknowledged');
    expect(run.need('o2-low').condition).toBe(true);
  });
  test('two covers: an off-delay that runs for a set-point which is gone ends nothing', () => {
    const run = createRun();
    run.read(1, co(40));
    run.read(2, co(0));
    adopt(run, 3, tableWith({ 'co-35': null }));
    run.every(4, 10, { readings: co(0) });
    expect(run.stateOf('co-35')).toBe('returned-unacknowledged');
    expect([...run.state.deadlines.byKey.keys()].filter((key) => key.startsWith('off'))).toEqual([]);
  });
});

describe('before adopting', () => {
  test('shows what would alarm and which alarms would end, and changes nothing', () => {
    const run = createRun();
    run.read(1, { ...co(40), ...lel(6) });
    const before = encodeState(run.state, { withSeries: true });
    const preview = previewTable(run.state, tableWith({ 'co-35': null, 'lel-10': { value: 5 } }));
    expect(preview.alarms).toEqual([
      {
        monitor: 'M-1',
        entrant: null,
        channel: 'lel',
        setPoint: 'lel-10',
        priority: 'caution',
        words: '6 %LEL: at or over 5 %LEL',
        stands: false,
      },
    ]);
    expect(preview.ending).toEqual([{ alarm: 'M-1~co~co-35~1', monitor: 'M-1', words: 'carbon monoxide 40 ppm' }]);
    expect(encodeState(run.state, { withSeries: true })).toBe(before);
  });
});

describe('on-delay', () => {
  const delayed = tableWith({ 'co-35': { onDelayMs: 3000 } });
  test('the condition has to go on for it', () => {
    const run = createRun(delayed);
    run.every(1, 3, { readings: co(40) });
    run.read(3.5, co(0));
    run.every(5, 7, { readings: co(40) });
    run.advance(7.999);
    expect(run.stateOf('co-35')).toBe('normal');
    run.advance(8);
    expect(run.need('co-35')).toMatchObject({ condition: true, value: 40 });
  });
  test('silence or a fault within it does not take it back', () => {
    const run = createRun(delayed);
    run.read(1, co(40));
    run.packet(2, { readings: { co: { flag: 'fault' } } });
    run.advance(4);
    expect(run.stateOf('co-35')).toBe('unacknowledged');
  });
});

describe('a rise a minute', () => {
  const rising = pointLike('co-35', { id: 'co-rise', compare: 'rise-per-minute', value: 10, deadband: 2 });
  test('is compared once there is enough to tell, and returns when it is flat', () => {
    const run = createRun(tableWith({}, [rising]));
    for (let at = 1; at <= 9; at += 1) run.read(at, co(at / 3));
    expect(run.stateOf('co-rise')).toBe('normal'); // 20 a minute, but not ten seconds yet
    for (let at = 10; at <= 20; at += 1) run.read(at, co(at / 3));
    expect(run.stateOf('co-rise')).toBe('unacknowledged');
    run.every(21, 100, { readings: co(7) });
    expect(run.stateOf('co-rise')).toBe('returned-unacknowledged');
    expect(run.stateOf('co-35')).toBe('normal');
  });
});

test('oxygen is judged by the new table on both sides', () => {
  const run = createRun();
  run.read(1, o2(20.6));
  expect(run.listed()).toEqual([]);
  adopt(run, 2, tableWith({ 'o2-off-background': { value: 0.2, deadband: 0.1 } }));
  expect(run.stateOf('o2-off-background')).toBe('unacknowledged');
});
