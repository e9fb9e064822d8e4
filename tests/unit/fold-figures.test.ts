import { describe, expect, test } from 'vitest';
import { boardHead } from '../../shared/incident/view.ts';
import { co, createRun } from './fold-run.ts';

type Run = ReturnType<typeof createRun>;
const figures = (run: Run) => boardHead(run.state, { ok: true }).figures;
const floods = (run: Run) =>
  run.events.flatMap((event) => (event.type === 'board' && event.change === 'flood' ? [event.to] : []));

/** One alarm of a monitor of its own, kept alive so that its silence is no further alarm. */
function alarms(run: Run, count: number, from: number, apartS: number): void {
  for (let i = 0; i < count; i += 1) {
    run.read(from + i * apartS, co(40), { monitor: `A-${from}-${i}`, status: { intervalMs: 3_600_000 } });
  }
}

// Flood: begins above 10 annunciated alarms in 10 minutes (ISA-18.2 as restated on probsee.com), ends below 5; from
// memory, to be verified. 10 in 600 s is none, the 11th is (arithmetic).
describe('an alarm flood', () => {
  test('10 in 600 s is none, the 11th is', () => {
    const run = createRun();
    alarms(run, 10, 1, 50);
    expect(figures(run)).toMatchObject({ last10Min: 10, flood: false });
    run.read(590, co(40), { monitor: 'A-x' });
    expect(figures(run)).toMatchObject({ last10Min: 11, flood: true });
  });
  test('11 in more than 600 s are none', () => {
    const run = createRun();
    alarms(run, 11, 1, 61);
    expect(floods(run)).toEqual([]);
  });
  test('ends by itself when fewer than 5 are left within ten minutes, and not before', () => {
    const run = createRun();
    alarms(run, 11, 1, 1);
    expect(floods(run)).toEqual(['begins']);
    for (const alarm of [...run.state.alarms.values()]) run.acknowledge(20, alarm);
    run.advance(606.999);
    expect(figures(run)?.flood).toBe(true);
    run.advance(607); // the fifth last came at second 7
    expect(figures(run)).toMatchObject({ last10Min: 4, flood: false });
    expect(floods(run)).toEqual(['begins', 'ends']);
  });
  test('what is shelved or suppressed does not sound, and is not counted', () => {
    const run = createRun();
    run.packet(1, { readings: co(40), test: true });
    expect(figures(run)?.last10Min).toBe(0);
    run.advance(62);
    expect(figures(run)?.last10Min).toBe(2); // it sounds now, and so does the silence
  });
});

// Chattering: 3 or more transitions within a minute (ISA-18.2, from memory, to be verified).
describe('chattering', () => {
  test('3 transitions within a minute, until the minute is over', () => {
    const run = createRun();
    run.read(1, co(40));
    run.every(2, 8, { readings: co(0) });
    expect(figures(run)?.chattering).toEqual([]);
    run.read(9, co(40));
    expect(figures(run)?.chattering).toEqual(['M-1~co~co-35~1']);
    run.every(10, 62, { readings: co(40) });
    expect(figures(run)?.chattering).toEqual([]);
  });
});
