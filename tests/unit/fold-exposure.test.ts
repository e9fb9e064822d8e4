import { describe, expect, test } from 'vitest';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import type { SetPoint, SetPointTable } from '../../shared/alarm/set-point.ts';
import { boardHead } from '../../shared/incident/view.ts';
import { boardHead as boardHeadSchema } from '../../shared/protocol/board.ts';
import { co, createRun, START_US, type Wire } from './fold-run.ts';

type Run = ReturnType<typeof createRun>;
const interval = { status: { intervalMs: 20_000 } };

function summary(run: Run, name = 'E1-A') {
  const head = boardHead(run.state, { ok: true });
  expect(boardHeadSchema.parse(JSON.parse(JSON.stringify(head)))).toEqual(JSON.parse(JSON.stringify(head)));
  const found = head.people.find((person) => person.name === name)?.exposure;
  if (found === undefined) throw new Error(`nothing of ${name}`);
  return found;
}
const channelOf = (run: Run, channel: string, name?: string) =>
  summary(run, name).channels.find((one) => one.channel === channel);

/** A packet every 20 s over [from, to). */
function steady(run: Run, from: number, to: number, readings: Wire, monitor = 'M-1'): void {
  for (let at = from; at < to; at += 20) run.packet(at, { monitor, readings, ...interval });
}
function withPoint(change: Partial<SetPoint>): SetPointTable {
  const like = DEFAULT_TABLE.setPoints.find((point) => point.id === 'co-twa');
  if (like === undefined) throw new Error('no co-twa');
  return { ...DEFAULT_TABLE, setPoints: [...DEFAULT_TABLE.setPoints, { ...like, ...change }] };
}
const h = 3600;

describe('what a person took in', () => {
  test('trap 4: 3 h at 100 ppm is an 8-hour average of 37.5, not 100, and over the limit of 35 an alarm', () => {
    const run = createRun();
    run.packet(0.5, interval);
    run.assign(1, 'E1-A');
    steady(run, 1, 3 * h + 1, co(100));
    run.advance(3 * h + 1);
    const twa = channelOf(run, 'co')?.twa;
    expect(twa?.value).toBeCloseTo(37.5, 1);
    expect(twa).toMatchObject({ limit: 35 });
    expect(run.need('co-twa')).toMatchObject({ kind: 'exposure', entrant: 'E1-A', priority: 'caution' });
    expect(run.need('co-twa').words).toMatch(/^carbon monoxide 3\d(\.\d)? ppm, 8-hour average at or over 35 ppm/);
    // 2.8 h at 100 ppm are 35 ppm over 8 h.
    expect((run.need('co-twa').raisedAt - START_US) / 1e6).toBeGreaterThan(2.8 * h);
  });
  test('a change of monitor restarts nothing, and the next wearer of the first one starts at nothing', () => {
    const run = createRun();
    run.packet(0.5, interval);
    run.packet(0.6, { monitor: 'M-2', ...interval });
    run.assign(1, 'E1-A');
    steady(run, 1, 601, co(60));
    run.assign(601, 'E1-A', 'M-2');
    run.assign(601.5, 'E1-B', 'M-1');
    steady(run, 602, 1202, co(60), 'M-2');
    run.advance(1202);
    const mine = channelOf(run, 'co')?.twa?.value ?? 0;
    expect(mine).toBeCloseTo((60 * 1200) / (8 * h), 1);
    expect(summary(run, 'E1-B').channels.find((one) => one.channel === 'co')?.twa?.value ?? 0).toBeLessThan(0.1);
  });
  test('trap 7: a 15-minute average that is not full is a lower bound and says so', () => {
    const run = createRun(withPoint({ id: 'co-stel', compare: 'stel', value: 100 }));
    run.packet(0.5, interval);
    run.assign(1, 'E1-A');
    steady(run, 1, 301, co(60));
    run.advance(301);
    // 5 min at 60 over 15 min: 20, whatever comes before is not known.
    expect(channelOf(run, 'co')?.stel).toMatchObject({ partial: true, limit: 100 });
    expect(channelOf(run, 'co')?.stel?.value).toBeCloseTo(20, 0);
    expect(run.stateOf('co-stel')).toBe('normal');
  });
  test('a 15-minute average over its limit is an alarm and returns when the window has moved on', () => {
    const run = createRun(withPoint({ id: 'co-stel', compare: 'stel', value: 20, deadband: 2 }));
    run.packet(0.5, interval);
    run.assign(1, 'E1-A');
    steady(run, 1, 400, co(60));
    expect(run.stateOf('co-stel')).toBe('unacknowledged');
    expect(run.need('co-stel').words).toMatch(/a lower bound: \d+ of 15 min measured$/);
    steady(run, 401, 1400, co(0));
    expect(run.stateOf('co-stel')).toBe('returned-unacknowledged');
  });
  test('silence does not end one: a window with holes is a lower bound', () => {
    const run = createRun(withPoint({ id: 'co-stel', compare: 'stel', value: 20, deadband: 2 }));
    run.packet(0.5, interval);
    run.assign(1, 'E1-A');
    steady(run, 1, 400, co(60));
    run.advance(1600);
    expect(channelOf(run, 'co')?.stel?.value).toBe(0);
    expect(run.need('co-stel').condition).toBe(true);
    run.assign(1601, null);
    run.advance(1611);
    expect(run.stateOf('co-stel')).toBe('returned-unacknowledged');
  });
  test('dose: 600 mR/h for half an hour is 300 mR; 5 R are an alarm of danger', () => {
    const run = createRun();
    run.packet(0.5, interval);
    run.assign(1, 'E1-A');
    steady(run, 1, 1802, { gamma: { value: 600, unit: 'mR/h' } });
    run.advance(1802);
    expect(channelOf(run, 'gamma')?.dose?.value).toBeCloseTo(300, -1);
    expect(channelOf(run, 'gamma')?.dose?.limit).toBe(5000);
    // 4,700 mR left at 600 mR/h: 470 min.
    expect(summary(run).toLimit).toMatchObject({ channel: 'gamma', setPoint: 'dose-5r', governs: 'rate' });
    expect(summary(run).toLimit?.minutes).toBeCloseTo(470, -1);
    steady(run, 1802, 3700, { gamma: { value: 10, unit: 'R/h' } });
    expect(run.need('dose-5r')).toMatchObject({ priority: 'danger', entrant: 'E1-A', monitor: 'M-1' });
  });
  test('mixture: CO at half its limit and a second gas at six tenths are over 1 together', () => {
    const table = withPoint({ id: 'nh3-twa', channel: 'nh3', value: 25 });
    const mixed = { ...withPoint({ id: 'mix-1', channel: 'mixture', compare: 'mixture', value: 1, unit: 'x' }) };
    const run = createRun({ ...table, setPoints: [...table.setPoints, ...mixed.setPoints.slice(-1)] });
    run.packet(0.5, interval);
    run.assign(1, 'E1-A');
    // One hour at 8 × 17.5 ppm and 8 × 15 ppm: 0.5 + 0.6 of the limits (29 CFR 1910.1000(d)(2)).
    steady(run, 1, h + 22, { co: { value: 140, unit: 'ppm' }, nh3: { value: 120, unit: 'ppm' } });
    run.advance(h + 22);
    expect(summary(run).mixture?.value).toBeCloseTo(1.1, 1);
    expect(run.need('mix-1').words).toMatch(/^mixture 1(\.\d+)?, sum of the shares/);
  });
  test('over range is not in the sums, and makes them a lower bound', () => {
    const run = createRun();
    run.packet(0.5, interval);
    run.assign(1, 'E1-A');
    run.packet(2, { readings: co(10), ...interval });
    steady(run, 22, 100, { co: { flag: 'over-range' } });
    expect(channelOf(run, 'co')).toMatchObject({ twa: { partial: true } });
    expect(channelOf(run, 'co')?.overRangeMs).toBeGreaterThan(0);
  });
  test('is worked out every 10 s, not with every packet', () => {
    const run = createRun();
    run.packet(0.5);
    run.assign(1, 'E1-A');
    run.every(2, 60, { readings: co(1) });
    expect((summary(run).atMs - START_US / 1000) % 10_000).toBe(0);
  });
  test('nobody wears anything: nothing is worked out', () => {
    const run = createRun();
    run.every(1, 60, { readings: co(1) });
    expect([...run.state.deadlines.byKey.keys()].some((key) => key.startsWith('exposure'))).toBe(false);
  });
});

test('the starting points hold sums only against what a source names', () => {
  const sums = DEFAULT_TABLE.setPoints.filter((point) => ['stel', 'twa', 'dose', 'mixture'].includes(point.compare));
  expect(sums.map((point) => [point.id, point.value, point.unit, point.sourceTag])).toEqual([
    ['co-twa', 35, 'ppm', 'seen'],
    ['dose-5r', 5_000, 'mR', 'seen-copy'],
    ['dose-10r', 10_000, 'mR', 'seen-copy'],
    ['dose-25r', 25_000, 'mR', 'seen-copy'],
  ]);
});
