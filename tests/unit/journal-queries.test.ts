import Database from 'better-sqlite3';
import { expect, it } from 'vitest';
import { JOURNAL_MIGRATIONS } from '../../server/journal/journal-migrations.ts';
import { SQL } from '../../server/journal/statements.ts';
import { migrate } from '../../server/store/migrate.ts';

const db = new Database(':memory:');
migrate(db, JOURNAL_MIGRATIONS);

/** The newest record is found by walking the rowid backwards, one step. */
const SCANS: Readonly<Record<string, string>> = { head: 'SCAN record' };
/** Sorting what an index found is no walk through the table. */
const HARMLESS = /^(USE TEMP B-TREE FOR ORDER BY|LIST SUBQUERY \d+|CREATE BLOOM FILTER)$/;

it.each(Object.entries(SQL).filter(([, sql]) => sql.startsWith('SELECT')))('%s uses an index', (name, sql) => {
  const bound = (sql.match(/\?/g) ?? []).map(() => 1);
  const plan = db.prepare<unknown[], { detail: string }>(`EXPLAIN QUERY PLAN ${sql}`).all(...bound);
  const steps = plan.map((row) => row.detail).filter((detail) => !HARMLESS.test(detail));
  expect(steps.length).toBeGreaterThan(0);
  for (const step of steps) {
    if (SCANS[name] === step) continue;
    expect(step).toMatch(/^SEARCH (record|source|word|meta)\b/);
  }
});

it('takes the cursors of a monitor from the index alone', () => {
  const plan = db.prepare<unknown[], { detail: string }>(`EXPLAIN QUERY PLAN ${SQL.packetsOf}`).all('M-1', 1, 9, 5);
  const steps = plan.map((row) => row.detail).join('\n');
  expect(steps).toContain('SEARCH record USING COVERING INDEX record_by_source');
});
