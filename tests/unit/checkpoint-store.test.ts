import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import {
  type Checkpoint,
  type CheckpointStore,
  checkpointFile,
  openCheckpointStore,
} from '../../server/journal/checkpoint-store.ts';
import { MINUTE } from '../../shared/incident/time.ts';

let folder: string;
let journalFile: string;
let stores: CheckpointStore[] = [];
/** Seals of a journal of 1,000 records. */
let sealAt: (cursor: number) => Uint8Array | null;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'checkpoints-'));
  journalFile = join(folder, 'journal.db');
  sealAt = (cursor) => (cursor <= 1_000 ? seal(cursor) : null);
});
afterEach(() => {
  for (const store of stores) store.close();
  stores = [];
  rmSync(folder, { recursive: true });
});

function seal(cursor: number): Uint8Array {
  return new Uint8Array(32).fill(cursor % 251);
}
function open(): CheckpointStore {
  const store = openCheckpointStore({
    journalFile,
    epoch: 'e1',
    sealAt: (cursor) => sealAt(cursor),
    keepEveryUs: 15 * MINUTE,
  });
  stores.push(store);
  return store;
}
function at(cursor: number, minute = cursor, foldVersion = 1): Checkpoint {
  return {
    cursor,
    at: minute * MINUTE,
    foldVersion,
    seal: seal(cursor),
    state: new TextEncoder().encode(`state ${cursor}`),
  };
}
function edit(sql: string): void {
  const db = new Database(checkpointFile(journalFile));
  db.exec(sql);
  db.close();
}

describe('checkpoints', () => {
  it('gives back the newest of this fold and journal', () => {
    const store = open();
    expect(store.latest(1, 'e1')).toBeNull();
    expect(store.save(at(10))).toBe(true);
    expect(store.save(at(20))).toBe(true);
    const found = open().latest(1, 'e1');
    expect(found).toMatchObject({ cursor: 20, at: 20 * MINUTE, foldVersion: 1 });
    expect(new TextDecoder().decode(found?.state)).toBe('state 20');
    expect(store.latest(2, 'e1')).toBeNull();
    expect(store.latest(1, 'e2')).toBeNull();
    expect(store.latest(1, 'e1', 19 * MINUTE)).toMatchObject({ cursor: 10 });
  });

  it('keeps the last two and one for each quarter of an hour', () => {
    const store = open();
    for (let minute = 0; minute <= 47; minute += 1) store.save(at(minute + 1, minute));
    const db = new Database(checkpointFile(journalFile));
    const kept = db.prepare('SELECT at / 60000000 FROM checkpoint ORDER BY cursor').pluck().all();
    db.close();
    expect(kept).toEqual([0, 15, 30, 45, 46, 47]);
  });

  it('believes none that was changed, and goes back to the one before', () => {
    const store = open();
    store.save(at(10));
    store.save(at(20));
    edit("UPDATE checkpoint SET state = CAST('state 99' AS BLOB) WHERE cursor = 20");
    expect(store.latest(1, 'e1')).toMatchObject({ cursor: 10 });
    edit('UPDATE checkpoint SET at = at + 1 WHERE cursor = 10');
    expect(store.latest(1, 'e1')).toBeNull();
  });

  it('believes none of another past, nor one beyond the end of the journal', () => {
    const store = open();
    store.save(at(10));
    store.save(at(2_000)); // the journal lost its tail
    expect(store.latest(1, 'e1')).toMatchObject({ cursor: 10 });
    sealAt = () => new Uint8Array(32).fill(255); // a copy that went its own way
    expect(store.latest(1, 'e1')).toBeNull();
  });

  it('is made anew where it is damaged', () => {
    open().save(at(10));
    stores.pop()?.close();
    writeFileSync(checkpointFile(journalFile), 'not a database, and long enough to be taken for one'.repeat(100));
    const store = open();
    expect(store.latest(1, 'e1')).toBeNull();
    expect(store.save(at(20))).toBe(true);
    expect(store.latest(1, 'e1')).toMatchObject({ cursor: 20 });
  });

  it('keeps nothing, and harms nothing, where it cannot be made', () => {
    journalFile = join(folder, 'missing', 'journal.db');
    const store = open();
    expect(store.save(at(10))).toBe(false);
    expect(store.latest(1, 'e1')).toBeNull();
    expect(store.saveAlive({ at: 1, wallOffsetMs: 0, bootId: null, bootUs: null })).toBe(false);
    expect(existsSync(checkpointFile(journalFile))).toBe(false);
  });
});

describe('the last sign of life', () => {
  it('is one row, of this journal', () => {
    const store = open();
    expect(store.alive('e1')).toBeNull();
    store.saveAlive({ at: 5, wallOffsetMs: -1.5, bootId: 'b', bootUs: 7 });
    const alive = { at: 1_800_000_000_000_000, wallOffsetMs: 3_600_000, bootId: null, bootUs: null };
    store.saveAlive(alive);
    expect(open().alive('e1')).toEqual(alive);
    expect(store.alive('e2')).toBeNull();
  });
});
