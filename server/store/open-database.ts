/**
 * Opens a SQLite file the one way this project opens any: every pragma here, each with its reason, and the
 * durability setting asserted after a write, because the driver's build falls back to NORMAL once the first
 * transaction in WAL mode has run and answers FULL until then.
 */
import Database from 'better-sqlite3';
import { type Migration, migrate } from './migrate.ts';

export type Db = Database.Database;

/** The first release without the WAL-reset bug that two connections could corrupt a file by. */
const OLDEST_SQLITE = [3, 51, 3] as const;

/** Throws, in one line, when the bundled SQLite is older than what the journal's promises rest on. */
export function assertSqliteVersion(db: Db): void {
  const version = String(db.prepare('SELECT sqlite_version()').pluck().get());
  const parts = version.split('.').map(Number);
  for (const [i, least] of OLDEST_SQLITE.entries()) {
    const part = parts[i] ?? 0;
    if (part > least) return;
    if (part < least) throw new Error(`SQLite ${version} is too old: ${OLDEST_SQLITE.join('.')} or newer is needed`);
  }
}

function setPragmas(db: Db): void {
  db.pragma('journal_mode = WAL'); // readers never wait for the writer
  db.pragma('synchronous = FULL'); // a commit that was answered must survive a power cut
  db.pragma('foreign_keys = ON');
  db.pragma('busy_timeout = 2000');
  db.pragma('journal_size_limit = 67108864'); // a WAL that grew once gives its space back
  db.pragma('trusted_schema = OFF'); // a file from a stick may carry hostile views
  db.pragma('cell_size_check = ON');
  db.pragma('mmap_size = 0');
}

/** Opens or creates `file` for writing and brings its schema up to date. */
export function openForWriting(
  file: string,
  migrations: readonly Migration[],
  options: { synchronous?: 'FULL' | 'OFF' } = {},
): Db {
  const db = new Database(file);
  try {
    assertSqliteVersion(db);
    setPragmas(db);
    migrate(db, migrations);
    const wanted = options.synchronous ?? 'FULL';
    db.pragma(`synchronous = ${wanted}`);
    assertDurable(db, wanted);
    return db;
  } catch (error) {
    db.close();
    throw error;
  }
}

/** Opens an existing file for reading only. */
export function openForReading(file: string): Db {
  const db = new Database(file, { readonly: true, fileMustExist: true });
  db.pragma('busy_timeout = 2000');
  db.pragma('trusted_schema = OFF');
  db.pragma('cell_size_check = ON');
  return db;
}

function assertDurable(db: Db, wanted: 'FULL' | 'OFF'): void {
  const version = Number(db.pragma('user_version', { simple: true }));
  try {
    db.transaction(() => db.pragma(`user_version = ${version}`)).immediate(); // a real write: before it the answer is worth nothing
  } catch (error) {
    // Nothing can be answered as stored while the disk is full, and the post has to come up and watch all the same.
    if (error instanceof Database.SqliteError && error.code === 'SQLITE_FULL') return;
    throw error;
  }
  const found = Number(db.pragma('synchronous', { simple: true }));
  if (found !== (wanted === 'FULL' ? 2 : 0)) throw new Error(`SQLite runs with synchronous=${found}, not ${wanted}`);
  if (db.pragma('journal_mode', { simple: true }) !== 'wal')
    throw new Error('SQLite could not switch to WAL mode here');
}
