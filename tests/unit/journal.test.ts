import { deepStrictEqual } from 'node:assert';
import { statSync, writeFileSync } from 'node:fs';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { firstSeal } from '../../server/journal/chain.ts';
import { openJournal, openJournalReadOnly, type SqliteJournal } from '../../server/journal/sqlite-journal.ts';
import { verifyFile } from '../../server/journal/verify.ts';
import {
  CLOSED,
  cursorsOf,
  EPOCH,
  noteOf,
  packetOf,
  refusedOf,
  START,
  samplePackets,
  temporaryFolder,
  timed,
} from './journal-sample.ts';

let folder: ReturnType<typeof temporaryFolder>;
let file: string;
let journal: SqliteJournal;

beforeEach(() => {
  folder = temporaryFolder();
  file = folder.path('one.journal');
  journal = openJournal(file, { create: { epoch: EPOCH } });
});
afterEach(() => {
  journal.close();
  folder.remove();
});

const second = (s: number) => START + s * 1_000_000;

describe('a new file', () => {
  it('begins at cursor 0 with the hash of its epoch', () => {
    expect(journal.head()).toEqual({ cursor: 0, at: 0, hash: firstSeal(EPOCH) });
    expect(journal.epoch).toBe(EPOCH);
    expect(journal.cursorAt(START)).toBe(0);
    expect(journal.read(0, 10)).toEqual([]);
    expect(verifyFile(file)).toMatchObject({ ok: true, records: 0, commits: 0 });
  });

  it('is readable by its owner alone, and syncs every commit', () => {
    journal.append(timed(0, noteOf('first')));
    expect(statSync(file).mode & 0o777).toBe(0o600);
    expect(journal.synchronous()).toBe(2);
  });

  it('is not made by accident, nor taken for another', () => {
    expect(() => openJournal(folder.path('none.journal'))).toThrow(/no such journal/);
    expect(() => openJournal(file, { create: { epoch: 'another' } })).toThrow(/another journal/);
    writeFileSync(folder.path('text'), 'not a database, but long enough to be looked at as one '.repeat(40));
    expect(() => openJournalReadOnly(folder.path('text'))).toThrow(expect.objectContaining({ code: 'corrupt' }));
  });
});

describe('append and read', () => {
  it('gives back what was written, in the order and at the times given', () => {
    const records = [...samplePackets(50, 7), ...timed(10, noteOf('gate opened'), refusedOf('M-001'), CLOSED)];
    const placed = [...journal.append(records.slice(0, 20)), ...journal.append(records.slice(20))];
    expect(cursorsOf(placed)).toEqual(records.map((_, i) => i + 1));
    deepStrictEqual(journal.read(0, 1000), placed);
    deepStrictEqual(journal.read(17, 5), placed.slice(17, 22));
    deepStrictEqual(
      placed.map(({ cursor, ...record }) => record),
      records,
    );
  });

  it('goes on where it stopped when opened again', () => {
    journal.append(timed(0, packetOf('M-1', 1), noteOf('a')));
    const before = journal.head();
    journal.close();
    journal = openJournal(file);
    expect(journal.epoch).toBe(EPOCH);
    expect(journal.head()).toEqual(before);
    expect(cursorsOf(journal.append(timed(2, packetOf('M-1', 2), packetOf('M-2', 1))))).toEqual([3, 4]);
    expect(verifyFile(file)).toMatchObject({ ok: true, records: 4, commits: 2 });
  });

  it('is seen by a reader that opened the file before', () => {
    const reader = openJournalReadOnly(file);
    journal.append(timed(0, packetOf('M-1', 1)));
    expect(reader.head()).toEqual(journal.head());
    deepStrictEqual(reader.read(0, 10), journal.read(0, 10));
    expect(() => reader.append(timed(1, noteOf('x')))).toThrow(expect.objectContaining({ code: 'read-only' }));
    reader.close();
  });

  it('refuses a time that does not rise, and a record that could not be read back', () => {
    journal.append(timed(5, noteOf('a')));
    expect(() => journal.append(timed(5, noteOf('b')))).toThrow(/has to rise/);
    const endless = { kind: 'clock', wallOffsetBeforeMs: 0, wallOffsetAfterMs: Number.POSITIVE_INFINITY } as const;
    expect(() => journal.append(timed(6, noteOf('c'), endless))).toThrow();
    expect(journal.head().cursor).toBe(1);
    expect(cursorsOf(journal.append(timed(7, noteOf('d'))))).toEqual([2]);
  });
});

describe('finding', () => {
  it('knows a packet by monitor, via, boot and number together', () => {
    journal.append(
      timed(0, packetOf('M-1', 1), packetOf('M-1', 1, { via: 'north' }), packetOf('M-1', 1, { boot: 'b2' })),
    );
    const key = { monitor: 'M-1', via: undefined, boot: 'b1', seq: 1 };
    expect(journal.find(key)).toMatchObject({ cursor: 1, packet: { monitor: 'M-1', boot: 'b1', seq: 1 } });
    expect(journal.find({ ...key, via: 'north' })?.cursor).toBe(2);
    expect(journal.find({ ...key, boot: 'b2' })?.cursor).toBe(3);
    expect(journal.find({ ...key, seq: 2 })).toBeNull();
    expect(journal.find({ ...key, monitor: 'M-2' })).toBeNull();
    expect(journal.find({ ...key, via: 'b1' })).toBeNull();
  });

  it('keeps apart names that only differ in half a surrogate pair', () => {
    journal.append(timed(0, packetOf('M\ud800', 1), packetOf('M\ud801', 1), packetOf('M\ufffd', 1)));
    journal.close();
    journal = openJournal(file);
    const key = { via: undefined, boot: 'b1', seq: 1 };
    expect(journal.find({ ...key, monitor: 'M\ud800' })?.cursor).toBe(1);
    expect(journal.find({ ...key, monitor: 'M\ud801' })?.cursor).toBe(2);
    expect(journal.find({ ...key, monitor: 'M\ufffd' })?.cursor).toBe(3);
    expect(cursorsOf(journal.recentOf('M\ud801', 10))).toEqual([2]);
    expect(verifyFile(file)).toMatchObject({ ok: true });
  });

  it('lists the records of a monitor newest first, refused ones and its assignment among them', () => {
    const assigned = { type: 'assign', monitor: 'M-1', entrant: 'E1-A' } as const;
    const command = { kind: 'command', id: 'c1', by: 'Entry', role: 'entry', act: assigned } as const;
    journal.append(timed(0, packetOf('M-1', 1), packetOf('M-2', 1), refusedOf('M-1'), noteOf('x')));
    journal.append(timed(4, command, packetOf('M-1', 9, { boot: 'b2' }), packetOf('M-1', 2), refusedOf('M-2')));
    expect(cursorsOf(journal.recentOf('M-1', 10))).toEqual([7, 6, 5, 3, 1]);
    expect(cursorsOf(journal.recentOf('M-1', 2))).toEqual([7, 6]);
    expect(cursorsOf(journal.refusedOf('M-1', 10))).toEqual([3]);
    expect(cursorsOf(journal.refusedOf('M-2', 10))).toEqual([8]);
    expect(journal.recentOf('M-3', 10)).toEqual([]);
  });

  it('lists the packets of a monitor between two times, both included', () => {
    for (let s = 0; s < 20; s++) journal.append(timed(s, packetOf(s % 2 === 0 ? 'M-1' : 'M-2', 100 - s)));
    journal.append(timed(20, refusedOf('M-2')));
    expect(cursorsOf(journal.packetsOf('M-1', second(4), second(8), 100))).toEqual([5, 7, 9]);
    expect(cursorsOf(journal.packetsOf('M-1', second(4) + 1, second(8) - 1, 100))).toEqual([7]);
    expect(cursorsOf(journal.packetsOf('M-2', 0, second(99), 3))).toEqual([2, 4, 6]);
    expect(cursorsOf(journal.packetsOf('M-2', second(17), second(99), 100))).toEqual([18, 20]);
  });

  it('finds the last record at a time', () => {
    for (const s of [0, 10, 20, 30]) journal.append(timed(s, noteOf(`at ${s}`)));
    const found = [-1, 0, 9, 10, 29, 30, 99].map((s) => journal.cursorAt(second(s)));
    expect(found).toEqual([0, 1, 1, 2, 3, 4, 4]);
  });

  it('finds late packets by when they were measured, and only those', () => {
    const sentAt = 1_000_000; // by a clock that is wrong: the distance alone counts
    journal.append(
      timed(
        100,
        packetOf('M-1', 1, { ageMs: 10_000 }), // ten seconds: found by its arrival
        packetOf('M-1', 2, { ageMs: 60_000 }), // arrived at 101, measured at 41
        packetOf('M-1', 3, { sentAt, measuredAt: sentAt - 90_000 }), // 102, measured at 12
        packetOf('M-1', 4, { measuredAt: 5 }), // no telling
        packetOf('M-1', 5, { ageMs: 1e300 }), // not possible
      ),
    );
    expect(cursorsOf(journal.measuredLate(0, second(200), 10))).toEqual([3, 2]);
    expect(cursorsOf(journal.measuredLate(second(40), second(41), 10))).toEqual([2]);
    expect(verifyFile(file)).toMatchObject({ ok: true });
  });

  it('finds the same in a long file, where it goes by the index', () => {
    const records = samplePackets(45_000, 300);
    for (let i = 0; i < records.length; i += 1500) journal.append(records.slice(i, i + 1500));
    const of7 = records.flatMap((record, i) => (i % 300 === 7 ? [{ ...record, cursor: i + 1 }] : []));
    deepStrictEqual(journal.packetsOf('M-007', 0, second(9999), 1000), of7);
    deepStrictEqual(journal.packetsOf('M-007', second(50), second(400), 9), of7.slice(17, 26));
    deepStrictEqual(journal.recentOf('M-007', 140), of7.slice(10).reverse());
    deepStrictEqual(journal.recentOf('M-007', 60), of7.slice(90).reverse());
  });
});
