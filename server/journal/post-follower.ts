/**
 * post.db follows the journals: which packets each file holds, and the newest head of its chain. The journal is
 * written first and post.db afterwards, at most once a second; what is missing after a crash is read again at the
 * next start. Each step is one transaction that moves `followed_cursor` along, so doing it again changes nothing.
 */
import type { JournalRecord } from '../../shared/incident/records.ts';
import type { Db } from '../store/open-database.ts';
import type { Journal } from './journal.ts';
import { type Source, sourceOf } from './known-packets.ts';
import { RangeSet } from './range-set.ts';
import type { SeenIndex } from './seen-index.ts';

const BATCH = 5_000;

type Followed = Pick<Journal, 'file' | 'epoch' | 'head' | 'read'>;
export type JournalFileKind = { readonly kind: string; readonly incidentId?: string; readonly name?: string };

/**
 * Row of `journal` in post.db, made where it is missing. A file of another epoch under the same name is another
 * journal: it is followed from its beginning.
 */
export function registerJournal(db: Db, journal: Pick<Journal, 'epoch'>, file: string, as: JournalFileKind): number {
  const id = db
    .prepare(
      `INSERT INTO journal_file (file, epoch, kind, incident_id, name) VALUES (?, ?, ?, ?, ?)
       ON CONFLICT (file) DO UPDATE SET epoch = excluded.epoch, kind = excluded.kind, head = NULL, head_cursor = NULL,
         followed_cursor = NULL WHERE epoch <> excluded.epoch
       RETURNING id`,
    )
    .pluck()
    .get(file, journal.epoch, as.kind, as.incidentId ?? null, as.name ?? null);
  return Number(id ?? db.prepare('SELECT id FROM journal_file WHERE file = ?').pluck().get(file));
}

/** `behind`: post.db knows a later head than the file has, so its tail is gone or it is an older copy. */
export type CatchUp =
  | { readonly status: 'followed'; readonly cursor: number }
  | { readonly status: 'behind'; readonly followedCursor: number; readonly headCursor: number };

export interface PostFollower {
  /** Reads what post.db does not have yet, in batches. At start, and whenever in doubt. Throws what SQLite throws. */
  catchUp(): CatchUp;
  /** Takes note of committed records without writing anything. */
  note(records: readonly JournalRecord[]): void;
  /** Writes what was noted. To be called about once a second. */
  write(): CatchUp;
}

export function createPostFollower(options: {
  readonly db: Db;
  readonly seen: SeenIndex;
  readonly journal: Followed;
  readonly fileId: number;
}): PostFollower {
  const { db, seen, journal, fileId } = options;
  const followed = db.prepare('SELECT followed_cursor FROM journal_file WHERE id = ?').pluck();
  const follow = db.prepare('UPDATE journal_file SET followed_cursor = ?, head_cursor = ?, head = ? WHERE id = ?');
  let noted = new Noted();
  const followedCursor = () => Number(followed.get(fileId) ?? 0);

  const save = db.transaction((batch: Noted, cursor: number) => {
    for (const { source, numbers } of batch.sources()) {
      for (const range of numbers.ranges()) seen.add(source, range, fileId);
    }
    const head = journal.head();
    follow.run(cursor, head.cursor, head.hash, fileId);
  });

  function catchUp(): CatchUp {
    noted = new Noted();
    let cursor = followedCursor();
    const headCursor = journal.head().cursor;
    if (cursor > headCursor) return { status: 'behind', followedCursor: cursor, headCursor };
    for (;;) {
      const records = journal.read(cursor, BATCH);
      const last = records.at(-1);
      if (last === undefined) return { status: 'followed', cursor };
      const batch = new Noted();
      batch.add(records);
      save.immediate(batch, last.cursor);
      cursor = last.cursor;
    }
  }

  return {
    catchUp,
    note(records) {
      noted.add(records);
    },
    write() {
      if (noted.to === null) return { status: 'followed', cursor: followedCursor() };
      // What was noted has to join on to what was written; else the file is read again.
      if (noted.broken || noted.from !== followedCursor() + 1) return catchUp();
      const batch = noted;
      noted = new Noted(); // should the write fail, the next one reads it from the file
      save.immediate(batch, batch.to ?? 0);
      return { status: 'followed', cursor: batch.to ?? 0 };
    },
  };
}

/**
 * Builds the index anew from `files`, oldest first, in one transaction. Reads all of them: not while the post
 * serves. Rows of files that are not given are forgotten by the index until they are given again.
 */
export function rebuildSeen(
  db: Db,
  seen: SeenIndex,
  files: readonly { readonly fileId: number; readonly journal: Followed }[],
): void {
  db.transaction(() => {
    seen.clear();
    db.prepare('UPDATE journal_file SET followed_cursor = NULL').run();
    for (const { fileId, journal } of files) createPostFollower({ db, seen, journal, fileId }).catchUp();
  }).immediate();
}

/** Numbers heard per source in an unbroken run of records. */
class Noted {
  from: number | null = null;
  to: number | null = null;
  broken = false;
  readonly #sources = new Map<string, { source: Source; numbers: RangeSet }>();

  add(records: readonly JournalRecord[]): void {
    for (const record of records) {
      if (this.to !== null && record.cursor !== this.to + 1) this.broken = true;
      this.from ??= record.cursor;
      this.to = record.cursor;
      if (record.kind !== 'packet') continue;
      const { monitor, via, boot, seq } = record.packet;
      const key = `${monitor}\n${via ?? ''}\n${boot}`;
      let entry = this.#sources.get(key);
      if (entry === undefined) {
        entry = { source: sourceOf(record.packet), numbers: new RangeSet() };
        this.#sources.set(key, entry);
      }
      entry.numbers.add(seq);
    }
  }

  sources(): Iterable<{ source: Source; numbers: RangeSet }> {
    return this.#sources.values();
  }
}
