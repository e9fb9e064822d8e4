/** Walks a journal from its first record to the last that was there at the start, recomputing each seal. */
import { KINDS } from '../../shared/incident/records.ts';
import type { Db } from '../store/open-database.ts';
import { ByteWriter } from './byte-writer.ts';
import { addSource, addWord, beginCommit, beginRecord, endRecord, sealOf } from './chain.ts';
import { NameWalk } from './name-walk.ts';
import { decodeRecord } from './record-codec.ts';

export type Fault = { readonly cursor: number; readonly reason: string };

type WalkRow = {
  readonly cursor: number;
  readonly at: number;
  readonly kind: number;
  readonly source: number | null;
  readonly seq: number | null;
  readonly measured: number | null;
  readonly body: Buffer;
  readonly seal: Buffer | null;
};

const PAGE = 2000;
const PAGE_SQL =
  'SELECT cursor, at, kind, source, seq, measured, body, seal FROM record WHERE cursor > ? AND cursor <= ? ORDER BY cursor LIMIT ?';

export class ChainWalk {
  records = 0;
  commits = 0;
  seal: Buffer;
  lastKind = '';
  readonly #db: Db;
  readonly #base: number | null;
  readonly #names: NameWalk;
  readonly #bytes = new ByteWriter();
  readonly #wantedHead: string | undefined;
  #headAt: number | null = null;
  #lastAt = Number.NEGATIVE_INFINITY;

  constructor(db: Db, base: number | null, begin: Buffer, wantedHead: string | undefined) {
    this.#db = db;
    this.#base = base;
    this.#names = new NameWalk(db);
    this.seal = begin;
    this.#wantedHead = wantedHead;
    this.#noteHead();
  }

  /** The first fault, or null. */
  run(): Fault | null {
    const ends = this.#db.prepare<[], { first: number | null; last: number | null }>(
      'SELECT (SELECT min(cursor) FROM record) AS first, (SELECT max(cursor) FROM record) AS last',
    );
    const { first, last } = ends.get() ?? { first: null, last: null };
    if (first !== null && first < 1) return { cursor: first, reason: `record ${first} stands before the first` };
    if (last !== null) {
      const fault = this.#walkTo(last);
      if (fault !== null) return fault;
    }
    const now = ends.get()?.last ?? 0; // a server may have gone on in the meantime
    const stray = this.#names.left(this.records, now);
    return stray === null ? null : { cursor: 0, reason: stray };
  }

  /** Null where the head that was asked for did not come by. */
  recordsAfterHead(): number | null {
    return this.#headAt === null ? null : this.records - this.#headAt;
  }

  #walkTo(last: number): Fault | null {
    const page = this.#db.prepare<[number, number, number], WalkRow>(PAGE_SQL);
    let commit: WalkRow[] = [];
    for (let after = 0; after < last; ) {
      const rows = page.all(after, last, PAGE);
      for (const row of rows) {
        if (row.cursor !== after + 1) return { cursor: after + 1, reason: `record ${after + 1} is missing` };
        after = row.cursor;
        commit.push(row);
        if (row.seal === null) continue;
        const fault = this.#checkCommit(commit, row.seal);
        if (fault !== null) return fault;
        commit = [];
      }
      if (rows.length === 0) return { cursor: after + 1, reason: `record ${after + 1} is missing` };
    }
    const open = commit[0];
    if (open === undefined) return null;
    return {
      cursor: open.cursor,
      reason: `records ${open.cursor} to ${last} have no seal: the end of their commit is missing`,
    };
  }

  #checkCommit(commit: readonly WalkRow[], seal: Buffer): Fault | null {
    const first = commit[0];
    const last = commit[commit.length - 1];
    if (first === undefined || last === undefined) return null;
    if (this.#base === null) return { cursor: first.cursor, reason: 'meta: the base of the times is missing' };
    const names = this.#names.take(first.cursor);
    if (typeof names === 'string') return { cursor: first.cursor, reason: names };
    const out = this.#bytes;
    beginCommit(out, this.seal);
    for (const row of commit) {
      const fault = this.#checkRow(row, this.#base);
      if (fault !== null) return fault;
      const measured = row.measured === null ? null : row.measured + this.#base;
      const from = beginRecord(out, { ...row, at: row.at + this.#base, measured });
      out.raw(row.body);
      endRecord(out, from);
    }
    for (const s of names.sources) addSource(out, s.id, s.monitor, s.via, s.boot);
    for (const w of names.words) addWord(out, w.id, w.text);
    const computed = sealOf(out);
    if (!computed.equals(seal)) return { cursor: first.cursor, reason: mismatch(first.cursor, last.cursor) };
    this.seal = computed;
    this.records = last.cursor;
    this.commits += 1;
    this.#noteHead();
    return null;
  }

  #checkRow(row: WalkRow, base: number): Fault | null {
    const { cursor, kind, seq, body } = row;
    const fault = (reason: string): Fault => ({ cursor, reason: `record ${cursor} ${reason}` });
    const at = row.at + base;
    if (!Number.isSafeInteger(at) || !Number.isSafeInteger(row.measured ?? 0)) return fault('has no possible time');
    if (at <= this.#lastAt) return fault('is not later than the one before it');
    this.#lastAt = at;
    try {
      const source = row.source === null ? null : this.#names.source(row.source);
      if ((seq !== null) !== (kind === KINDS.packet))
        return fault('has a number where it should have none, or none where it should');
      const boot = source?.boot;
      const identity =
        source === null || seq === null || boot === undefined
          ? null
          : { monitor: source.monitor, via: source.via, boot, seq };
      const found = decodeRecord({ cursor, at, kind, identity, body }, this.#names).kind;
      if (found !== 'event' && found !== 'difference') this.lastKind = found; // what was derived comes after what closed it
      return null;
    } catch (error) {
      return fault(`cannot be read: ${error instanceof Error ? error.message : String(error)}`.replace(/\s+/g, ' '));
    }
  }

  #noteHead(): void {
    if (this.#wantedHead !== undefined && this.seal.toString('hex') === this.#wantedHead) this.#headAt = this.records;
  }
}

function mismatch(first: number, last: number): string {
  const which = first === last ? `record ${first}` : `one of the records ${first} to ${last} (one commit)`;
  return `${which}, a name first used there, or its seal is not as it was written`;
}
