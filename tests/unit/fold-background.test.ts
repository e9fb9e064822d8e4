import { describe, expect, test } from 'vitest';
import type { StaffAct } from '../../shared/incident/records.ts';
import { co, createRun, lel, o2 } from './fold-run.ts';

type Run = ReturnType<typeof createRun>;
type Act = Omit<Extract<StaffAct, { type: 'background' }>, 'type'>;
const voc = (ppb: number) => ({ voc: { value: ppb, unit: 'ppb' } });
const gamma = (value: number) => ({ gamma: { value, unit: 'uR/h' } });
const take = (run: Run, at: number, act: Act) => run.command(at, { type: 'background', ...act });
const fresh = { ...o2(20.9), ...lel(0), ...co(0), ...voc(100), ...gamma(8) };

describe('a background that was taken', () => {
  test('a vehicle bay at 100 ppb does not alarm, nor 950 above it; 1,000 above it does', () => {
    const run = createRun();
    run.read(1, fresh);
    expect(run.listed()).toEqual([]);
    expect(run.cell('voc').background).toEqual({ value: 0, assumed: true });
    expect(take(run, 2, { scope: 'M-1', take: true })).toMatchObject({ status: 'done' });
    expect(run.cell('voc').background).toMatchObject({ value: 0.1, assumed: false, by: 'safety' });
    expect(run.cell('voc').headroom).toBe(1);
    run.read(3, { ...fresh, ...voc(1050) });
    expect(run.stateOf('voc-1')).toBe('normal');
    run.read(4, { ...fresh, ...voc(1100) });
    expect(run.stateOf('voc-1')).toBe('unacknowledged');
  });
  test('three times a background of 8 is 24, and judged at once', () => {
    const run = createRun();
    run.read(1, { ...fresh, ...gamma(20) });
    expect(run.stateOf('gamma-3x')).toBe('normal');
    take(run, 2, { scope: 'M-1', channels: { gamma: { value: 0.05, unit: 'uSv/h' } } });
    expect(run.need('gamma-3x')).toMatchObject({ condition: true, value: 20 });
  });
  test('of the monitor before that of the site, before what is assumed', () => {
    const run = createRun();
    run.read(1, fresh);
    run.read(1.5, fresh, { monitor: 'M-2' });
    take(run, 2, { scope: 'site', channels: { gamma: { value: 12, unit: 'uR/h' } } });
    take(run, 3, { scope: 'M-1', channels: { gamma: { value: 9, unit: 'uR/h' } } });
    expect([run.cell('gamma').background?.value, run.cell('gamma', 'M-2').background?.value]).toEqual([9, 12]);
  });
  test('combustible and toxic gas are not read off the monitor as a background', () => {
    const run = createRun();
    run.read(1, { ...fresh, ...co(3) });
    take(run, 2, { scope: 'M-1', take: true });
    expect([...(run.state.backgrounds.get('M-1')?.keys() ?? [])]).toEqual(['o2', 'voc', 'gamma']);
  });
});

describe('is refused', () => {
  const refusals: [string, (run: Run) => void, Act, string][] = [
    [
      'above the ceiling',
      () => undefined,
      { scope: 'M-1', channels: { voc: { value: 1.1, unit: 'ppm' } } },
      'above-ceiling',
    ],
    [
      'gamma over 20',
      () => undefined,
      { scope: 'site', channels: { gamma: { value: 21, unit: 'uR/h' } } },
      'above-ceiling',
    ],
    [
      'oxygen over 21.4',
      () => undefined,
      { scope: 'M-1', channels: { o2: { value: 21.5, unit: '%vol' } } },
      'above-ceiling',
    ],
    [
      'oxygen under 20.4',
      () => undefined,
      { scope: 'M-1', channels: { o2: { value: 20.3, unit: '%vol' } } },
      'out-of-range',
    ],
    [
      'combustible gas',
      () => undefined,
      { scope: 'M-1', channels: { lel: { value: 5, unit: '%LEL' } } },
      'above-ceiling',
    ],
    [
      'past staging',
      (run) => {
        run.assign(1.1, 'E1-A');
        run.zone(1.2, 'warm');
      },
      { scope: 'M-1', take: true },
      'past-staging',
    ],
    ['another channel off normal', (run) => void run.read(1.5, lel(12)), { scope: 'M-1', take: true }, 'off-normal'],
    ['off an old reading', (run) => void run.advance(15), { scope: 'M-1', take: true }, 'stale'],
    ['off one in doubt', (run) => void run.status(1.5, { pump: 'off' }), { scope: 'M-1', take: true }, 'in-doubt'],
    ['a negative one', (run) => void run.read(1.5, voc(-100)), { scope: 'M-1', take: true }, 'out-of-range'],
  ];
  test.each(refusals)('%s, unless an officer says why', (_, set, act, code) => {
    const run = createRun();
    run.read(1, fresh);
    set(run);
    const at = code === 'stale' ? 20 : 2;
    expect(take(run, at, act)).toMatchObject({ status: 'refused', code });
    expect(run.state.backgrounds.size).toBe(0);
    expect(take(run, at + 1, { ...act, override: 'two monitors agree' })).toMatchObject({ status: 'done' });
    expect([...(run.state.backgrounds.get(act.scope)?.values() ?? [])].at(-1)).toMatchObject({
      by: 'safety',
      override: 'two monitors agree',
    });
    expect(run.events.some((event) => event.words.includes('two monitors agree'))).toBe(true);
  });
  test.each<[string, Act, string]>([
    ['another unit', { scope: 'M-1', channels: { voc: { value: 1, unit: 'R/h' } } }, 'wrong-unit'],
    ['gamma of 0', { scope: 'M-1', channels: { gamma: { value: 0, unit: 'uR/h' } } }, 'not-a-background'],
    ['a monitor never heard', { scope: 'M-9', take: true }, 'no-such-monitor'],
    ['the site off a monitor', { scope: 'site', take: true }, 'take-needs-monitor'],
    ['nothing at all', { scope: 'M-1', channels: {} }, 'nothing-to-take'],
  ])('%s, whatever an officer says', (_, act, code) => {
    const run = createRun();
    run.read(1, fresh);
    expect(take(run, 2, { ...act, override: 'x', confirm: true })).toMatchObject({ status: 'refused', code });
  });
});

describe('raising one', () => {
  test('shows first which alarms it would silence; confirmed, the alarm stays until a reading ends it', () => {
    const run = createRun();
    run.read(1, { ...fresh, ...gamma(24) });
    expect(run.stateOf('gamma-3x')).toBe('unacknowledged');
    const act: Act = { scope: 'M-1', channels: { gamma: { value: 12, unit: 'uR/h' } } };
    expect(take(run, 2, act)).toMatchObject({
      status: 'changed',
      code: 'would-silence',
      message: 'This would end: M-1: gamma 24 µR/h',
    });
    expect(run.cell('gamma').background?.assumed).toBe(true);
    expect(take(run, 3, { ...act, confirm: true })).toMatchObject({ status: 'done' });
    expect(run.stateOf('gamma-3x')).toBe('unacknowledged');
    run.every(4, 12, { readings: { ...fresh, ...gamma(24) } });
    expect(run.stateOf('gamma-3x')).toBe('returned-unacknowledged');
  });
});
