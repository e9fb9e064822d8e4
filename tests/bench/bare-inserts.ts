/**
 * The baseline for the disk: bare prepared inserts of rows of the same size with the same unique index, in the same
 * batches, with synchronous=FULL. Prints rows a second.
 */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';

const size = Number(process.argv[2] ?? 100);
const seconds = Number(process.argv[3] ?? 3);
const folder = mkdtempSync(join(tmpdir(), 'upwind-bench-'));
const db = new Database(join(folder, 'bare.db'));
db.pragma('journal_mode = WAL');
db.pragma('synchronous = FULL');
db.exec(
  'CREATE TABLE row (cursor INTEGER PRIMARY KEY, at INTEGER, source INTEGER, seq INTEGER, body BLOB) STRICT; CREATE UNIQUE INDEX row_key ON row (source, seq);',
);
const insert = db.prepare('INSERT INTO row (cursor, at, source, seq, body) VALUES (?, ?, ?, ?, ?)');
const body = Buffer.alloc(52, 7);
let cursor = 0;
const commit = db.transaction(() => {
  for (let i = 0; i < size; i += 1) {
    cursor += 1;
    insert.run(cursor, cursor * 1000, cursor % 100, cursor, body);
  }
});
const until = performance.now() + seconds * 1000;
const from = performance.now();
while (performance.now() < until) commit.immediate();
process.stdout.write(`${Math.round((cursor / (performance.now() - from)) * 1000)}\n`);
db.close();
rmSync(folder, { recursive: true });
