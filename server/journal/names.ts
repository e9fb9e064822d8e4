/**
 * Numbers in place of names: sources (a monitor, who numbers its packets, and the boot of that numbering) and
 * words (relays and channels that are not among the known ones). New ones belong to the commit that first uses
 * them: until it is on disk they are pending, and a failed commit leaves no trace of them here.
 */

import type { ByteWriter } from './byte-writer.ts';
import { addSource, addWord } from './chain.ts';
import { fromCell, fromOptionalCell, toCell, toOptionalCell } from './name-cell.ts';
import type { SourceRow, Statements } from './statements.ts';

export type Source = {
  readonly id: number;
  readonly monitor: string;
  readonly via: string | undefined;
  /** Undefined: the source stands for the monitor itself, in records about it that are not packets. */
  readonly boot: string | undefined;
};

/** A sender that invents names must not fill the memory: beyond it words are written out in each body. */
const MAX_WORDS = 10_000;
/** Sources kept in memory; the others are read again from the file. */
const MAX_CACHED_SOURCES = 20_000;

export class Names {
  readonly #db: Statements;
  readonly #sourcesById = new Map<number, Source>();
  readonly #sourcesByMonitor = new Map<string, Source[]>();
  readonly #wordsById = new Map<number, string>();
  readonly #wordsByText = new Map<string, number>();
  #newSources: Source[] = [];
  readonly #newWords = new Map<string, number>();
  #lastSource: number;
  #lastWord: number;

  constructor(statements: Statements) {
    this.#db = statements;
    this.#lastSource = statements.lastSource.get() ?? 0;
    this.#lastWord = statements.lastWord.get() ?? 0;
  }

  /** The source of that id. Throws RangeError where the file has none. */
  source(id: number): Source {
    const cached = this.#sourcesById.get(id);
    if (cached !== undefined) return cached;
    const row = this.#db.sourceById.get(id);
    if (row === undefined) throw new RangeError(`source ${id} is not in the file`);
    return this.#remember(fromRow(row));
  }

  /** The source of those names, or null where the file has none. */
  findSource(monitor: string, via: string | undefined, boot: string | undefined): Source | null {
    const cached = this.#sourcesByMonitor.get(monitor);
    const found = cached?.findLast((s) => s.boot === boot && s.via === via);
    if (found !== undefined) return found;
    const row = this.#db.sourceByName.get(toCell(monitor), toOptionalCell(via), toOptionalCell(boot));
    return row === undefined ? null : this.#remember(fromRow(row));
  }

  /** Id of the source of those names; a new one becomes pending. */
  sourceId(monitor: string, via: string | undefined, boot: string | undefined): number {
    const found =
      this.#newSources.find((s) => s.monitor === monitor && s.via === via && s.boot === boot) ??
      this.findSource(monitor, via, boot);
    if (found !== null) return found.id;
    const source = { id: this.#lastSource + this.#newSources.length + 1, monitor, via, boot };
    this.#newSources.push(source);
    return source.id;
  }

  /** Text of a word. Throws RangeError where the file has none of that number. */
  textOf(number: number): string {
    const cached = this.#wordsById.get(number);
    if (cached !== undefined) return cached;
    const cell = this.#db.wordById.get(number);
    if (cell === undefined || cell === null) throw new RangeError(`word ${number} is not in the file`);
    const text = fromCell(cell);
    this.#rememberWord(text, number);
    return text;
  }

  /** Number of a word, a new one becoming pending; 0 when it has to be written out. */
  numberOf(text: string): number {
    const cached = this.#wordsByText.get(text);
    if (cached !== undefined) return cached;
    const pending = this.#newWords.get(text);
    if (pending !== undefined) return pending;
    const stored = this.#db.wordByText.get(toCell(text));
    if (stored !== undefined) {
      this.#rememberWord(text, stored);
      return stored;
    }
    const id = this.#lastWord + this.#newWords.size + 1;
    if (id > MAX_WORDS) return 0;
    this.#newWords.set(text, id);
    return id;
  }

  /** Appends the pending names to the bytes that the commit's seal covers. */
  addTo(out: ByteWriter): void {
    for (const s of this.#newSources) {
      addSource(out, s.id, toCell(s.monitor), toOptionalCell(s.via), toOptionalCell(s.boot));
    }
    for (const [text, id] of this.#newWords) addWord(out, id, toCell(text));
  }

  /** Writes the pending names, inside the transaction of the commit whose first record is `since`. */
  write(since: number): void {
    for (const s of this.#newSources) {
      this.#db.addSource.run(s.id, since, toCell(s.monitor), toOptionalCell(s.via), toOptionalCell(s.boot));
    }
    for (const [text, id] of this.#newWords) this.#db.addWord.run(id, since, toCell(text));
  }

  /** The commit is on disk: its names count from now on. */
  keep(): void {
    for (const s of this.#newSources) this.#remember(s);
    for (const [text, id] of this.#newWords) this.#rememberWord(text, id);
    this.#lastSource += this.#newSources.length;
    this.#lastWord += this.#newWords.size;
    this.drop();
  }

  /** The commit failed, or none was begun: nothing is pending. */
  drop(): void {
    if (this.#newSources.length > 0) this.#newSources = [];
    this.#newWords.clear();
  }

  #remember(source: Source): Source {
    if (this.#sourcesById.size >= MAX_CACHED_SOURCES) {
      this.#sourcesById.clear();
      this.#sourcesByMonitor.clear();
    }
    this.#sourcesById.set(source.id, source);
    const siblings = this.#sourcesByMonitor.get(source.monitor);
    if (siblings === undefined) this.#sourcesByMonitor.set(source.monitor, [source]);
    else if (!siblings.some((s) => s.id === source.id)) siblings.push(source);
    return source;
  }

  #rememberWord(text: string, id: number): void {
    this.#wordsById.set(id, text);
    this.#wordsByText.set(text, id);
  }
}

function fromRow(row: SourceRow): Source {
  if (row.monitor === null) throw new RangeError(`source ${row.id} has no monitor`);
  return {
    id: row.id,
    monitor: fromCell(row.monitor),
    via: fromOptionalCell(row.via),
    boot: fromOptionalCell(row.boot),
  };
}
