/** The names of a journal in the order in which its commits brought them, for the walk along the chain. */
import type { Db } from '../store/open-database.ts';
import type { NameCell } from './chain.ts';
import { fromCell, fromOptionalCell } from './name-cell.ts';

type Stored = { readonly id: number; readonly since: number };
/** Texts come as bytes beside their type, so that bytes which are no UTF-8 do not pass for others. */
type SourceCells = Stored & {
  readonly monitorType: string;
  readonly monitorBytes: Buffer;
  readonly viaType: string;
  readonly viaBytes: Buffer | null;
  readonly bootType: string;
  readonly bootBytes: Buffer | null;
};
type WordCells = Stored & { readonly textType: string; readonly textBytes: Buffer };
export type WalkedSource = {
  readonly id: number;
  readonly monitor: NameCell;
  readonly via: NameCell;
  readonly boot: NameCell;
};
export type WalkedWord = { readonly id: number; readonly text: NameCell };

const PAGE = 500;
const SOURCES =
  'SELECT id, since, typeof(monitor) AS monitorType, cast(monitor AS BLOB) AS monitorBytes, typeof(via) AS viaType, cast(via AS BLOB) AS viaBytes, typeof(boot) AS bootType, cast(boot AS BLOB) AS bootBytes FROM source WHERE id > ? ORDER BY id LIMIT ?';
const WORDS =
  'SELECT id, since, typeof(text) AS textType, cast(text AS BLOB) AS textBytes FROM word WHERE id > ? ORDER BY id LIMIT ?';

export class NameWalk {
  readonly #sources: Pages<SourceCells>;
  readonly #words: Pages<WordCells>;
  readonly #sourceNames = new Map<number, { monitor: string; via: string | undefined; boot: string | undefined }>();
  readonly #wordTexts = new Map<number, string>();
  readonly #seen = new Set<string>();

  constructor(db: Db) {
    const sources = db.prepare<[number, number], SourceCells>(SOURCES);
    const words = db.prepare<[number, number], WordCells>(WORDS);
    this.#sources = new Pages('source', (after) => sources.all(after, PAGE));
    this.#words = new Pages('word', (after) => words.all(after, PAGE));
  }

  /** The names that the commit beginning at `cursor` brought, or one line about what is wrong with them. */
  take(cursor: number): { sources: WalkedSource[]; words: WalkedWord[] } | string {
    const taken = { sources: [] as WalkedSource[], words: [] as WalkedWord[] };
    for (;;) {
      const row = this.#sources.next(cursor);
      if (row === null) break;
      if (typeof row === 'string') return row;
      const monitor = cellOf(row.monitorType, row.monitorBytes);
      const via = cellOf(row.viaType, row.viaBytes);
      const boot = cellOf(row.bootType, row.bootBytes);
      if (monitor === undefined || monitor === null || via === undefined || boot === undefined) {
        return `source ${row.id} is not as it was written`;
      }
      const names = { monitor: fromCell(monitor), via: fromOptionalCell(via), boot: fromOptionalCell(boot) };
      const key = JSON.stringify([names.monitor, names.via ?? null, names.boot ?? null]);
      if (this.#seen.has(key)) return `source ${row.id} is there twice`;
      this.#seen.add(key);
      this.#sourceNames.set(row.id, names);
      taken.sources.push({ id: row.id, monitor, via, boot });
    }
    for (;;) {
      const row = this.#words.next(cursor);
      if (row === null) break;
      if (typeof row === 'string') return row;
      const text = cellOf(row.textType, row.textBytes);
      if (text === undefined || text === null) return `word ${row.id} is not as it was written`;
      this.#wordTexts.set(row.id, fromCell(text));
      taken.words.push({ id: row.id, text });
    }
    return taken;
  }

  /** One line about a name that no commit up to `walked` brought and none up to `last` can have, or null. */
  left(walked: number, last: number): string | null {
    return this.#sources.left(walked, last) ?? this.#words.left(walked, last);
  }

  source(id: number): { monitor: string; via: string | undefined; boot: string | undefined } {
    const found = this.#sourceNames.get(id);
    if (found === undefined) throw new RangeError(`source ${id} is not in the file`);
    return found;
  }

  textOf(number: number): string {
    const found = this.#wordTexts.get(number);
    if (found === undefined) throw new RangeError(`word ${number} is not in the file`);
    return found;
  }
}

/** Undefined where the type is none that a name can have. Text that is no UTF-8 is hashed as the bytes it is. */
function cellOf(type: string, bytes: Buffer | null): NameCell | undefined {
  if (type === 'null') return null;
  if (bytes === null) return undefined;
  if (type === 'blob') return bytes;
  if (type !== 'text') return undefined;
  const text = bytes.toString('utf8');
  return Buffer.from(text, 'utf8').equals(bytes) ? text : undefined;
}

/** Rows by rising id, page by page. */
class Pages<Row extends Stored> {
  readonly #what: string;
  readonly #read: (after: number) => Row[];
  #rows: Row[] = [];
  #place = 0;
  #lastId = 0;
  #ended = false;

  constructor(what: string, read: (after: number) => Row[]) {
    this.#what = what;
    this.#read = read;
  }

  /** The next row, if it belongs to the commit that begins at `cursor`; null if there is none. */
  next(cursor: number): Row | string | null {
    const row = this.#peek();
    if (row === undefined || row.since > cursor) return null;
    if (row.since < cursor) return `${this.#what} ${row.id} belongs to no commit`;
    if (row.id !== this.#lastId + 1) return `${this.#what} ${this.#lastId + 1} is missing`;
    this.#place += 1;
    this.#lastId = row.id;
    return row;
  }

  left(walked: number, last: number): string | null {
    const row = this.#peek();
    if (row === undefined || (row.since > walked && row.since <= last)) return null;
    return `${this.#what} ${row.id} belongs to no commit`;
  }

  /** Once there was none left it stays so: what comes later belongs to commits after those that are walked. */
  #peek(): Row | undefined {
    if (this.#place >= this.#rows.length && !this.#ended) {
      this.#rows = this.#read(this.#lastId);
      this.#place = 0;
      this.#ended = this.#rows.length === 0;
    }
    return this.#rows[this.#place];
  }
}
