import Database from 'better-sqlite3';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { contentKey } from '../../server/journal/content-key.ts';
import { createMemoryJournal } from '../../server/journal/memory-journal.ts';
import { RangeSet } from '../../server/journal/range-set.ts';
import { createSeenIndex } from '../../server/journal/seen-index.ts';
import { migrate } from '../../server/store/migrate.ts';
import type { Db } from '../../server/store/open-database.ts';
import { POST_MIGRATIONS } from '../../server/store/post-migrations.ts';
import type { StoredPacket } from '../../shared/protocol/stored-packet.ts';
import { packet } from './recorder-doubles.ts';

let db: Db;
beforeEach(() => {
  db = new Database(':memory:');
  migrate(db, POST_MIGRATIONS);
  for (const id of [1, 2]) {
    db.prepare("INSERT INTO journal_file (id, file, epoch, kind) VALUES (?, ?, ?, 'standby')").run(
      id,
      `f${id}`,
      `e${id}`,
    );
  }
});
afterEach(() => void db.close());

const SOURCE = { monitor: 'M-07', via: undefined, boot: 'b1' };

describe('the index of packets', () => {
  it('is one row for what comes in line, and merges what fills a hole', () => {
    const seen = createSeenIndex(db);
    seen.add(SOURCE, { lo: 0, hi: 4 }, 1);
    seen.add(SOURCE, { lo: 6, hi: 9 }, 1);
    seen.add(SOURCE, { lo: 10, hi: 12 }, 1);
    expect(seen.rangesOf(SOURCE)).toEqual([
      { lo: 0, hi: 4 },
      { lo: 6, hi: 12 },
    ]);
    seen.add(SOURCE, { lo: 5, hi: 5 }, 1);
    expect(seen.rangesOf(SOURCE)).toEqual([{ lo: 0, hi: 12 }]);
    expect(seen.has({ ...SOURCE, seq: 12 })).toBe(true);
    expect(seen.has({ ...SOURCE, seq: 13 })).toBe(false);
    expect(seen.has({ ...SOURCE, via: 'R2', seq: 5 })).toBe(false);
    expect(seen.has({ ...SOURCE, boot: 'b2', seq: 5 })).toBe(false);
  });

  it('leaves what was copied into a later file with the first', () => {
    const seen = createSeenIndex(db);
    seen.add(SOURCE, { lo: 3, hi: 5 }, 1);
    seen.add(SOURCE, { lo: 0, hi: 9 }, 2);
    const rows = db.prepare('SELECT lo, hi, file_id FROM seen ORDER BY lo').raw().all();
    expect(rows).toEqual([
      [0, 2, 2],
      [3, 5, 1],
      [6, 9, 2],
    ]);
  });

  it('holds the numbers up to 2^53-1', () => {
    const seen = createSeenIndex(db);
    const top = Number.MAX_SAFE_INTEGER;
    seen.add(SOURCE, { lo: top - 1, hi: top }, 1);
    seen.add(SOURCE, { lo: top - 2, hi: top - 2 }, 1);
    expect(seen.rangesOf(SOURCE)).toEqual([{ lo: top - 2, hi: top }]);
    expect(seen.has({ ...SOURCE, seq: top })).toBe(true);
  });

  it('equals a plain set of numbers, and never overlaps', () => {
    const add = fc.record({ lo: fc.nat(40), length: fc.nat(8), file: fc.constantFrom(1, 2) });
    fc.assert(
      fc.property(fc.array(add, { maxLength: 25 }), (adds) => {
        db.exec('DELETE FROM seen');
        const seen = createSeenIndex(db);
        const inMemory = new RangeSet();
        const owner = new Map<number, number>();
        for (const { lo, length, file } of adds) {
          seen.add(SOURCE, { lo, hi: lo + length }, file);
          inMemory.add(lo, lo + length);
          for (let n = lo; n <= lo + length; n += 1) if (!owner.has(n)) owner.set(n, file);
        }
        const rows = db
          .prepare<[], { lo: number; hi: number; file_id: number }>('SELECT * FROM seen ORDER BY lo')
          .all();
        for (let n = 0; n <= 50; n += 1) {
          const holding = rows.filter((r) => r.lo <= n && n <= r.hi);
          expect(holding.map((r) => r.file_id)).toEqual(owner.has(n) ? [owner.get(n)] : []);
          expect(seen.has({ ...SOURCE, seq: n })).toBe(owner.has(n));
          expect(inMemory.has(n)).toBe(owner.has(n));
        }
        // Merged as far as it goes.
        for (const [i, row] of rows.entries()) {
          const next = rows[i + 1];
          if (next !== undefined && next.lo === row.hi + 1) expect(next.file_id).not.toBe(row.file_id);
        }
        for (const [i, range] of inMemory.ranges().entries()) {
          if (i > 0) expect(range.lo).toBeGreaterThan((inMemory.ranges()[i - 1]?.hi ?? 0) + 1);
        }
      }),
    );
  });

  it('compares with the packet in the other file where that can be read', () => {
    const other = createMemoryJournal();
    other.append([{ ...packet(3), at: 1 }]);
    const seen = createSeenIndex(db, { openFile: (file) => (file === 'f1' ? other : null) });
    seen.add(SOURCE, { lo: 3, hi: 3 }, 1);
    seen.add(SOURCE, { lo: 4, hi: 4 }, 2);
    expect(seen.find({ ...SOURCE, seq: 3 })).toEqual({ packet: packet(3).packet });
    expect(seen.find({ ...SOURCE, seq: 4 })).toEqual({ packet: null });
    expect(seen.find({ ...SOURCE, seq: 5 })).toBeNull();
    // The index remembers it, but the file has lost it: it has to be stored again.
    seen.add(SOURCE, { lo: 9, hi: 9 }, 1);
    expect(seen.find({ ...SOURCE, seq: 9 })).toBeNull();
  });
});

describe('the content of a packet', () => {
  const base: StoredPacket = {
    ...packet(1).packet,
    status: { battery: 80, linkQuality: 50 },
    extra: '{"a":1,"b":{"c":2,"d":3}}',
    aside: [{ path: 'weather', raw: 'fog' }],
    readings: new Map([
      ['co', { value: 3, unit: 'ppm' }],
      ['h2s', { aside: { code: 'unit-missing', raw: '{"value":4}' } }],
    ]),
  };
  const same = (changes: Partial<StoredPacket>) => contentKey({ ...base, ...changes }) === contentKey(base);

  it('is the same when it is sent again', () => {
    expect(same({ ageMs: 5, sentAt: 7, status: { battery: 80, linkQuality: 20 } })).toBe(true);
    expect(same({ extra: '{"b":{"d":3,"c":2},"a":1}' })).toBe(true);
    expect(same({ readings: new Map([...base.readings].reverse()) })).toBe(true);
    expect(
      same({
        aside: [
          { path: 'ageMs', raw: 'old' },
          { path: 'weather', raw: 'fog' },
        ],
      }),
    ).toBe(true);
    expect(
      same({ readings: new Map(base.readings).set('h2s', { aside: { code: 'value-invalid', raw: '{"value":4}' } }) }),
    ).toBe(true);
  });

  it('is another when anything else differs', () => {
    expect(same({ measuredAt: 1 })).toBe(false);
    expect(same({ test: true })).toBe(false);
    expect(same({ status: { battery: 79, linkQuality: 50 } })).toBe(false);
    expect(same({ readings: new Map(base.readings).set('co', { value: 3, unit: 'ppm', flag: 'fault' }) })).toBe(false);
    expect(
      same({ readings: new Map(base.readings).set('h2s', { aside: { code: 'unit-missing', raw: '{"value":5}' } }) }),
    ).toBe(false);
    expect(same({ extra: '{"a":1,"b":[["c",2],["d",3]]}' })).toBe(false);
    expect(same({ aside: [{ path: 'weather', raw: 'rain' }] })).toBe(false);
  });
});
