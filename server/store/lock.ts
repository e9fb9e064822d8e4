/**
 * One writing process for one data folder. Node has no flock, so the lock is an open exclusive transaction on an
 * empty SQLite file: the kernel gives it back when the process ends, however it ends. The folder has to be on a
 * local disk; network file systems are known to lose such locks.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { ensureDataDir } from './post-database.ts';

export type Lock = { release(): void };
export type LockAnswer = { ok: true; lock: Lock } | { ok: false; code: 'held'; message: string };

/** Takes the lock on `dataDir` without waiting. Throws when the folder cannot be written. */
export function takeLock(dataDir: string): LockAnswer {
  ensureDataDir(dataDir);
  const db = new Database(join(dataDir, 'lock.db'), { timeout: 0 });
  try {
    db.pragma('locking_mode = EXCLUSIVE');
    db.exec('BEGIN EXCLUSIVE');
  } catch (error) {
    db.close();
    if (!isBusy(error)) throw error;
    return { ok: false, code: 'held', message: `${dataDir} is in use by another Upwind${holder(dataDir)}` };
  }
  try {
    writeFileSync(pidFile(dataDir), `${process.pid}\n`, { mode: 0o600 });
  } catch {
    // It only says who: the lock itself is the transaction, and a full disk must not keep the post from watching.
  }
  let held = true;
  const release = () => {
    if (held) db.close();
    held = false;
  };
  return { ok: true, lock: { release } };
}

function isBusy(error: unknown): boolean {
  return error instanceof Database.SqliteError && error.code.startsWith('SQLITE_BUSY');
}

function pidFile(dataDir: string): string {
  return join(dataDir, 'lock.pid');
}

function holder(dataDir: string): string {
  try {
    const pid = readFileSync(pidFile(dataDir), 'utf8').trim();
    return /^\d+$/.test(pid) ? ` (process ${pid})` : '';
  } catch {
    return '';
  }
}
