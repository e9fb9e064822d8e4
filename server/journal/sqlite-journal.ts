/** A journal in a SQLite file: one file an incident, self-contained. Format: docs/decisions/0002-journal-file.md. */
import { closeSync, existsSync, openSync } from 'node:fs';
import { type JournalRecord, KINDS } from '../../shared/incident/records.ts';
import type { PostTime } from '../../shared/incident/time.ts';
import type { StoredPacket } from '../../shared/protocol/stored-packet.ts';
import { type Db, openForReading, openForWriting } from '../store/open-database.ts';
import { ByteWriter } from './byte-writer.ts';
import { firstSeal, SEAL_BYTES, sealOf } from './chain.ts';
import { type CommitRow, encodeCommit, placed } from './commit.ts';
import { type Head, type Journal, JournalError, type PacketKey, type TimedRecord } from './journal.ts';
import { asJournalError } from './journal-errors.ts';
import { JOURNAL_MIGRATIONS } from './journal-migrations.ts';
import { toCell } from './name-cell.ts';
import { Names } from './names.ts';
import { decodeRecord } from './record-codec.ts';
import { prepareStatements, type RecordRow, type Statements } from './statements.ts';

export type OpenJournalOptions = {
  /** Makes the file where it is missing. The epoch is a random id that the caller drew. */
  readonly create?: { readonly epoch: string };
  /** OFF only where losing the file is no loss: measurements and tests. */
  readonly synchronous?: 'FULL' | 'OFF';
};

/**
 * Opens a journal for writing. One process writes a journal at a time; see store/lock.ts.
 * Throws where the file is missing (without `create`), is of another epoch, or cannot be written.
 */
export function openJournal(file: string, options: OpenJournalOptions = {}): SqliteJournal {
  const { create, synchronous } = options;
  if (create === undefined && !existsSync(file)) throw new Error(`${file}: no such journal`);
  try {
    closeSync(openSync(file, 'a', 0o600)); // made here, because SQLite gives its side files the mode of this one
    const db = openForWriting(file, JOURNAL_MIGRATIONS, synchronous === undefined ? {} : { synchronous });
    return opened(db, () => {
      const statements = prepareStatements(db);
      const found = statements.meta.get('epoch');
      if (found === undefined && create !== undefined) statements.addMeta.run('epoch', create.epoch);
      else if (create !== undefined && found !== create.epoch) throw new Error(`${file} is another journal`);
      return new SqliteJournal(file, db, statements, true);
    });
  } catch (error) {
    throw asJournalError(error);
  }
}

/** Opens a journal for reading, also while a server writes it. Throws where it is missing or no journal. */
export function openJournalReadOnly(file: string): SqliteJournal {
  try {
    const db = openForReading(file);
    return opened(db, () => {
      const version = db.pragma('user_version', { simple: true });
      if (version !== JOURNAL_MIGRATIONS.length) {
        throw new JournalError('corrupt', `${file} is not a journal that this build reads (schema ${version})`);
      }
      return new SqliteJournal(file, db, prepareStatements(db), false);
    });
  } catch (error) {
    throw asJournalError(error);
  }
}

/** Closes the file again where it turns out to be none of ours. */
function opened(db: Db, open: () => SqliteJournal): SqliteJournal {
  try {
    return open();
  } catch (error) {
    db.close();
    throw error;
  }
}

/**
 * Up to so many records it is quicker to walk through the rows than to pick a monitor's from the index, which
 * holds all that it ever sent.
 */
const NEAR = 20_000;

/** Not made with `new` outside this file. */
export class SqliteJournal implements Journal {
  readonly file: string;
  readonly epoch: string;
  readonly #db: Db;
  readonly #statements: Statements;
  readonly #names: Names;
  readonly #writable: boolean;
  readonly #bytes = new ByteWriter();
  readonly #write: (rows: readonly CommitRow[], base: number, seal: Buffer) => void;
  /** Post time that the file counts from; null until its first commit. */
  #base: PostTime | null;
  /** Null where another process may append: then it is read each time. */
  #head: Head | null = null;
  #broken: JournalError | null = null;

  constructor(file: string, db: Db, statements: Statements, writable: boolean) {
    const epoch = statements.meta.get('epoch');
    if (typeof epoch !== 'string') throw new JournalError('corrupt', `${file} is not a journal`);
    this.file = file;
    this.epoch = epoch;
    this.#db = db;
    this.#statements = statements;
    this.#writable = writable;
    this.#names = new Names(statements);
    this.#base = this.#readBase();
    if (writable) this.#head = this.#readHead();
    this.#write = db.transaction(this.#writeRows.bind(this)).immediate;
  }

  head(): Head {
    return this.#head ?? this.#guard(() => this.#readHead());
  }

  append(records: readonly TimedRecord[]): readonly JournalRecord[] {
    if (!this.#writable) throw new JournalError('read-only', `${this.file} was opened for reading`);
    if (this.#broken !== null) throw this.#broken;
    const first = records[0];
    if (first === undefined) return [];
    const before = this.head();
    try {
      const base = this.#base ?? first.at;
      const rows = encodeCommit(this.#bytes, this.#names, records, before);
      const seal = sealOf(this.#bytes);
      this.#write(rows, base, seal);
      this.#names.keep();
      this.#base = base;
      const last = rows[rows.length - 1];
      if (last !== undefined) this.#head = { cursor: last.cursor, at: last.at, hash: seal };
    } catch (error) {
      this.#names.drop();
      throw this.#failure(error);
    }
    return records.map((record, i) => placed(record, before.cursor + 1 + i));
  }

  find(key: PacketKey): { cursor: number; packet: StoredPacket } | null {
    return this.#guard(() => {
      const source = this.#names.findSource(key.monitor, key.via, key.boot);
      if (source === null) return null;
      const row = this.#statements.byKey.get(source.id, key.seq);
      if (row === undefined) return null;
      const record = this.#decode(row);
      return record.kind === 'packet' ? { cursor: record.cursor, packet: record.packet } : null;
    });
  }

  read(cursor: number, limit: number): readonly JournalRecord[] {
    return this.#guard(() => this.#decodeAll(this.#statements.after.all(cursor, limit)));
  }

  recentOf(monitor: string, limit: number): readonly JournalRecord[] {
    return this.#guard(() => {
      const { recentNear, recentOf } = this.#statements;
      const cell = toCell(monitor);
      const near = recentNear.all(this.head().cursor - NEAR, cell, limit);
      return this.#decodeAll(near.length < limit ? recentOf.all(cell, limit) : near);
    });
  }

  packetsOf(monitor: string, from: PostTime, to: PostTime, limit: number): readonly JournalRecord[] {
    return this.#guard(() => {
      const first = this.cursorAt(from - 1) + 1; // post times are whole microseconds
      const last = this.cursorAt(to);
      const { packetsNear, packetsOf } = this.#statements;
      const cell = toCell(monitor);
      if (last - first < NEAR) return this.#decodeAll(packetsNear.all(first, last, cell, limit));
      return this.#decodeAll(packetsOf.all(cell, first, last, limit));
    });
  }

  /** Records of one kind with cursors in [from, to], newest first; walks through all that lie between. */
  ofKind(kind: number, from: number, to: number, limit: number): readonly JournalRecord[] {
    return this.#guard(() => this.#decodeAll(this.#statements.ofKind.all(from, to, kind, limit)));
  }

  /** Records of packets of that monitor that could not be taken, newest first. */
  refusedOf(monitor: string, limit: number): readonly JournalRecord[] {
    return this.#guard(() => {
      const source = this.#names.findSource(monitor, undefined, undefined);
      if (source === null) return [];
      return this.#decodeAll(this.#statements.aboutOf.all(source.id, KINDS.refused, limit));
    });
  }

  /**
   * Packets that were measured in [from, to] by post time but arrived more than 10 s after that, in order of
   * measurement. All others of that time lie where they arrived: at most 10 s after.
   */
  measuredLate(from: PostTime, to: PostTime, limit: number): readonly JournalRecord[] {
    const base = this.#baseNow();
    if (base === null) return [];
    return this.#guard(() => this.#decodeAll(this.#statements.measuredLate.all(from - base, to - base, limit)));
  }

  /** Seal of the commit that ends at `cursor`; null where no commit does. */
  sealAt(cursor: number): Uint8Array | null {
    return this.#guard(() => this.#statements.sealOf.get(cursor) ?? null);
  }

  /** The last cursor whose record has a post time of at most `at`; 0 where there is none. */
  cursorAt(at: PostTime): number {
    const base = this.#baseNow();
    if (base === null) return 0;
    return this.#guard(() => {
      let low = 0;
      let high = this.head().cursor;
      while (low < high) {
        const middle = Math.ceil((low + high) / 2);
        const found = this.#statements.atOf.get(middle);
        if (found === undefined) throw new RangeError(`record ${middle} is missing`);
        if (found + base <= at) low = middle;
        else high = middle - 1;
      }
      return low;
    });
  }

  /** What the connection runs with now, as SQLite numbers it: 2 is FULL, 0 OFF. To be asked after a commit. */
  synchronous(): number {
    return Number(this.#db.pragma('synchronous', { simple: true }));
  }

  close(): void {
    this.#db.close();
  }

  #readBase(): PostTime | null {
    const base = this.#statements.meta.get('base');
    return typeof base === 'number' ? base : null;
  }

  /** A reader may have opened the file before its first commit. */
  #baseNow(): PostTime | null {
    this.#base ??= this.#readBase();
    return this.#base;
  }

  #readHead(): Head {
    const row = this.#statements.head.get();
    if (row === undefined) return { cursor: 0, at: 0, hash: firstSeal(this.epoch) };
    const base = this.#baseNow();
    if (base === null || row.seal?.length !== SEAL_BYTES) {
      throw new JournalError('corrupt', `${this.file}: record ${row.cursor} is not the end of a commit`);
    }
    return { cursor: row.cursor, at: base + row.at, hash: row.seal };
  }

  #writeRows(rows: readonly CommitRow[], base: number, seal: Buffer): void {
    const { addRecord, addMeta } = this.#statements;
    if (this.#base === null) addMeta.run('base', BigInt(base));
    const last = rows[rows.length - 1];
    for (const row of rows) {
      addRecord.run(
        row.cursor,
        row.at - base,
        row.kind,
        row.source,
        row.seq,
        row.measured === null ? null : row.measured - base,
        this.#bytes.view(row.bodyFrom, row.bodyTo),
        row === last ? seal : null,
      );
    }
    this.#names.write(rows[0]?.cursor ?? 0);
  }

  #decode(row: RecordRow): JournalRecord {
    const { cursor, kind, seq, body } = row;
    const at = row.at + (this.#baseNow() ?? 0);
    if (row.source === null || seq === null)
      return decodeRecord({ cursor, at, kind, identity: null, body }, this.#names);
    const { monitor, via, boot } = this.#names.source(row.source);
    if (boot === undefined) throw new RangeError(`record ${cursor} has a source without a boot`);
    return decodeRecord({ cursor, at, kind, identity: { monitor, via, boot, seq }, body }, this.#names);
  }

  #decodeAll(rows: readonly RecordRow[]): readonly JournalRecord[] {
    return rows.map((row) => this.#decode(row));
  }

  /** What cannot be read is a fault of the file, by whichever of the readers it was found. */
  #guard<T>(read: () => T): T {
    try {
      return read();
    } catch (error) {
      const known = asJournalError(error);
      if (known instanceof JournalError) throw known;
      const reason = error instanceof Error ? error.message : String(error);
      throw new JournalError('corrupt', `${this.file}: ${reason}`, { cause: error });
    }
  }

  /** After a failed sync the kernel may have dropped what it could not write: the file is not written again. */
  #failure(error: unknown): unknown {
    const known = asJournalError(error);
    if (known instanceof JournalError && (known.code === 'io' || known.code === 'corrupt')) this.#broken = known;
    return known;
  }
}
