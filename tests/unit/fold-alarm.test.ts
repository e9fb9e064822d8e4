import { describe, expect, test } from 'vitest';
import { alarmEvents, co, createRun, lel, o2, told } from './fold-run.ts';

// States and transitions by IEC 62682 / ISA-18.2 as publicly restated (OPC UA part 9 for latching): see the module.

type Run = ReturnType<typeof createRun>;
/** A run with CO in caution since second 1. */
function inCaution(): Run {
  const run = createRun();
  run.read(1, co(40));
  return run;
}
/** Back below the deadband for the whole off-delay of 5 s. */
function comeBack(run: Run, from: number): void {
  run.every(from, from + 6, { readings: co(0) });
}

describe('transitions of an alarm that does not latch', () => {
  test('normal to unacknowledged when the condition comes up', () => {
    expect(inCaution().stateOf('co-35')).toBe('unacknowledged');
  });
  test('unacknowledged to acknowledged: the condition goes on', () => {
    const run = inCaution();
    expect(run.acknowledge(2, run.need('co-35'))).toMatchObject({ status: 'done' });
    expect(run.stateOf('co-35')).toBe('acknowledged');
    expect(run.need('co-35').condition).toBe(true);
    run.every(3, 60, { readings: co(40) });
    expect(run.stateOf('co-35')).toBe('acknowledged');
  });
  test('unacknowledged to returned, which stays on the list until it is answered', () => {
    const run = inCaution();
    comeBack(run, 2);
    run.every(10, 200, { readings: co(0) });
    expect(run.stateOf('co-35')).toBe('returned-unacknowledged');
  });
  test('acknowledged to normal when the condition ends', () => {
    const run = inCaution();
    run.acknowledge(2, run.need('co-35'));
    comeBack(run, 3);
    expect(run.stateOf('co-35')).toBe('normal');
    expect(told(alarmEvents(run.events)).at(-1)).toBe('8 cleared co-35');
  });
  test('returned to normal by the answer', () => {
    const run = inCaution();
    comeBack(run, 2);
    expect(run.acknowledge(10, run.need('co-35'))).toMatchObject({ status: 'done' });
    expect(run.stateOf('co-35')).toBe('normal');
  });
  test('returned to unacknowledged when it comes up again: another occurrence', () => {
    const run = inCaution();
    comeBack(run, 2);
    const before = run.need('co-35').occurrence;
    run.read(10, co(41));
    expect(run.stateOf('co-35')).toBe('unacknowledged');
    expect(run.need('co-35').occurrence).toBe(before + 1);
    expect(run.views()[0]).toMatchObject({ since: '2026-05-14T13:00:10.000Z', words: 'carbon monoxide 41 ppm' });
  });
  test('raised anew after it was normal: never the id of an earlier one', () => {
    const run = inCaution();
    const first = run.need('co-35').id;
    comeBack(run, 2);
    run.read(10, co(41));
    run.acknowledge(11, run.need('co-35'));
    comeBack(run, 12);
    run.read(20, co(41));
    expect(run.need('co-35').id).not.toBe(first);
    expect(run.need('co-35').id).toBe('M-1~co~co-35~3');
  });
  test('there is nothing to reset', () => {
    const run = inCaution();
    expect(run.reset(2, run.need('co-35'))).toMatchObject({ status: 'refused', code: 'not-latched' });
  });
});

describe('transitions of a latched alarm', () => {
  const overRange = { readings: { lel: { flag: 'over-range' } } };
  test('unacknowledged, latched-unacknowledged, latched-acknowledged, normal', () => {
    const run = createRun();
    run.packet(1, overRange);
    expect(run.stateOf('over-range')).toBe('unacknowledged');
    run.read(2, lel(0));
    expect(run.stateOf('over-range')).toBe('latched-unacknowledged');
    expect(run.reset(3, run.need('over-range'))).toMatchObject({ status: 'refused', code: 'not-acknowledged' });
    run.acknowledge(4, run.need('over-range'));
    expect(run.stateOf('over-range')).toBe('latched-acknowledged');
    expect(run.reset(5, run.need('over-range'))).toMatchObject({ status: 'done' });
    expect(run.stateOf('over-range')).toBe('normal');
    expect(alarmEvents(run.events).at(-1)).toMatchObject({ change: 'reset', state: 'normal', by: 'safety' });
  });
  test('a reset is refused while the condition holds, acknowledged or not', () => {
    const run = createRun();
    run.packet(1, overRange);
    expect(run.reset(2, run.need('over-range'))).toMatchObject({ status: 'refused', code: 'condition-holds' });
    run.acknowledge(3, run.need('over-range'));
    expect(run.reset(4, run.need('over-range'))).toMatchObject({ status: 'refused', code: 'condition-holds' });
    expect(run.stateOf('over-range')).toBe('acknowledged');
  });
  test('acknowledged, then back: stays until it is reset', () => {
    const run = createRun();
    run.packet(1, overRange);
    run.acknowledge(2, run.need('over-range'));
    run.every(3, 100, { readings: lel(0) });
    expect(run.stateOf('over-range')).toBe('latched-acknowledged');
  });
  test('up again while latched and answered: asks again', () => {
    const run = createRun();
    run.packet(1, overRange);
    run.acknowledge(2, run.need('over-range'));
    run.read(3, lel(0));
    run.packet(4, overRange);
    expect(run.stateOf('over-range')).toBe('unacknowledged');
  });
  test.each([
    ['a fault', { readings: { lel: { flag: 'fault' } } }],
    ['something not understood', { readings: { lel: 3 } }],
    ['nothing of that channel', { readings: o2(20.9) }],
  ])('%s after over-range is no number: the condition goes on', (_, wire) => {
    const run = createRun();
    run.packet(1, overRange);
    run.packet(2, wire);
    expect(run.stateOf('over-range')).toBe('unacknowledged');
  });
  test('trap 13: over-range has no value and no headroom, and is danger by itself', () => {
    const run = createRun();
    run.packet(1, { readings: { lel: { value: 100, unit: '%LEL', flag: 'over-range' } } });
    expect(run.cell('lel')).toMatchObject({ value: null, headroom: null, flag: 'over-range', level: 'danger' });
    expect(run.need('over-range').priority).toBe('danger');
  });
});

describe('acknowledging what the screen had drawn', () => {
  test('changed: it came up again since', () => {
    const run = inCaution();
    const { id, occurrence } = run.need('co-35');
    const seenCursor = run.state.cursor;
    comeBack(run, 2);
    run.read(10, co(41));
    const answer = run.command(11, { type: 'acknowledge', alarm: id, occurrence, seenCursor });
    expect(answer).toMatchObject({ status: 'changed' });
    expect(run.stateOf('co-35')).toBe('unacknowledged');
  });
  test('changed: it got worse since, and says what it is now', () => {
    const run = inCaution();
    const seen = run.state.cursor;
    run.read(2, co(90));
    expect(run.acknowledge(3, run.need('co-35'), 'safety', seen)).toMatchObject({
      status: 'changed',
      message: expect.stringContaining('90 ppm'),
    });
    expect(run.acknowledge(4, run.need('co-35'), 'safety', seen + 1)).toMatchObject({ status: 'done' });
  });
  test('not changed by noise within the deadband', () => {
    const run = inCaution();
    const seen = run.state.cursor;
    run.read(2, co(42));
    expect(run.acknowledge(3, run.need('co-35'), 'safety', seen)).toMatchObject({ status: 'done' });
  });
  test('already: says who was first, and when', () => {
    const run = inCaution();
    run.acknowledge(2, run.need('co-35'), 'chief');
    expect(run.acknowledge(3, run.need('co-35'), 'safety')).toMatchObject({
      status: 'already',
      by: 'chief',
      at: '2026-05-14T13:00:02.000Z',
    });
  });
  test('already, where the first answer let it leave the list', () => {
    const run = inCaution();
    comeBack(run, 2);
    const alarm = run.need('co-35');
    run.acknowledge(10, alarm, 'chief');
    expect(run.stateOf('co-35')).toBe('normal');
    expect(run.acknowledge(11, alarm, 'safety')).toMatchObject({ status: 'already', by: 'chief' });
  });
  test('an alarm that never was is refused', () => {
    const run = createRun();
    const act = { type: 'acknowledge', alarm: 'M-1~co~co-35~1', occurrence: 1, seenCursor: 9 } as const;
    expect(run.command(1, act)).toMatchObject({ status: 'refused', code: 'no-such-alarm' });
    expect(run.command(2, { type: 'reset', alarm: 'x' })).toMatchObject({ code: 'no-such-alarm' });
  });
  test('the same command id is done once, also with other content', () => {
    const run = inCaution();
    const { id, occurrence } = run.need('co-35');
    const act = { type: 'acknowledge', alarm: id, occurrence, seenCursor: run.state.cursor } as const;
    const first = run.command(2, act, 'safety', 'same');
    const before = run.events.length;
    expect(run.command(3, act, 'safety', 'same')).toEqual(first);
    expect(run.command(4, { type: 'note', text: 'x' }, 'safety', 'same')).toEqual(first);
    expect(run.events.length).toBe(before);
  });
  test('a decision is in the event', () => {
    const run = inCaution();
    const { id, occurrence } = run.need('co-35');
    const act = {
      type: 'acknowledge',
      alarm: id,
      occurrence,
      seenCursor: run.state.cursor,
      decision: 'go on',
    } as const;
    run.command(2, act);
    expect(alarmEvents(run.events).at(-1)).toMatchObject({ by: 'safety', decision: 'go on' });
  });
});

describe('deadband and off-delay', () => {
  test('on at the level, off only below level minus deadband, for the whole 5 s', () => {
    const run = createRun();
    run.read(1, co(35));
    run.every(2, 60, { readings: co(32) }); // within the deadband of 3: still on
    expect(run.stateOf('co-35')).toBe('unacknowledged');
    run.every(61, 65, { readings: co(31.9) });
    expect(run.stateOf('co-35')).toBe('unacknowledged');
    run.read(66.1, co(31.9));
    expect(run.stateOf('co-35')).toBe('returned-unacknowledged');
    expect(alarmEvents(run.events).at(-1)?.at).toBe((Date.UTC(2026, 4, 14, 13, 0, 66) * 1000) as number);
  });
  test('trap 15: the deadband of low oxygen lies above the level', () => {
    const run = createRun();
    run.read(1, o2(19.4));
    run.every(2, 20, { readings: o2(19.7) });
    expect(run.stateOf('o2-low')).toBe('unacknowledged');
    run.every(21, 27, { readings: o2(19.8) });
    expect(run.stateOf('o2-low')).toBe('returned-unacknowledged');
  });
  test.each([
    ['a value in the deadband', { readings: co(33) }],
    ['a value over the level', { readings: co(50) }],
    ['a fault', { readings: { co: { flag: 'fault' } } }],
    ['something not understood', { readings: { co: { value: 'low', unit: 'ppm' } } }],
  ])('%s within the off-delay starts it anew', (_, wire) => {
    const run = createRun();
    run.read(1, co(40));
    run.read(2, co(0));
    run.read(3, co(0));
    run.packet(4, wire);
    run.advance(8);
    expect(run.stateOf('co-35')).toBe('unacknowledged');
    run.every(9, 15, { readings: co(0) });
    expect(run.stateOf('co-35')).toBe('returned-unacknowledged');
  });
  test('noise at the level does not chatter', () => {
    const run = createRun();
    for (let at = 1; at < 120; at += 1) run.read(at, co(at % 2 === 0 ? 34 : 36));
    // Nobody answers, so it sounds again after a minute; it never came and went.
    expect(alarmEvents(run.events).map((event) => event.change)).toEqual(['raised', 'sounds-again']);
  });
});

describe('how bad it was', () => {
  test('the worst value is the worst, also where it crept up within the deadband', () => {
    const run = createRun();
    for (const [i, value] of [26, 27, 27.9, 26.5].entries()) run.read(i + 1, lel(value));
    expect(run.views().find((view) => view.setPoint?.id === 'lel-25')).toMatchObject({ value: 26.5, worst: 27.9 });
  });
  test('for low oxygen the worst is the least', () => {
    const run = createRun();
    for (const [i, value] of [19.4, 18.2, 19.1].entries()) run.read(i + 1, o2(value));
    expect(run.need('o2-low')).toMatchObject({ value: 19.1, worst: 18.2 });
  });
  test('worse in a new occurrence is told, although the first was worse still', () => {
    const run = createRun();
    run.read(1, lel(24));
    run.every(2, 9, { readings: lel(0) });
    run.read(10, lel(11));
    run.read(11, lel(20));
    expect(told(alarmEvents(run.events))).toEqual([
      '1 raised lel-10',
      '7 returned lel-10',
      '10 again lel-10',
      '11 worse lel-10',
    ]);
    expect(run.need('lel-10')).toMatchObject({ worst: 24, words: 'combustible 20 %LEL' });
  });
  test('under-range oxygen is worse than any number, and the number after it is no worse', () => {
    const run = createRun();
    run.read(1, o2(18));
    run.packet(2, { readings: { o2: { flag: 'under-range' } } });
    expect(alarmEvents(run.events).at(-1)).toMatchObject({ change: 'worse', words: 'oxygen under range' });
    run.read(3, o2(17));
    const low = alarmEvents(run.events).filter((event) => event.setPoint === 'o2-low');
    expect(low.map((event) => event.change)).toEqual(['raised', 'worse']);
    expect(run.need('o2-low')).toMatchObject({ condition: true, words: 'oxygen 17.0 %vol' });
  });
  test('under-range oxygen raises by itself', () => {
    const run = createRun();
    run.packet(1, { readings: { o2: { flag: 'under-range' } } });
    expect(run.need('o2-low')).toMatchObject({ condition: true, priority: 'danger', words: 'oxygen under range' });
    expect(run.cell('o2')).toMatchObject({ value: null, level: 'danger' });
    run.every(2, 9, { readings: o2(20.9) });
    expect(run.stateOf('o2-low')).toBe('returned-unacknowledged');
  });
  test('the first-out is marked until it is answered', () => {
    const run = createRun();
    run.read(1, lel(12));
    run.read(2, { ...lel(12), ...co(40) });
    expect(run.views().map((view) => [view.setPoint?.id, view.firstOut])).toEqual([
      ['lel-10', true],
      ['co-35', false],
    ]);
  });
  test('danger stands before caution, oldest first within', () => {
    const run = createRun();
    run.read(1, co(40));
    run.read(2, { ...co(40), ...lel(30) });
    run.read(3, { ...co(40), ...lel(30), ...o2(18) });
    expect(run.views().map((view) => view.setPoint?.id)).toEqual([
      'lel-25',
      'o2-low',
      'co-35',
      'lel-10',
      'o2-off-background',
    ]);
  });
});
