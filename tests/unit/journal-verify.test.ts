import { copyFileSync } from 'node:fs';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { verifyCommand } from '../../server/cli/verify.ts';
import { openJournal } from '../../server/journal/sqlite-journal.ts';
import { verifyFile } from '../../server/journal/verify.ts';
import { CLOSED, EPOCH, noteOf, packetOf, refusedOf, temporaryFolder, timed } from './journal-sample.ts';

const folder = temporaryFolder();
const pristine = folder.path('pristine.journal');
/** First and last cursor of each commit. */
const COMMITS: readonly [number, number][] = [
  [1, 1],
  [2, 5],
  [6, 7],
  [8, 9],
  [10, 10],
];
const heads: string[] = [];

beforeAll(() => {
  const journal = openJournal(pristine, { create: { epoch: EPOCH }, synchronous: 'OFF' });
  const other = new Map([['cl2', { value: 0.3, unit: 'ppm' as const }]]);
  const groups = [
    [noteOf('first')],
    [packetOf('M-1', 1), packetOf('M-2', 1, { via: 'north' }), refusedOf('M-1'), noteOf('second')],
    [packetOf('M-1', 2, { ageMs: 30_000, readings: other }), packetOf('M-2', 2, { via: 'north' })],
    [packetOf('M-1', 3), packetOf('M\ud800', 1)],
    [CLOSED],
  ];
  let second = 0;
  for (const group of groups) {
    journal.append(timed(second, ...group));
    second += group.length;
    heads.push(Buffer.from(journal.head().hash).toString('hex'));
  }
  journal.close();
});
afterAll(() => folder.remove());

/** Verifies a copy of the file after `sql` was done to it. */
function tampered(sql: string | ((db: Database.Database) => void), head?: string) {
  const file = folder.path('tampered.journal');
  copyFileSync(pristine, file);
  const db = new Database(file);
  db.pragma('synchronous = OFF'); // a copy that is thrown away
  db.pragma('journal_mode = DELETE');
  if (typeof sql === 'string') db.exec(sql);
  else sql(db);
  db.close();
  return verifyFile(file, head === undefined ? {} : { head });
}

function commitOf(cursor: number): [number, number] {
  const found = COMMITS.find(([first, last]) => first <= cursor && cursor <= last);
  if (found === undefined) throw new Error(`no commit holds ${cursor}`);
  return found;
}

/** Every value that differs from `value` in one byte, or for a null and a number two others. */
function changesOf(value: unknown): unknown[] {
  if (value === null) return [1n, Buffer.from([1])];
  if (typeof value === 'number') return [BigInt(value + 1), BigInt(value + 256), null];
  const text = typeof value === 'string';
  if (!text && !Buffer.isBuffer(value)) throw new Error('an unexpected column');
  const bytes = Buffer.from(value);
  return Array.from(bytes, (byte, i) => {
    const changed = Buffer.from(bytes);
    changed[i] = byte ^ 1;
    return text ? changed.toString('utf8') : changed;
  });
}

describe('a file that nobody touched', () => {
  it('verifies, and says that without a head a cut end cannot be excluded', () => {
    const wanted = { ok: true, epoch: EPOCH, records: 10, commits: 5, headHex: heads[4], open: false };
    expect(verifyFile(pristine)).toEqual({ ...wanted, recordsAfterHead: null });
    expect(verifyFile(pristine, { head: heads[4] ?? '' })).toEqual({ ...wanted, recordsAfterHead: 0 });
    expect(verifyFile(pristine, { head: heads[2]?.toUpperCase() ?? '' })).toMatchObject({ recordsAfterHead: 3 });
  });

  it('refuses the head of another file', () => {
    const result = verifyFile(pristine, { head: 'ab'.repeat(32) });
    expect(result).toMatchObject({ ok: false, reason: expect.stringContaining('not in this file') });
  });

  it('verifies while a writer has it open', () => {
    const file = folder.path('open.journal');
    const journal = openJournal(file, { create: { epoch: EPOCH } });
    journal.append(timed(0, packetOf('M-1', 1)));
    expect(verifyFile(file)).toMatchObject({ ok: true, records: 1, open: true });
    journal.append(timed(1, packetOf('M-1', 2)));
    expect(verifyFile(file)).toMatchObject({ ok: true, records: 2, open: true });
    journal.close();
  });
});

describe('a change of one byte', () => {
  it('in any column of any record is found, and its commit named', () => {
    const db = new Database(pristine, { readonly: true });
    const rows = db.prepare<[], Record<string, unknown>>('SELECT * FROM record').all();
    db.close();
    let tried = 0;
    for (const row of rows) {
      const cursor = Number(row.cursor);
      const [first, last] = commitOf(cursor);
      for (const [column, value] of Object.entries(row)) {
        if (column === 'cursor') continue;
        for (const changed of changesOf(value).filter((_, i) => i % 7 === 0 || i < 3)) {
          let done = true;
          const result = tampered((copy) => {
            try {
              copy.prepare(`UPDATE record SET ${column} = ? WHERE cursor = ?`).run(changed, cursor);
            } catch {
              done = false; // the table itself refused it
            }
          });
          if (!done) continue;
          tried += 1;
          expect(result.ok, `${column} of ${cursor}`).toBe(false);
          if (result.ok) continue;
          // A seal that is gone makes its commit run into the next: the fault shows in the one or the other.
          expect(result.cursor, `${column} of ${cursor}: ${result.reason}`).toBeGreaterThanOrEqual(first);
          expect(result.cursor, `${column} of ${cursor}: ${result.reason}`).toBeLessThanOrEqual(last);
        }
      }
    }
    expect(tried).toBeGreaterThan(100);
  });

  it('in any name or in what stands in meta is found', () => {
    let tried = 0;
    for (const [table, key] of [
      ['source', 'id'],
      ['word', 'id'],
      ['meta', 'key'],
    ] as const) {
      const db = new Database(pristine, { readonly: true });
      const rows = db.prepare<[], Record<string, unknown>>(`SELECT * FROM ${table}`).all();
      db.close();
      expect(rows.length).toBeGreaterThan(0);
      for (const row of rows) {
        for (const [column, value] of Object.entries(row)) {
          for (const changed of changesOf(value)) {
            let done = true;
            const result = tampered((copy) => {
              try {
                copy.prepare(`UPDATE ${table} SET ${column} = ? WHERE ${key} = ?`).run(changed, row[key]);
              } catch {
                done = false;
              }
            });
            if (!done) continue;
            tried += 1;
            expect(result.ok, `${table}.${column} of ${String(row[key])}`).toBe(false);
          }
        }
      }
    }
    expect(tried).toBeGreaterThan(50);
  });

  it('in a name, to bytes that are no UTF-8, is found', () => {
    const result = tampered("UPDATE source SET boot = cast(x'62ff' AS TEXT) WHERE id = 1");
    expect(result).toMatchObject({ ok: false, cursor: 2 });
  });
});

describe('rows taken out, slipped in or moved', () => {
  it('names the first record that is missing', () => {
    for (let cursor = 1; cursor < 10; cursor++) {
      const result = tampered(`DELETE FROM record WHERE cursor = ${cursor}`);
      expect(result).toEqual({ ok: false, cursor, reason: `record ${cursor} is missing` });
    }
  });

  it('finds a record put behind the last', () => {
    const copy = 'kind, NULL, NULL, NULL, body, seal FROM record WHERE cursor = 10';
    expect(tampered(`INSERT INTO record SELECT 11, at + 9, ${copy}`)).toMatchObject({ ok: false, cursor: 11 });
    expect(tampered(`INSERT INTO record SELECT 0, -9, ${copy}`)).toMatchObject({ ok: false, cursor: 0 });
    expect(tampered('UPDATE record SET cursor = 11 WHERE cursor = 10')).toMatchObject({ ok: false, cursor: 10 });
  });

  it('finds a record put between, the others moved up', () => {
    const result = tampered(`
      UPDATE record SET cursor = -cursor WHERE cursor > 4;
      INSERT INTO record SELECT 5, at + 1, kind, NULL, NULL, NULL, body, NULL FROM record WHERE cursor = 1;
      UPDATE record SET cursor = 1 - cursor WHERE cursor < 0;`);
    expect(result).toMatchObject({ ok: false, cursor: 5, reason: expect.stringContaining('not later') });
  });

  it('finds a record put between with a time that fits', () => {
    const result = tampered(`
      UPDATE record SET cursor = -cursor WHERE cursor > 4;
      INSERT INTO record SELECT 5, at + 1, kind, NULL, NULL, NULL, body, NULL FROM record WHERE cursor = 4;
      UPDATE record SET body = (SELECT body FROM record WHERE cursor = 1) WHERE cursor = 5;
      UPDATE record SET kind = 8 WHERE cursor = 5;
      UPDATE record SET cursor = 1 - cursor WHERE cursor < 0;`);
    expect(result).toMatchObject({ ok: false, cursor: 2, reason: expect.stringContaining('2 to 6') });
  });

  it('finds two records that changed places, their times left or taken along', () => {
    const swap =
      'UPDATE record SET cursor = -6 WHERE cursor = 6; UPDATE record SET cursor = 6 WHERE cursor = 7; UPDATE record SET cursor = 7 WHERE cursor = -6;';
    expect(tampered(swap)).toMatchObject({ ok: false, cursor: 6 });
    const bodies =
      'CREATE TEMP TABLE t AS SELECT body FROM record WHERE cursor = 6; UPDATE record SET body = (SELECT body FROM record WHERE cursor = 2) WHERE cursor = 6; UPDATE record SET body = (SELECT body FROM t) WHERE cursor = 2;';
    expect(tampered(bodies)).toMatchObject({ ok: false, cursor: 2 });
  });

  it('finds an end that was cut off: by the head, and by itself inside a commit', () => {
    const cut = 'DELETE FROM record WHERE cursor > 9';
    expect(tampered(cut, heads[4])).toMatchObject({
      ok: false,
      reason: expect.stringContaining('cut off after record 9'),
    });
    expect(tampered(cut)).toMatchObject({ ok: true, records: 9, recordsAfterHead: null });
    expect(tampered('DELETE FROM record WHERE cursor > 8')).toMatchObject({
      ok: false,
      cursor: 8,
      reason: expect.stringContaining('no seal'),
    });
  });

  it('finds names that belong to no commit, or are missing', () => {
    expect(tampered("INSERT INTO word VALUES (99, 3, 'x')")).toMatchObject({
      ok: false,
      cursor: 6,
      reason: 'word 99 belongs to no commit',
    });
    expect(tampered("INSERT INTO word VALUES (99, 1000, 'x')")).toMatchObject({ ok: false });
    expect(tampered("INSERT INTO source VALUES (99, 10, 'M-9', NULL, 'b')")).toMatchObject({ ok: false });
    expect(tampered('DELETE FROM source WHERE id = 2')).toMatchObject({ ok: false, cursor: 2 });
    expect(tampered('DELETE FROM word WHERE id = 2')).toMatchObject({ ok: false, cursor: 6 });
  });

  it('finds what does not belong in a journal', () => {
    const trigger = 'CREATE TRIGGER t AFTER INSERT ON record BEGIN DELETE FROM word; END';
    expect(tampered(trigger)).toMatchObject({ ok: false, reason: 'trigger t does not belong in a journal' });
    expect(tampered('DROP INDEX record_by_source')).toMatchObject({
      ok: false,
      reason: expect.stringContaining('missing'),
    });
    expect(tampered("INSERT INTO meta VALUES ('note', 'x')")).toMatchObject({ ok: false });
    expect(tampered("DELETE FROM meta WHERE key = 'base'")).toMatchObject({ ok: false, cursor: 1 });
  });
});

describe('upwind verify', () => {
  async function run(...argv: string[]) {
    const texts: string[] = [];
    const out = vi.spyOn(process.stdout, 'write').mockImplementation((text) => texts.push(String(text)) > 0);
    const err = vi.spyOn(process.stderr, 'write').mockImplementation((text) => texts.push(String(text)) > 0);
    try {
      return { code: await verifyCommand(argv), text: texts.join('') };
    } finally {
      out.mockRestore();
      err.mockRestore();
    }
  }

  it('says what it found and ends with 0 or 1', async () => {
    const plain = await run(pristine);
    expect(plain).toMatchObject({ code: 0, text: expect.stringContaining('cannot be excluded') });
    expect(plain.text).toContain(`Head ${heads[4]}`);
    expect(await run(pristine, '--head', heads[4] ?? '')).toMatchObject({
      code: 0,
      text: expect.stringContaining('nothing was cut off'),
    });
    tampered('UPDATE record SET at = at + 1 WHERE cursor = 6');
    expect(await run(folder.path('tampered.journal'))).toMatchObject({
      code: 1,
      text: expect.stringContaining('BROKEN at record 6'),
    });
    expect((await run('--help')).code).toBe(0);
  });

  it('refuses a command line that it does not understand', async () => {
    for (const argv of [[], [pristine, pristine], [folder.path('none')], [pristine, '--head', 'abc'], ['--what']]) {
      await expect(run(...argv)).rejects.toMatchObject({ name: 'UsageError' });
    }
  });
});
