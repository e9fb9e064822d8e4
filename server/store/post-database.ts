/** post.db: accounts, tokens, settings and the list of journals. One writing process holds it; see lock.ts. */
import { closeSync, mkdirSync, openSync } from 'node:fs';
import { join } from 'node:path';
import { type Db, openForWriting } from './open-database.ts';
import { POST_MIGRATIONS } from './post-migrations.ts';

export const POST_DATABASE_FILE = 'post.db';

/** Creates `dataDir` (0700: it holds hashes of passphrases and the record) where it is missing. */
export function ensureDataDir(dataDir: string): void {
  mkdirSync(dataDir, { recursive: true, mode: 0o700 });
}

/** Opens or creates `dataDir`/post.db for writing. The caller holds the lock on `dataDir`. Throws when it cannot. */
export function openPostDatabase(dataDir: string): Db {
  ensureDataDir(dataDir);
  const file = join(dataDir, POST_DATABASE_FILE);
  closeSync(openSync(file, 'a', 0o600)); // made here, because SQLite gives its side files the mode of this one
  return openForWriting(file, POST_MIGRATIONS);
}
