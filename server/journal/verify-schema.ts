/** What of a journal file stands outside its records: its tables, and the two facts of `meta`. */
import Database from 'better-sqlite3';
import { migrate } from '../store/migrate.ts';
import type { Db } from '../store/open-database.ts';
import { JOURNAL_MIGRATIONS } from './journal-migrations.ts';

/** One line about the first table, index, view or trigger that is not ours, or null. */
export function schemaFault(db: Db): string | null {
  const version = Number(db.pragma('user_version', { simple: true }));
  if (!(version >= 1 && version <= JOURNAL_MIGRATIONS.length)) {
    return `not a journal that this build knows (schema ${version})`;
  }
  const model = new Database(':memory:');
  migrate(model, JOURNAL_MIGRATIONS.slice(0, version));
  const wanted = describe(model);
  model.close();
  const found = describe(db);
  for (const [name, sql] of found) {
    if (!wanted.has(name)) return `${name} does not belong in a journal`;
    if (wanted.get(name) !== sql) return `${name} is not as a journal has it`;
  }
  for (const name of wanted.keys()) if (!found.has(name)) return `${name} is missing`;
  return null;
}

function describe(db: Db): Map<string, string | null> {
  const rows = db
    .prepare<[], { type: string; name: string; sql: string | null }>(
      "SELECT type, name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite_stat%' ORDER BY name",
    )
    .all();
  return new Map(rows.map((row) => [`${row.type} ${row.name}`, row.sql]));
}

/** The facts the chain begins from, or one line about what is wrong with them. */
export function readMeta(db: Db): { epoch: string; base: number | null } | string {
  const rows = db
    .prepare<[], { key: string; type: string; value: unknown }>(
      "SELECT key, typeof(value) AS type, iif(typeof(value) = 'text', cast(value AS BLOB), value) AS value FROM meta ORDER BY key",
    )
    .all();
  let epoch: string | null = null;
  let base: number | null = null;
  for (const { key, type, value } of rows) {
    if (key === 'epoch' && type === 'text' && Buffer.isBuffer(value)) epoch = value.toString('utf8');
    else if (key === 'base' && type === 'integer' && typeof value === 'number') base = value;
    else return `meta: ${JSON.stringify(key)} does not belong there`;
  }
  return epoch === null ? 'meta: the epoch is missing' : { epoch, base };
}
