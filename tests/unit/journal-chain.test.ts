/** The file read with nothing but SQL, SHA-256 and the layout in docs/decisions/0002-journal-file.md. */
import { createHash } from 'node:crypto';
import Database from 'better-sqlite3';
import { expect, it } from 'vitest';
import { openJournal } from '../../server/journal/sqlite-journal.ts';
import { CLOSED, EPOCH, packetOf, refusedOf, temporaryFolder, timed } from './journal-sample.ts';

type Row = Record<'cursor' | 'at' | 'kind' | 'id' | 'since', bigint> &
  Record<'source' | 'seq' | 'measured', bigint | null> &
  Record<'body', Buffer> &
  Record<'monitor' | 'via' | 'boot' | 'text', string | Buffer | null> & { seal: Buffer | null };

function u32(x: bigint | number): Buffer {
  const bytes = Buffer.alloc(4);
  bytes.writeUInt32BE(Number(x));
  return bytes;
}

function i64(x: bigint): Buffer {
  const bytes = Buffer.alloc(8);
  bytes.writeBigInt64BE(x);
  return bytes;
}

function cell(x: string | Buffer | null): Buffer {
  if (x === null) return Buffer.from([0]);
  const bytes = Buffer.from(x);
  return Buffer.concat([Buffer.from([typeof x === 'string' ? 1 : 2]), u32(bytes.length), bytes]);
}

function recordBytes(row: Row, base: bigint): Buffer {
  const flags = (row.source === null ? 0 : 1) + (row.seq === null ? 0 : 2) + (row.measured === null ? 0 : 4);
  const parts = [Buffer.from([3, flags]), i64(row.cursor), i64(row.at + base), Buffer.from([Number(row.kind)])];
  if (row.source !== null) parts.push(u32(row.source));
  if (row.seq !== null) parts.push(i64(row.seq));
  if (row.measured !== null) parts.push(i64(row.measured + base));
  return Buffer.concat([...parts, u32(row.body.length), row.body]);
}

it('can be proven from the documented layout alone', () => {
  const folder = temporaryFolder();
  const file = folder.path('one.journal');
  const journal = openJournal(file, { create: { epoch: EPOCH } });
  const other = new Map([['cl2', { value: 0.3, unit: 'ppm' as const }]]);
  journal.append(timed(0, packetOf('M-1', 1), refusedOf('M-1'), packetOf('M\ud800', 2 ** 53 - 1, { via: 'north' })));
  journal.append(timed(3, packetOf('M-1', 2, { readings: other, ageMs: 86_400_000 })));
  journal.append(timed(4, CLOSED));
  const head = Buffer.from(journal.head().hash).toString('hex');
  journal.close();

  const db = new Database(file, { readonly: true });
  db.defaultSafeIntegers(true);
  const all = (sql: string) => db.prepare<[], Row>(sql).all();
  const base = db.prepare<[], bigint>("SELECT value FROM meta WHERE key = 'base'").pluck().get() ?? 0n;
  const sources = all('SELECT * FROM source ORDER BY id');
  const words = all('SELECT * FROM word ORDER BY id');
  let seal = createHash('sha256').update(`upwind journal 1\n${EPOCH}`).digest();
  let commit: Row[] = [];
  for (const row of all('SELECT * FROM record ORDER BY cursor')) {
    commit.push(row);
    if (row.seal === null) continue;
    const first = commit[0]?.cursor;
    const hash = createHash('sha256').update(seal);
    for (const record of commit) hash.update(recordBytes(record, base));
    for (const s of sources.filter((source) => source.since === first)) {
      hash.update(Buffer.concat([Buffer.from([1]), u32(s.id), cell(s.monitor), cell(s.via), cell(s.boot)]));
    }
    for (const w of words.filter((word) => word.since === first)) {
      hash.update(Buffer.concat([Buffer.from([2]), u32(w.id), cell(w.text)]));
    }
    seal = hash.digest();
    expect(row.seal.toString('hex'), `commit that ends with ${row.cursor}`).toBe(seal.toString('hex'));
    commit = [];
  }
  db.close();
  folder.remove();
  expect(seal.toString('hex')).toBe(head);
  expect(words.map((word) => word.text)).toEqual(['relay-north', 'cl2']);
});

it('holds a packet in the bytes that are documented', () => {
  const folder = temporaryFolder();
  const file = folder.path('one.journal');
  const journal = openJournal(file, { create: { epoch: EPOCH } });
  const status = { battery: 87, motion: 'still', pump: 'running', help: false } as const;
  journal.append(timed(0, packetOf('M-1', 1), packetOf('M-1', 2, { status, position: { lat: 38.5, lon: -85 } })));
  journal.close();
  const db = new Database(file, { readonly: true });
  const bodies = db.prepare<[], Buffer>('SELECT body FROM record ORDER BY cursor').pluck().all();
  db.close();
  folder.remove();
  // By hand: version 1; no fields; relay word 1; one reading: co (2), value (8), usual unit (16) = 0x1a;
  // 35 is zigzag 70, times 8 = 560 = 4 * 128 + 48: 0xb0 0x04.
  expect(bodies[0]?.toString('hex')).toBe('010001011ab004');
  // Fields 8 + 16 = 0x18; then the reading as above; status: battery (1), bits still 2 + running 1 << 2 + no 1 << 5
  // = 38 = 0x26; 87 is zigzag 174, times 8 = 1392 = 10 * 128 + 112: 0xf0 0x0a; position without anything odd (0),
  // 385,000,000 = 0x16f2a240 and -850,000,000 = 0xcd560780, the least byte first.
  expect(bodies[1]?.toString('hex')).toBe('011801011ab004' + '0126f00a' + '00' + '40a2f216800756cd');
});
