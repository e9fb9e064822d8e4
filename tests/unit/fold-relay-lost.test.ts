import { describe, expect, test } from 'vitest';
import { alarmEvents, createRun, o2, told } from './fold-run.ts';

type Run = ReturnType<typeof createRun>;
const MONITORS = ['M-1', 'M-2', 'M-3'];

/** Three wearers whose monitors one relay hears every second until `until`. */
function heardUntil(until: number, zones: readonly ('cold' | 'warm' | 'hot')[]): Run {
  const run = createRun();
  for (const [i, monitor] of MONITORS.entries()) {
    run.packet(0.1 + i / 10, { monitor });
    run.assign(0.5 + i / 10, `E1-${i}`, monitor);
    run.zone(0.8 + i / 100, zones[i] ?? 'cold', `E1-${i}`);
  }
  for (let at = 1; at <= until; at += 1) {
    for (const [i, monitor] of MONITORS.entries()) run.packet(at + i / 10, { monitor, readings: o2(20.9) });
  }
  return run;
}
const relayAlarm = (run: Run) => run.need('relay-lost', '');

describe('a relay that falls silent as a whole', () => {
  test('is one alarm that names each wearer; the silence of each is suppressed meanwhile', () => {
    const run = heardUntil(5, ['warm', 'warm', 'cold']);
    run.advance(15.25);
    expect(relayAlarm(run)).toMatchObject({
      condition: true,
      priority: 'caution',
      words: 'relay relay-1 is silent as a whole: E1-0 (M-1), E1-1 (M-2), E1-2 (M-3)',
    });
    expect(run.views().find((view) => view.kind === 'relay-lost')).toMatchObject({ relay: 'relay-1', monitor: '' });
    run.advance(36);
    for (const monitor of MONITORS) expect(run.stateOf('silent', monitor)).toBe('suppressed');
    const waiting = run.views().filter((view) => view.state === 'unacknowledged');
    expect(waiting.map((view) => view.kind)).toEqual(['relay-lost']);
  });
  test('silence in the hot zone is never suppressed: each of these stands beside it, and it is danger', () => {
    const run = heardUntil(5, ['hot', 'warm', 'cold']);
    run.advance(15.25);
    expect(relayAlarm(run).priority).toBe('danger');
    expect(run.stateOf('silent', 'M-1')).toBe('unacknowledged');
    expect(run.stateOf('silent', 'M-2')).toBe('suppressed');
    run.zone(16, 'hot', 'E1-1');
    expect(run.stateOf('silent', 'M-2')).toBe('unacknowledged');
  });
  test('15 s after its return it splits into one each for whoever is silent still', () => {
    const run = heardUntil(5, ['warm', 'warm', 'warm']);
    run.advance(20);
    run.every(21, 35, { monitor: 'M-1', readings: o2(20.9) });
    run.advance(35.999);
    expect(relayAlarm(run).condition).toBe(true);
    run.advance(36);
    expect(run.stateOf('relay-lost', '')).toBe('returned-unacknowledged');
    expect(run.stateOf('silent', 'M-1')).toBe('normal');
    expect(run.stateOf('silent', 'M-2')).toBe('unacknowledged');
    expect(run.stateOf('silent', 'M-3')).toBe('unacknowledged');
  });
  test('all back in time: the relay alone has to be answered', () => {
    const run = heardUntil(5, ['warm', 'warm', 'warm']);
    run.advance(20);
    for (let at = 21; at < 40; at += 1) {
      for (const [i, monitor] of MONITORS.entries()) run.packet(at + i / 10, { monitor, readings: o2(20.9) });
    }
    expect(run.views().map((view) => [view.kind, view.state])).toEqual([['relay-lost', 'returned-unacknowledged']]);
  });
  test('back for a moment and gone again: the alarm goes on', () => {
    const run = heardUntil(5, ['warm', 'warm', 'warm']);
    run.advance(20);
    run.packet(21, { monitor: 'M-1' });
    run.advance(60);
    expect(relayAlarm(run).condition).toBe(true);
    expect(run.stateOf('silent', 'M-1')).toBe('suppressed');
  });
  test('not while one of them is heard', () => {
    const run = heardUntil(5, ['warm', 'warm', 'warm']);
    run.every(6, 40, { monitor: 'M-3' });
    expect(run.alarm('relay-lost', '')).toBeUndefined();
    expect(run.stateOf('silent', 'M-1')).toBe('unacknowledged');
  });
  test('it ends when another relay hears all but one of them', () => {
    const run = heardUntil(5, ['warm', 'warm', 'warm']);
    for (let at = 6; at <= 40; at += 1) run.packet(at, { monitor: 'M-3' }, 'relay-2');
    expect(relayAlarm(run).words).toBe('relay relay-1 is silent as a whole: E1-0 (M-1), E1-1 (M-2)');
    for (let at = 41; at <= 57; at += 1) run.packet(at, { monitor: 'M-2' }, 'relay-2');
    expect(relayAlarm(run).condition).toBe(false);
    expect(run.stateOf('silent', 'M-1')).toBe('unacknowledged');
  });
  test('the post that was down says nothing of the relay', () => {
    const run = heardUntil(5, ['warm', 'warm', 'warm']);
    run.gap(6, 26);
    expect(run.alarm('relay-lost', '')).toBeUndefined();
    expect(run.stateOf('silent', 'M-1')).toBe('unacknowledged');
    run.advance(60);
    expect(relayAlarm(run).condition).toBe(true);
  });
  test('one monitor alone is no relay', () => {
    const run = createRun();
    run.packet(1);
    run.advance(60);
    expect(told(alarmEvents(run.events))).toEqual(['31 raised silent']);
  });
});
