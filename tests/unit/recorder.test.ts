import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Journal, JournalError } from '../../server/journal/journal.ts';
import { createMemoryJournal } from '../../server/journal/memory-journal.ts';
import { NotRecordable } from '../../server/journal/not-recordable.ts';
import { MAX_GROUP, MAX_QUEUED } from '../../server/journal/recorder.ts';
import { openJournal } from '../../server/journal/sqlite-journal.ts';
import type { RecordBody } from '../../shared/incident/records.ts';
import { bench, follow, NOTHING_SEEN, note, packet, START_AT, settled } from './recorder-doubles.ts';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'recorder-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

const derivedEvent = (number: number): RecordBody => ({
  kind: 'event',
  fold: 1,
  number,
  event: { type: 'board', at: 1, change: 'note', words: 'noted' },
});

describe('group commit', () => {
  it('commits, folds, then answers', async () => {
    const { recorder, time, log, committed } = bench();
    const answer = recorder.record([packet(1)]).then((outcomes) => log.push(`answer ${outcomes[0]?.status}`));
    await settled();
    expect(log).toEqual([]);
    time.pass(0);
    await answer;
    expect(log).toEqual(['commit 1', 'fold', 'answer stored']);
    expect(committed[0]).toMatchObject({ kind: 'packet', cursor: 1 });
  });

  it('does not hold a lone packet for the window', async () => {
    const { recorder, time, appends } = bench({ windowMs: 500 });
    for (let seq = 0; seq < 3; seq += 1) {
      const answer = recorder.record([packet(seq)]);
      time.pass(0);
      await answer;
    }
    expect(appends).toEqual([1, 1, 1]);
  });

  it('lets several callers share commits once they come together', () => {
    const { recorder, time, appends } = bench({ windowMs: 5 });
    for (let seq = 0; seq < 3; seq += 1) recorder.record([packet(seq)]);
    time.pass(0); // three at a time: from now on it pays to wait
    recorder.record([packet(3)]);
    time.pass(3);
    recorder.record([packet(4)]);
    expect(appends).toEqual([3]);
    time.pass(2);
    expect(appends).toEqual([3, 2]);
  });

  it('waits for nobody when all who were answered have come again', () => {
    const { recorder, time, appends } = bench({ windowMs: 500 });
    for (let round = 0; round < 3; round += 1) {
      recorder.record([packet(2 * round)]);
      recorder.record([packet(2 * round + 1)]);
      time.pass(0);
    }
    expect(appends).toEqual([2, 2, 2]);
  });

  it('keeps one caller together and a group within its cap', async () => {
    const { recorder, time, appends } = bench();
    const many = (from: number, count: number) => Array.from({ length: count }, (_, i) => packet(from + i));
    recorder.record(many(0, 1_500));
    recorder.record(many(1_500, 1_000));
    recorder.record(many(2_500, 1_000));
    recorder.flush();
    recorder.record(many(10_000, MAX_GROUP + 500));
    time.pass(10);
    expect(appends).toEqual([1_500, 2_000, 2_500]);
  });

  it('says how far the deadlines may run', async () => {
    const { recorder, time, journal } = bench();
    expect(recorder.earliestPending()).toBeNull();
    recorder.record([packet(1)]);
    const first = recorder.earliestPending();
    time.standStill(1);
    recorder.record([packet(2)]);
    expect(recorder.earliestPending()).toBe(first);
    time.pass(0);
    expect(recorder.earliestPending()).toBeNull();
    expect(journal.read(0, 1)[0]?.at).toBe(first);
  });

  it('refuses when too much waits, and when stopped', async () => {
    const { recorder } = bench();
    recorder.record(Array.from({ length: MAX_QUEUED }, (_, i) => packet(i)));
    expect(recorder.queued()).toBe(MAX_QUEUED);
    await expect(recorder.record([packet(MAX_QUEUED)])).rejects.toMatchObject({ code: 'busy', retryAfterS: 1 });
    recorder.stop();
    expect(recorder.queued()).toBe(0);
    await expect(recorder.record([packet(1)])).rejects.toMatchObject({ code: 'stopped' });
  });

  it('answers even when the fold throws, and goes on', async () => {
    const { recorder, time } = bench({
      onCommitted: () => {
        throw new Error('fold');
      },
    });
    const answer = follow(recorder.record([packet(1)]));
    expect(() => time.pass(0)).toThrow('fold');
    await settled();
    expect(answer.outcomes).toMatchObject([{ status: 'stored', cursor: 1 }]);
    expect(recorder.queued()).toBe(0);
  });
});

describe('derived events', () => {
  it('join the next commit without forcing one, and do not hold back the deadlines', () => {
    const { recorder, time, journal, appends } = bench();
    recorder.enqueueDerived([derivedEvent(1)]);
    time.pass(900);
    expect(appends).toEqual([]);
    expect(recorder.earliestPending()).toBeNull();
    recorder.record([packet(1)]);
    time.pass(0);
    expect(appends).toEqual([2]);
    expect(journal.read(0, 9).map((r) => r.kind)).toEqual(['event', 'packet']);
  });

  it('get a commit of their own within a second, or by flush', () => {
    const { recorder, time, appends } = bench();
    recorder.enqueueDerived([derivedEvent(1)]);
    time.pass(1_000);
    expect(appends).toEqual([1]);
    recorder.enqueueDerived([derivedEvent(2), derivedEvent(3)]);
    recorder.flush();
    time.pass(1_500);
    expect(appends).toEqual([1, 2]);
  });
});

describe('duplicates and conflicts', () => {
  it('are found in the group, in the file and in other files', async () => {
    const elsewhere = packet(90).packet;
    const { recorder, time, journal } = bench({
      seen: {
        rangesOf: () => [{ lo: 90, hi: 90 }],
        find: (key) => (key.seq === 90 ? { packet: elsewhere } : null),
      },
    });
    const first = recorder.record([packet(1), packet(1, { ageMs: 7 }), packet(1, { test: true })]);
    time.pass(0);
    expect(await first).toEqual([
      { status: 'stored', cursor: 1, at: journal.read(0, 1)[0]?.at },
      { status: 'duplicate', cursor: 1 },
      { status: 'conflict', cursor: 1 },
    ]);
    // Nothing to be written: answered at once.
    expect(await recorder.record([packet(1, { sentAt: 5 }), packet(90)])).toEqual([
      { status: 'duplicate', cursor: 1 },
      { status: 'duplicate' },
    ]);
    const later = recorder.record([packet(90, { simulated: true })], { rawOf: () => '{"seq":90}' });
    time.pass(10);
    expect(await later).toEqual([{ status: 'conflict' }]);
    expect(journal.read(2, 9)).toMatchObject([
      { kind: 'refused', monitor: 'M-07', relay: 'R1', code: 'conflict', path: 'seq', raw: '{"seq":90}' },
    ]);
  });

  it('a duplicate of a waiting packet is not answered before that one is on disk', async () => {
    const { recorder, time } = bench();
    recorder.record([packet(1)]);
    const second = follow(recorder.record([packet(1)]));
    await settled();
    expect(second.outcomes).toBeNull();
    time.pass(0);
    await settled();
    expect(second.outcomes).toEqual([{ status: 'duplicate', cursor: 1 }]);
  });

  it('tells monitors, relays that number apart, and boots apart', async () => {
    const { recorder, time, journal } = bench();
    recorder.record([packet(1), packet(1, { via: 'R2' }), packet(1, { boot: 'b2' }), packet(1, { monitor: 'M-08' })]);
    time.pass(0);
    expect(journal.head().cursor).toBe(4);
  });

  it('asks the file nothing for fresh packets', async () => {
    let asked = 0;
    const memory = createMemoryJournal();
    const journal: Journal = {
      ...memory,
      find(key) {
        asked += 1;
        return memory.find(key);
      },
    };
    const { recorder, time } = bench({ journal });
    for (let seq = 0; seq < 50; seq += 1) recorder.record([packet(seq)]);
    time.pass(10);
    expect(asked).toBe(0);
    await recorder.record([packet(7)]);
    expect(asked).toBe(1);
  });

  it.each([
    ['in memory', () => createMemoryJournal()],
    ['on disk', () => openJournal(join(folder, 'j.db'), { create: { epoch: 'e1' }, synchronous: 'OFF' })],
  ])('lives through a journal %s that holds packets the index does not know', async (_, make) => {
    const journal = make();
    journal.append([
      { ...packet(5), at: START_AT - 2 },
      { ...packet(6), at: START_AT - 1 },
    ]);
    const { recorder, time, troubles } = bench({ journal });
    const answers = [
      recorder.record([packet(4), packet(5)]),
      recorder.record([packet(6, { test: true }), note('n'), packet(6)]),
    ];
    time.pass(0);
    expect(await Promise.all(answers)).toMatchObject([
      [
        { status: 'stored', cursor: 3 },
        { status: 'duplicate', cursor: 1 },
      ],
      [
        { status: 'conflict', cursor: 2 },
        { status: 'stored', cursor: 5 },
        { status: 'duplicate', cursor: 2 },
      ],
    ]);
    expect(troubles).toEqual([]);
    journal.close();
  });

  it('goes on when the index of other files cannot be read', async () => {
    const errors: unknown[] = [];
    const { recorder, time } = bench({
      seen: {
        ...NOTHING_SEEN,
        rangesOf: () => {
          throw new Error('post.db');
        },
      },
      onSeenTrouble: (error) => void errors.push(error),
    });
    const answer = recorder.record([packet(1)]);
    time.pass(0);
    expect(await answer).toMatchObject([{ status: 'stored' }]);
    expect(errors).toHaveLength(1);
  });

  it('keeps memory bounded: a source that was forgotten is still refused twice by the file', async () => {
    const { recorder, time, journal } = bench({ maxSources: 2 });
    for (const boot of ['a', 'b', 'c', 'd', 'a', 'b']) {
      const answer = recorder.record([packet(1, { boot })]);
      time.pass(5);
      await answer;
    }
    expect(journal.head().cursor).toBe(4);
  });
});

describe('time', () => {
  it('records a stall before what is heard after it', () => {
    const { recorder, time, journal } = bench();
    recorder.tick();
    time.standStill(3_000);
    recorder.record([packet(1)]);
    time.pass(0);
    const [gap, heard] = journal.read(0, 9);
    expect(gap).toMatchObject({ kind: 'gap', cause: 'stall', judgedBy: 'steady-clock' });
    expect(gap?.kind === 'gap' && gap.at - gap.from).toBeGreaterThanOrEqual(3_000_000);
    expect(heard?.kind).toBe('packet');
  });

  it('records a sleep and a stepped wall clock', () => {
    const { recorder, time, journal } = bench();
    time.sleep(60_000);
    recorder.tick();
    time.wallMs -= 3_600_000;
    recorder.tick();
    time.pass(5);
    expect(journal.read(0, 9)).toMatchObject([
      { kind: 'gap', cause: 'suspend', judgedBy: 'boot-clock' },
      { kind: 'clock', wallOffsetBeforeMs: 0, wallOffsetAfterMs: -3_600_000 },
    ]);
  });
});

describe('when the file cannot be written', () => {
  it('refuses, watches from memory, probes, and goes on behind a gap', async () => {
    const { recorder, time, journal, failWith, watched, troubles, log } = bench();
    recorder.record([packet(1)]);
    time.pass(0);
    failWith(new JournalError('full', 'no space'));
    const lost = recorder.record([packet(2), packet(1)]);
    const alsoLost = recorder.record([note('n')]);
    time.pass(5);
    await expect(lost).rejects.toBeInstanceOf(NotRecordable);
    await expect(alsoLost).rejects.toMatchObject({ code: 'full', retryAfterS: 2 });
    expect(troubles).toMatchObject([{ code: 'full', fatal: false }]);
    expect(recorder.mode()).toBe('not-recording');

    // The relay tries again, and has something new.
    await expect(recorder.record([packet(2), packet(3)])).rejects.toMatchObject({ code: 'full' });
    expect(watched.map((r) => (r.kind === 'packet' ? r.packet.seq : r.kind))).toEqual([2, 'command', 3]);
    expect(watched.every((r) => r.cursor === 1 && r.watchOnly)).toBe(true);
    expect(watched.map((r) => r.at)).toEqual(watched.map((r) => r.at).toSorted((a, b) => a - b));

    time.pass(1_999); // still full at the first probe
    time.pass(100);
    expect(recorder.mode()).toBe('not-recording');
    failWith(null);
    time.pass(2_000);
    expect(recorder.mode()).toBe('recording');
    expect(log.slice(-3)).toEqual(['commit 2', 'recovered', 'fold']);
    const gap = journal.read(1, 1)[0];
    expect(gap).toMatchObject({
      kind: 'gap',
      cause: 'not-recording',
      from: troubles[0]?.since,
      judgedBy: 'steady-clock',
    });

    const again = recorder.record([packet(2), packet(3)]);
    time.pass(5);
    expect(await again).toMatchObject([
      { status: 'stored', cursor: 3 },
      { status: 'stored', cursor: 4 },
    ]);
  });

  it('refuses what waits behind the failed group, too', async () => {
    const { recorder, time, failWith, journal } = bench();
    const many = (from: number) => Array.from({ length: 1_500 }, (_, i) => packet(from + i));
    const answers = [recorder.record(many(0)), recorder.record(many(1_500))].map(follow);
    failWith(new JournalError('full', 'no space'));
    time.pass(0);
    await settled();
    for (const answer of answers) expect(answer.error).toBeInstanceOf(NotRecordable);
    failWith(null);
    time.pass(2_005);
    expect(journal.head().cursor).toBe(1);
    expect(recorder.earliestPending()).toBeNull();
  });

  it('does not forget a gap, a clock step or events that could not be written', async () => {
    const { recorder, time, journal, failWith } = bench();
    recorder.record([packet(1)]);
    time.pass(0);
    recorder.enqueueDerived([derivedEvent(1)]);
    failWith(new JournalError('read-only', 'read-only'));
    const from = journal.head().at - 9_000_000;
    recorder.record([{ kind: 'gap', from, cause: 'restart', judgedBy: 'unknown' }]).catch(() => {});
    time.pass(5);
    time.wallMs += 5_000;
    recorder.tick();
    time.wallMs += 5_000;
    recorder.tick();
    failWith(null);
    time.pass(2_005);
    expect(journal.read(1, 9)).toMatchObject([
      { kind: 'gap', cause: 'not-recording', from, judgedBy: 'unknown' },
      { kind: 'clock', wallOffsetBeforeMs: 0, wallOffsetAfterMs: 10_000 },
      { kind: 'event', number: 1 },
    ]);
  });

  it('never tries again after a failed sync', async () => {
    const { recorder, time, failWith, troubles, appends, watched } = bench();
    failWith(new JournalError('io', 'sync failed'));
    const answer = recorder.record([packet(1)]);
    time.pass(0);
    await expect(answer).rejects.toMatchObject({ code: 'io' });
    expect(troubles).toMatchObject([{ code: 'io', fatal: true }]);
    failWith(null);
    await expect(recorder.record([packet(2)])).rejects.toMatchObject({ code: 'io' });
    time.pass(60_000);
    recorder.flush();
    expect(appends).toEqual([]);
    expect(watched).toHaveLength(2);
    expect(recorder.mode()).toBe('ended');
  });

  it('starts on a file that cannot be opened, and takes it up later', async () => {
    const head = { cursor: 40, at: 1_000, hash: new Uint8Array(32) };
    const real = createMemoryJournal({ head });
    let open = false;
    const { recorder, time, committed, watched } = bench({
      journal: createMemoryJournal({ head }),
      startNotRecording: { code: 'read-only', gap: { from: 1_000, judgedBy: 'wall-clock' } },
      reopen: () => (open ? real : null),
    });
    await expect(recorder.record([packet(1)])).rejects.toMatchObject({ code: 'read-only' });
    expect(watched).toMatchObject([{ cursor: 40 }]);
    time.pass(2_000);
    expect(recorder.mode()).toBe('not-recording');
    open = true;
    time.pass(2_000);
    expect(recorder.journal()).toBe(real);
    expect(committed).toMatchObject([{ cursor: 41, kind: 'gap', from: 1_000, judgedBy: 'wall-clock' }]);
  });

  it('finds the one submission at fault and stores the others', async () => {
    const memory = createMemoryJournal();
    const journal: Journal = {
      ...memory,
      append(records) {
        if (records.some((r) => r.kind === 'command' && r.id === 'bad')) throw new RangeError('cannot be encoded');
        return memory.append(records);
      },
    };
    const faults: unknown[] = [];
    const { recorder, time, troubles } = bench({ journal, onFault: (error) => void faults.push(error) });
    const good = recorder.record([packet(1)]);
    const bad = recorder.record([note('bad'), packet(2)]);
    const after = recorder.record([packet(2)]); // the first of its key, now that the other one is gone
    bad.catch(() => {});
    time.pass(20);
    expect(await good).toMatchObject([{ status: 'stored', cursor: 1 }]);
    await expect(bad).rejects.toBeInstanceOf(RangeError);
    expect(await after).toMatchObject([{ status: 'stored', cursor: 2 }]);
    expect(faults).toHaveLength(1);
    expect(troubles).toEqual([]);
  });
});
