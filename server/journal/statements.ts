/** Every query a journal makes while it runs. Each uses an index or a range of the rowid; a test holds that. */
import type { Db } from '../store/open-database.ts';
import type { NameCell } from './chain.ts';

export type RecordRow = {
  readonly cursor: number;
  /** µs since the base of the file. */
  readonly at: number;
  readonly kind: number;
  readonly source: number | null;
  readonly seq: number | null;
  readonly body: Buffer;
};
export type SourceRow = {
  readonly id: number;
  readonly monitor: NameCell;
  readonly via: NameCell;
  readonly boot: NameCell;
};

const COLUMNS = 'cursor, at, kind, source, seq, body';
/** The index holds (source, seq, cursor): the cursors of a monitor come from it alone, without the rows. */
const CURSORS_OF_MONITOR =
  'SELECT cursor FROM record INDEXED BY record_by_source WHERE source IN (SELECT id FROM source WHERE monitor = ?)';
const IS_OF_MONITOR = 'source IN (SELECT id FROM source WHERE monitor = ?)';

export const SQL = {
  meta: 'SELECT value FROM meta WHERE key = ?',
  addMeta: 'INSERT INTO meta (key, value) VALUES (?, ?)',
  head: 'SELECT cursor, at, seal FROM record ORDER BY cursor DESC LIMIT 1',
  sealOf: 'SELECT seal FROM record WHERE cursor = ?',
  addRecord: 'INSERT INTO record (cursor, at, kind, source, seq, measured, body, seal) VALUES (?, ?, ?, ?, ?, ?, ?, ?)',
  addSource: 'INSERT INTO source (id, since, monitor, via, boot) VALUES (?, ?, ?, ?, ?)',
  addWord: 'INSERT INTO word (id, since, text) VALUES (?, ?, ?)',
  lastSource: 'SELECT max(id) FROM source',
  lastWord: 'SELECT max(id) FROM word',
  sourceById: 'SELECT id, monitor, via, boot FROM source WHERE id = ?',
  sourceByName: 'SELECT id, monitor, via, boot FROM source WHERE monitor = ? AND via IS ? AND boot IS ?',
  wordById: 'SELECT text FROM word WHERE id = ?',
  wordByText: 'SELECT id FROM word WHERE text = ?',
  after: `SELECT ${COLUMNS} FROM record WHERE cursor > ? ORDER BY cursor LIMIT ?`,
  byKey: `SELECT ${COLUMNS} FROM record WHERE source = ? AND seq = ?`,
  atOf: 'SELECT at FROM record WHERE cursor = ?',
  recentOf: `SELECT ${COLUMNS} FROM record WHERE cursor IN (${CURSORS_OF_MONITOR} ORDER BY cursor DESC LIMIT ?) ORDER BY cursor DESC`,
  recentNear: `SELECT ${COLUMNS} FROM record NOT INDEXED WHERE cursor > ? AND ${IS_OF_MONITOR} ORDER BY cursor DESC LIMIT ?`,
  packetsOf: `SELECT ${COLUMNS} FROM record WHERE cursor IN (${CURSORS_OF_MONITOR} AND seq IS NOT NULL AND cursor BETWEEN ? AND ? ORDER BY cursor LIMIT ?) ORDER BY cursor`,
  packetsNear: `SELECT ${COLUMNS} FROM record NOT INDEXED WHERE cursor BETWEEN ? AND ? AND seq IS NOT NULL AND ${IS_OF_MONITOR} ORDER BY cursor LIMIT ?`,
  aboutOf: `SELECT ${COLUMNS} FROM record WHERE source = ? AND seq IS NULL AND kind = ? ORDER BY cursor DESC LIMIT ?`,
  ofKind: `SELECT ${COLUMNS} FROM record NOT INDEXED WHERE cursor BETWEEN ? AND ? AND kind = ? ORDER BY cursor DESC LIMIT ?`,
  measuredLate: `SELECT ${COLUMNS} FROM record WHERE measured BETWEEN ? AND ? ORDER BY measured, cursor LIMIT ?`,
} as const;

type HeadRow = { readonly cursor: number; readonly at: number; readonly seal: Buffer | null };
type Cells = [NameCell, NameCell, NameCell];

/** Prepares all of them once. The types of the rows are what the STRICT tables of the schema hold. */
export function prepareStatements(db: Db) {
  return {
    meta: db.prepare<[string], unknown>(SQL.meta).pluck(),
    addMeta: db.prepare<[string, string | bigint]>(SQL.addMeta),
    head: db.prepare<[], HeadRow>(SQL.head),
    addRecord: db.prepare<[number, number, number, number | null, number | null, number | null, Buffer, Buffer | null]>(
      SQL.addRecord,
    ),
    addSource: db.prepare<[number, number, ...Cells]>(SQL.addSource),
    addWord: db.prepare<[number, number, NameCell]>(SQL.addWord),
    lastSource: db.prepare<[], number | null>(SQL.lastSource).pluck(),
    lastWord: db.prepare<[], number | null>(SQL.lastWord).pluck(),
    sourceById: db.prepare<[number], SourceRow>(SQL.sourceById),
    sourceByName: db.prepare<Cells, SourceRow>(SQL.sourceByName),
    wordById: db.prepare<[number], NameCell>(SQL.wordById).pluck(),
    wordByText: db.prepare<[NameCell], number>(SQL.wordByText).pluck(),
    after: db.prepare<[number, number], RecordRow>(SQL.after),
    byKey: db.prepare<[number, number], RecordRow>(SQL.byKey),
    atOf: db.prepare<[number], number>(SQL.atOf).pluck(),
    sealOf: db.prepare<[number], Buffer | null>(SQL.sealOf).pluck(),
    recentOf: db.prepare<[NameCell, number], RecordRow>(SQL.recentOf),
    recentNear: db.prepare<[number, NameCell, number], RecordRow>(SQL.recentNear),
    packetsNear: db.prepare<[number, number, NameCell, number], RecordRow>(SQL.packetsNear),
    packetsOf: db.prepare<[NameCell, number, number, number], RecordRow>(SQL.packetsOf),
    aboutOf: db.prepare<[number, number, number], RecordRow>(SQL.aboutOf),
    ofKind: db.prepare<[number, number, number, number], RecordRow>(SQL.ofKind),
    measuredLate: db.prepare<[number, number, number], RecordRow>(SQL.measuredLate),
  };
}
export type Statements = ReturnType<typeof prepareStatements>;
