/** The schema of post.db: what outlives incidents. Forward only; see migrate.ts. */
import type { Migration } from './migrate.ts';

const FIRST = `
CREATE TABLE account (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE COLLATE NOCASE,
  role TEXT NOT NULL CHECK (role IN ('viewer', 'entry', 'officer', 'commander')),
  passphrase TEXT NOT NULL,
  created_at INTEGER NOT NULL,
  disabled INTEGER NOT NULL DEFAULT 0 CHECK (disabled IN (0, 1))
) STRICT;

CREATE TABLE session (
  token_hash BLOB PRIMARY KEY,
  account_id INTEGER NOT NULL REFERENCES account (id) ON DELETE CASCADE,
  created_at INTEGER NOT NULL,
  expires_at INTEGER NOT NULL,
  last_used_at INTEGER
) STRICT, WITHOUT ROWID;
CREATE INDEX session_by_account ON session (account_id);

CREATE TABLE token (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL,
  role TEXT NOT NULL CHECK (role IN ('relay', 'viewer')),
  kind TEXT NOT NULL DEFAULT 'bearer' CHECK (kind IN ('bearer', 'wall')),
  hash BLOB NOT NULL UNIQUE,
  created_at INTEGER NOT NULL,
  revoked_at INTEGER,
  last_used_at INTEGER
) STRICT;

CREATE TABLE setting (
  key TEXT PRIMARY KEY,
  value TEXT NOT NULL CHECK (json_valid(value))
) STRICT, WITHOUT ROWID;

CREATE TABLE journal_file (
  id INTEGER PRIMARY KEY,
  file TEXT NOT NULL UNIQUE,
  epoch TEXT NOT NULL,
  kind TEXT NOT NULL,
  incident_id TEXT,
  name TEXT,
  exercise INTEGER,
  opened_at INTEGER,
  closed_at INTEGER,
  head BLOB,
  head_cursor INTEGER,
  followed_cursor INTEGER
) STRICT;

CREATE TABLE seen (
  monitor TEXT NOT NULL,
  via TEXT NOT NULL,
  boot TEXT NOT NULL,
  lo INTEGER NOT NULL,
  hi INTEGER NOT NULL,
  file_id INTEGER NOT NULL REFERENCES journal_file (id),
  PRIMARY KEY (monitor, via, boot, lo)
) STRICT, WITHOUT ROWID;
`;

export const POST_MIGRATIONS: readonly Migration[] = [
  { id: 1, name: 'accounts, tokens, settings, journal files', sql: FIRST },
];
