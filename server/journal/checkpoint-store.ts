/**
 * Folded states beside the journal, in FILE.checkpoints: they only save time, are never synced, and may be deleted
 * at any moment. One is believed only when it is whole (its own SHA-256) and of this journal (the seal of the chain
 * at its cursor). The row `alive` keeps, about once a second, what the clocks said at a post time (see gap.ts).
 */
import { createHash } from 'node:crypto';
import { closeSync, openSync, rmSync } from 'node:fs';
import type { PostTime } from '../../shared/incident/time.ts';
import type { Migration } from '../store/migrate.ts';
import { type Db, openForWriting } from '../store/open-database.ts';

const MIGRATIONS: readonly Migration[] = [
  {
    id: 1,
    name: 'checkpoints and the last sign of life',
    sql: `
CREATE TABLE checkpoint (
  cursor INTEGER PRIMARY KEY,
  at INTEGER NOT NULL,
  epoch TEXT NOT NULL,
  fold_version INTEGER NOT NULL,
  seal BLOB NOT NULL,
  digest BLOB NOT NULL,
  state BLOB NOT NULL
) STRICT;
CREATE INDEX checkpoint_by_time ON checkpoint (at);
CREATE TABLE alive (
  id INTEGER PRIMARY KEY CHECK (id = 1),
  epoch TEXT NOT NULL,
  at INTEGER NOT NULL,
  wall_offset_ms REAL NOT NULL,
  boot_id TEXT,
  boot_us INTEGER
) STRICT;
`,
  },
];

export type Checkpoint = {
  /** Last record that is in the state. */
  readonly cursor: number;
  /** Its post time. */
  readonly at: PostTime;
  readonly foldVersion: number;
  /** Hash of the journal's chain at that cursor. */
  readonly seal: Uint8Array;
  readonly state: Uint8Array;
};
/** What the clocks said at post time `at`. */
export type Alive = {
  readonly at: PostTime;
  readonly wallOffsetMs: number;
  readonly bootId: string | null;
  readonly bootUs: number | null;
};

export interface CheckpointStore {
  /** False when it could not be kept; nothing depends on it. */
  save(checkpoint: Checkpoint): boolean;
  /** Newest state of this fold and journal that can be believed, at or before `notAfter` when given. */
  latest(foldVersion: number, epoch: string, notAfter?: PostTime): Checkpoint | null;
  saveAlive(alive: Alive): boolean;
  alive(epoch: string): Alive | null;
  close(): void;
}

export type CheckpointStoreOptions = {
  /** The journal's file; the store is beside it. */
  readonly journalFile: string;
  readonly epoch: string;
  /** Seal of the journal at `cursor`; null when it has none there. */
  readonly sealAt: (cursor: number) => Uint8Array | null;
  /** One is kept for each such stretch of post time, microseconds; the last two are kept besides. */
  readonly keepEveryUs: number;
};

type Row = { cursor: number; at: number; fold_version: number; seal: Buffer; digest: Buffer; state: Buffer };
type AliveRow = { at: number; wall_offset_ms: number; boot_id: string | null; boot_us: number | null };

export function checkpointFile(journalFile: string): string {
  return `${journalFile}.checkpoints`;
}

/** Opens the store, and makes it anew where it is damaged. Where it cannot be made at all it keeps nothing. */
export function openCheckpointStore(options: CheckpointStoreOptions): CheckpointStore {
  const { epoch: own, keepEveryUs, sealAt } = options;
  const db = openOrRenew(checkpointFile(options.journalFile));
  if (db === null) return NOTHING_KEPT;

  const insert = db.prepare(
    `INSERT OR REPLACE INTO checkpoint (cursor, at, epoch, fold_version, seal, digest, state)
     VALUES (@cursor, @at, @epoch, @foldVersion, @seal, @digest, @state)`,
  );
  // Kept: the last two, and the first of each stretch.
  const prune = db.prepare(
    `DELETE FROM checkpoint WHERE cursor NOT IN (SELECT cursor FROM checkpoint ORDER BY cursor DESC LIMIT 2)
     AND cursor NOT IN (SELECT min(cursor) FROM checkpoint GROUP BY epoch, fold_version, at / CAST(@keepEveryUs AS INTEGER))`,
  );
  const newest = db.prepare<object, Row>(
    `SELECT * FROM checkpoint WHERE fold_version = @foldVersion AND epoch = @epoch AND at <= @notAfter
     ORDER BY cursor DESC`,
  );
  const setAlive = db.prepare(
    `INSERT OR REPLACE INTO alive (id, epoch, at, wall_offset_ms, boot_id, boot_us)
     VALUES (1, @epoch, @at, @wallOffsetMs, @bootId, @bootUs)`,
  );
  const getAlive = db.prepare<string, AliveRow>('SELECT * FROM alive WHERE id = 1 AND epoch = ?');
  const saveAndPrune = db.transaction((checkpoint: Checkpoint) => {
    insert.run({ ...checkpoint, epoch: own, digest: digestOf(own, checkpoint) });
    prune.run({ keepEveryUs });
  });

  function latest(foldVersion: number, epoch: string, notAfter: PostTime = Number.MAX_SAFE_INTEGER) {
    for (const row of newest.iterate({ foldVersion, epoch, notAfter })) {
      const { cursor, at, seal, state } = row;
      const checkpoint: Checkpoint = { cursor, at, foldVersion, seal, state };
      const whole = row.digest.equals(digestOf(epoch, checkpoint));
      const inJournal = whole ? sealAt(cursor) : null;
      if (inJournal !== null && seal.equals(inJournal)) return checkpoint;
    }
    return null;
  }

  return {
    save: (checkpoint) => attempt(() => saveAndPrune.immediate(checkpoint)) !== null,
    latest: (foldVersion, epoch, notAfter) => attempt(() => latest(foldVersion, epoch, notAfter)),
    saveAlive: (alive) => attempt(() => setAlive.run({ ...alive, epoch: own })) !== null,
    alive(epoch) {
      const row = attempt(() => getAlive.get(epoch)) ?? null;
      if (row === null) return null;
      return { at: row.at, wallOffsetMs: row.wall_offset_ms, bootId: row.boot_id, bootUs: row.boot_us };
    },
    close: () => void db.close(),
  };
}

const NOTHING_KEPT: CheckpointStore = {
  save: () => false,
  latest: () => null,
  saveAlive: () => false,
  alive: () => null,
  close() {},
};

function openOrRenew(file: string): Db | null {
  const open = () => {
    closeSync(openSync(file, 'a', 0o600)); // made here, because SQLite gives its side files the mode of this one
    return openForWriting(file, MIGRATIONS, { synchronous: 'OFF' });
  };
  return (
    attempt(open) ??
    attempt(() => {
      for (const end of ['', '-wal', '-shm']) rmSync(`${file}${end}`, { force: true });
      return open();
    })
  );
}

/** Nothing here is needed: what goes wrong only costs the time to fold again. */
function attempt<T>(act: () => T): T | null {
  try {
    return act();
  } catch {
    return null;
  }
}

function digestOf(epoch: string, checkpoint: Checkpoint): Buffer {
  const { cursor, at, foldVersion, seal, state } = checkpoint;
  const head = JSON.stringify([epoch, cursor, at, foldVersion]);
  return createHash('sha256').update(head).update('\n').update(seal).update(state).digest();
}
