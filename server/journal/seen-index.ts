/**
 * Which packet numbers of each source any journal of this post holds, as merged ranges in post.db: a duplicate is
 * recognised for ever, over all files. The ranges of one source never overlap, whatever files they are of: a packet
 * copied from one file into the next stays with the first. It can be built again from the files at any time.
 */
import type { Db } from '../store/open-database.ts';
import type { Journal, PacketKey } from './journal.ts';
import type { SeenLookup, Source } from './known-packets.ts';
import type { Range } from './range-set.ts';

export interface SeenIndex extends SeenLookup {
  has(key: PacketKey): boolean;
  /** Adds lo..hi of `source` as held by the file of row `fileId`; what is there already stays. In the caller's transaction. */
  add(source: Source, range: Range, fileId: number): void;
  clear(): void;
}
export type SeenIndexOptions = {
  /** The journal in a file of `journal_file`, to compare a packet with; null when it cannot be read now. */
  readonly openFile?: (file: string) => Pick<Journal, 'find'> | null;
};

type Row = { lo: number; hi: number; file_id: number };

export function createSeenIndex(db: Db, options: SeenIndexOptions = {}): SeenIndex {
  const where = 'monitor = :monitor AND via = :via AND boot = :boot';
  const holding = db.prepare<object, { file: string; hi: number }>(
    `SELECT file, hi FROM seen JOIN journal_file ON journal_file.id = file_id
     WHERE ${where} AND lo <= :seq ORDER BY lo DESC LIMIT 1`,
  );
  const all = db.prepare<object, Range>(`SELECT lo, hi FROM seen WHERE ${where} ORDER BY lo`);
  // Ranges do not overlap, so those that touch lo..hi are the last that begins before it, and those beginning in it.
  const touching = db.prepare<object, Row>(
    `SELECT lo, hi, file_id FROM seen WHERE ${where} AND lo <= :hi + 1
     AND lo >= ifnull((SELECT max(lo) FROM seen WHERE ${where} AND lo < :lo), :lo) ORDER BY lo`,
  );
  const insert = db.prepare(
    'INSERT INTO seen (monitor, via, boot, lo, hi, file_id) VALUES (:monitor, :via, :boot, :lo, :hi, :fileId)',
  );
  const extend = db.prepare(`UPDATE seen SET hi = :hi WHERE ${where} AND lo = :lo`);
  const remove = db.prepare(`DELETE FROM seen WHERE ${where} AND lo = :lo`);
  const clear = db.prepare('DELETE FROM seen');

  function fileOf(key: PacketKey): string | null {
    const row = holding.get({ ...columns(key), seq: key.seq });
    return row !== undefined && row.hi >= key.seq ? row.file : null;
  }

  function add(source: Source, range: Range, fileId: number): void {
    const of = columns(source);
    const rows = touching.all({ ...of, ...range });
    for (const piece of missingPieces(range, rows)) addPiece(of, piece, rows, fileId);
  }

  /** `piece` overlaps nothing: it grows a neighbour of its own file, or becomes a range of its own. */
  function addPiece(of: object, piece: Range, rows: Row[], fileId: number): void {
    const before = rows.find((row) => row.file_id === fileId && row.hi === piece.lo - 1);
    const after = rows.find((row) => row.file_id === fileId && row.lo === piece.hi + 1);
    const hi = after?.hi ?? piece.hi;
    if (after !== undefined) remove.run({ ...of, lo: after.lo });
    if (before !== undefined) {
      extend.run({ ...of, lo: before.lo, hi });
      before.hi = hi;
    } else {
      insert.run({ ...of, lo: piece.lo, hi, fileId });
      rows.push({ lo: piece.lo, hi, file_id: fileId });
    }
    if (after !== undefined) rows.splice(rows.indexOf(after), 1);
  }

  return {
    has: (key) => fileOf(key) !== null,
    rangesOf: (source) => all.all(columns(source)),
    find(key) {
      const file = fileOf(key);
      if (file === null) return null;
      const journal = options.openFile?.(file) ?? null;
      if (journal === null) return { packet: null };
      // A file that lost its tail, or an older copy, may not have what the index remembers: then it is not stored.
      const found = journal.find(key);
      return found === null ? null : { packet: found.packet };
    },
    add,
    clear: () => void clear.run(),
  };
}

function columns(source: Source): { monitor: string; via: string; boot: string } {
  return { monitor: source.monitor, via: source.via ?? '', boot: source.boot };
}

/** The parts of `range` that none of `rows` (rising, apart from each other) holds. */
function missingPieces(range: Range, rows: readonly Row[]): Range[] {
  const pieces: Range[] = [];
  let next = range.lo;
  for (const row of rows) {
    if (row.hi < next) continue;
    if (row.lo > range.hi) break;
    if (row.lo > next) pieces.push({ lo: next, hi: row.lo - 1 });
    next = row.hi + 1;
  }
  if (next <= range.hi) pieces.push({ lo: next, hi: range.hi });
  return pieces;
}
