import Database from 'better-sqlite3';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Journal } from '../../server/journal/journal.ts';
import { createMemoryJournal } from '../../server/journal/memory-journal.ts';
import { createPostFollower, rebuildSeen, registerJournal } from '../../server/journal/post-follower.ts';
import { createSeenIndex, type SeenIndex } from '../../server/journal/seen-index.ts';
import { migrate } from '../../server/store/migrate.ts';
import type { Db } from '../../server/store/open-database.ts';
import { POST_MIGRATIONS } from '../../server/store/post-migrations.ts';
import { note, packet } from './recorder-doubles.ts';

let db: Db;
let seen: SeenIndex;
let journal: Journal;
let fileId: number;
let at = 0;

beforeEach(() => {
  db = new Database(':memory:');
  migrate(db, POST_MIGRATIONS);
  seen = createSeenIndex(db);
  journal = createMemoryJournal({ epoch: 'e1' });
  fileId = registerJournal(db, journal, 'a.db', { kind: 'standby' });
});
afterEach(() => void db.close());

const follower = () => createPostFollower({ db, seen, journal, fileId });
function append(...seqs: number[]) {
  return journal.append([...seqs.map((seq) => ({ ...packet(seq), at: ++at })), { ...note(`n${at}`), at: ++at }]);
}
const row = () => db.prepare('SELECT followed_cursor, head_cursor, head FROM journal_file WHERE id = ?').get(fileId);
const index = () => db.prepare('SELECT lo, hi, file_id FROM seen ORDER BY lo').raw().all();

describe('post.db follows the journal', () => {
  it('catches up at start, and writes what was noted since', () => {
    append(0, 1, 2);
    const f = follower();
    expect(f.catchUp()).toEqual({ status: 'followed', cursor: 4 });
    f.note(append(3));
    f.note(append(5));
    expect(index()).toEqual([[0, 2, fileId]]);
    expect(f.write()).toEqual({ status: 'followed', cursor: 8 });
    expect(index()).toEqual([
      [0, 3, fileId],
      [5, 5, fileId],
    ]);
    expect(row()).toEqual({ followed_cursor: 8, head_cursor: 8, head: journal.head().hash });
    expect(f.write()).toEqual({ status: 'followed', cursor: 8 });
  });

  it('reads the file again where something was not noted', () => {
    const f = follower();
    f.catchUp();
    append(0);
    f.note(append(1));
    expect(f.write()).toEqual({ status: 'followed', cursor: 4 });
    f.note(append(2));
    append(3);
    f.note(append(4));
    f.write();
    expect(index()).toEqual([[0, 4, fileId]]);
  });

  it('loses nothing when a write fails', () => {
    const f = follower();
    f.note(append(0));
    db.exec("CREATE TRIGGER no BEFORE INSERT ON seen BEGIN SELECT raise(ABORT, 'full'); END");
    expect(() => f.write()).toThrow('full');
    expect(row()).toMatchObject({ followed_cursor: null });
    db.exec('DROP TRIGGER no');
    f.note(append(1));
    expect(f.write()).toEqual({ status: 'followed', cursor: 4 });
    expect(index()).toEqual([[0, 1, fileId]]);
  });

  it('says when the file is behind what post.db knows, and leaves the newer head alone', () => {
    append(0, 1);
    follower().catchUp();
    const before = row();
    journal = createMemoryJournal({ epoch: 'e1' });
    append(0);
    expect(follower().catchUp()).toEqual({ status: 'behind', followedCursor: 3, headCursor: 2 });
    expect(row()).toEqual(before);
  });

  it('a file of another epoch under the same name is followed from its beginning', () => {
    append(0, 1);
    follower().catchUp();
    journal = createMemoryJournal({ epoch: 'e2' });
    expect(registerJournal(db, journal, 'a.db', { kind: 'standby' })).toBe(fileId);
    append(7);
    expect(follower().catchUp()).toEqual({ status: 'followed', cursor: 2 });
    expect(registerJournal(db, journal, 'a.db', { kind: 'standby' })).toBe(fileId);
    expect(row()).toMatchObject({ followed_cursor: 2 });
  });

  it('however often it is cut off and begins again, the index is the same, and the same as rebuilt', () => {
    const step = fc.oneof(
      fc.record({
        do: fc.constant('append' as const),
        seqs: fc.uniqueArray(fc.nat(30), { maxLength: 4 }),
        noted: fc.boolean(),
      }),
      fc.record({ do: fc.constantFrom('write' as const, 'restart' as const, 'catch-up' as const) }),
    );
    fc.assert(
      fc.property(fc.array(step, { maxLength: 25 }), (steps) => {
        db.exec('DELETE FROM seen; UPDATE journal_file SET followed_cursor = NULL');
        journal = createMemoryJournal({ epoch: 'e1' });
        let f = follower();
        const given = new Set<number>();
        for (const s of steps) {
          if (s.do === 'append') {
            const fresh = s.seqs.filter((seq) => !given.has(seq));
            for (const seq of fresh) given.add(seq);
            const records = append(...fresh);
            if (s.noted) f.note(records);
          } else if (s.do === 'write') f.write();
          else if (s.do === 'catch-up') f.catchUp();
          else f = follower(); // what was only noted is gone, as after a crash
        }
        expect(follower().catchUp()).toEqual({ status: 'followed', cursor: journal.head().cursor });
        const followed = index();
        for (let seq = 0; seq <= 30; seq += 1) {
          expect(seen.has({ monitor: 'M-07', via: undefined, boot: 'b1', seq })).toBe(given.has(seq));
        }
        rebuildSeen(db, seen, [{ fileId, journal }]);
        expect(index()).toEqual(followed);
      }),
    );
  });
});
