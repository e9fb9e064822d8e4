/**
 * The schema of a journal file. Forward only; see migrate.ts. What each column holds, and how small it is kept, is
 * told in docs/decisions/0002-journal-file.md.
 *
 * Columns without a type (ANY) hold TEXT, or a BLOB of UTF-16 where a name holds half a surrogate pair.
 */
import type { Migration } from '../store/migrate.ts';

const FIRST = `
CREATE TABLE meta (
  key TEXT PRIMARY KEY,
  value ANY NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE source (
  id INTEGER PRIMARY KEY,
  since INTEGER NOT NULL,
  monitor ANY NOT NULL,
  via ANY,
  boot ANY
) STRICT;
CREATE INDEX source_by_name ON source (monitor, via, boot);

CREATE TABLE word (
  id INTEGER PRIMARY KEY,
  since INTEGER NOT NULL,
  text ANY NOT NULL UNIQUE
) STRICT;

CREATE TABLE record (
  cursor INTEGER PRIMARY KEY,
  at INTEGER NOT NULL,
  kind INTEGER NOT NULL,
  source INTEGER,
  seq INTEGER,
  measured INTEGER,
  body BLOB NOT NULL,
  seal BLOB
) STRICT;
CREATE UNIQUE INDEX record_by_source ON record (source, seq) WHERE source IS NOT NULL;
CREATE INDEX record_measured_late ON record (measured) WHERE measured IS NOT NULL;
`;

export const JOURNAL_MIGRATIONS: readonly Migration[] = [{ id: 1, name: 'records, names, seals', sql: FIRST }];
