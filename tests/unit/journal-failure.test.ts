import { deepStrictEqual } from 'node:assert';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { JournalError } from '../../server/journal/journal.ts';
import { asJournalError } from '../../server/journal/journal-errors.ts';
import { openJournal, openJournalReadOnly } from '../../server/journal/sqlite-journal.ts';
import { verifyFile } from '../../server/journal/verify.ts';
import { cursorsOf, EPOCH, noteOf, packetOf, temporaryFolder, timed } from './journal-sample.ts';

let folder: ReturnType<typeof temporaryFolder>;
let file: string;
beforeEach(() => {
  folder = temporaryFolder();
  file = folder.path('one.journal');
});
afterEach(() => folder.remove());

describe('an append that fails midway', () => {
  it('leaves nothing behind, in the file or in memory, and the next one works', () => {
    const journal = openJournal(file, { create: { epoch: EPOCH } });
    journal.append(timed(0, packetOf('M-1', 1)));
    const before = journal.head();
    const fresh = packetOf('M-2', 1, { readings: new Map([['cl2', { value: 0.2, unit: 'ppm' as const }]]) });
    expect(() => journal.append(timed(1, fresh, noteOf('x'), packetOf('M-1', 1)))).toThrow(/UNIQUE/);
    expect(journal.head()).toEqual(before);
    expect(cursorsOf(journal.read(0, 10))).toEqual([1]);
    expect(journal.find({ monitor: 'M-2', via: undefined, boot: 'b1', seq: 1 })).toBeNull();

    const placed = journal.append(timed(1, fresh, packetOf('M-3', 1)));
    deepStrictEqual(journal.read(1, 10), placed);
    journal.close();
    const again = openJournalReadOnly(file);
    deepStrictEqual(again.read(1, 10), placed);
    again.close();
    expect(verifyFile(file)).toMatchObject({ ok: true, records: 3, commits: 2 });
  });

  it('leaves an empty file empty', () => {
    const journal = openJournal(file, { create: { epoch: EPOCH } });
    expect(() => journal.append(timed(0, packetOf('M-1', 1), packetOf('M-1', 1)))).toThrow(/UNIQUE/);
    expect(journal.head().cursor).toBe(0);
    journal.append(timed(7, packetOf('M-1', 1)));
    expect(journal.cursorAt(journal.head().at)).toBe(1);
    journal.close();
    expect(verifyFile(file)).toMatchObject({ ok: true, records: 1 });
  });

  it('says so when somebody else holds the write lock, and works when they are done', () => {
    const journal = openJournal(file, { create: { epoch: EPOCH } });
    const other = new Database(file);
    other.exec('BEGIN IMMEDIATE');
    expect(() => journal.append(timed(0, noteOf('x')))).toThrow(expect.objectContaining({ code: 'read-only' }));
    other.exec('ROLLBACK');
    other.close();
    expect(cursorsOf(journal.append(timed(0, noteOf('x'))))).toEqual([1]);
    journal.close();
  });
});

it('finds rows that cannot be read corrupt', () => {
  const journal = openJournal(file, { create: { epoch: EPOCH } });
  journal.append(timed(0, packetOf('M-1', 1)));
  journal.close();
  const other = new Database(file);
  other.exec("UPDATE record SET body = x'63'");
  other.close();
  const reader = openJournalReadOnly(file);
  expect(() => reader.read(0, 10)).toThrow(expect.objectContaining({ name: 'JournalError', code: 'corrupt' }));
  reader.close();
});

it.each([
  ['SQLITE_FULL', 'full'],
  ['SQLITE_IOERR_SHMSIZE', 'full'],
  ['SQLITE_READONLY_DBMOVED', 'read-only'],
  ['SQLITE_IOERR_FSYNC', 'io'],
  ['SQLITE_IOERR', 'io'],
  ['SQLITE_CORRUPT_INDEX', 'corrupt'],
  ['SQLITE_NOTADB', 'corrupt'],
])('%s is %s', (code, wanted) => {
  const error = asJournalError(new Database.SqliteError('said by SQLite', code));
  expect(error).toBeInstanceOf(JournalError);
  expect(error).toMatchObject({ code: wanted });
});

it('leaves faults of the caller as they are', () => {
  const error = new Database.SqliteError('twice', 'SQLITE_CONSTRAINT_UNIQUE');
  expect(asJournalError(error)).toBe(error);
});
