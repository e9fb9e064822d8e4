/** What one cell says, decided apart from how it looks. */
import type { Cell } from '../../shared/protocol/board.ts';
import type { ColumnFacts } from '../words/values.ts';
import { figures, flagWords, inColumnUnit } from '../words/values.ts';

export type CellWords = {
  /** The figures, or the words that stand where there is no number. */
  readonly main: string;
  readonly unit: string | null;
  readonly isNumber: boolean;
  /** Lines below, most important first. */
  readonly notes: readonly string[];
  readonly trend: { readonly up: boolean; readonly words: string } | null;
};

/**
 * Words of a cell. Nothing is left out because it is inconvenient, and no missing value becomes a number.
 * `ageShown`: the age of a silent monitor stands below, so that "old" need not be said twice.
 */
export function cellWords(column: ColumnFacts, cell: Cell, ageShown = false): CellWords {
  const notes: string[] = [];
  if (cell.levelWords) notes.push(cell.levelWords);
  for (const reason of cell.reasons) {
    if (!notes.includes(reason.words) && !(ageShown && reason.code === 'stale')) notes.push(reason.words);
  }
  if (cell.flag === 'not-understood') {
    const sent = rawText(cell);
    if (sent !== '') notes.push(`as sent: ${sent}`);
  }
  if (cell.typedBy) notes.push(`typed by ${cell.typedBy}`);
  if (cell.background && !cell.background.assumed && cell.unit !== null) {
    const at = inColumnUnit(column.channel, cell.background.value, cell.unit);
    notes.push(`background ${figures(at.value, column.decimals)}`);
  }
  if (cell.value === null || cell.unit === null) {
    const main = cell.flag ? flagWords(cell.flag) : 'no number';
    return { main, unit: null, isNumber: false, notes: withoutEcho(notes, main), trend: null };
  }
  const at = inColumnUnit(column.channel, cell.value, cell.unit);
  if (cell.flag) notes.unshift(flagWords(cell.flag));
  return {
    main: figures(at.value, column.decimals, cell.level !== null),
    unit: at.unit,
    isNumber: true,
    notes,
    trend: trendWords(column, cell),
  };
}

/** The notes without what `main` says already: "over range: more than…" beside "over range" is the rest of it. */
function withoutEcho(notes: readonly string[], main: string): string[] {
  return notes
    .filter((note) => note.toLowerCase() !== main.toLowerCase())
    .map((note) => (note.startsWith(`${main}: `) ? note.slice(main.length + 2) : note));
}

function rawText(cell: Cell): string {
  if (!cell.raw) return '';
  if (cell.raw.text !== undefined) return cell.raw.text;
  if (cell.raw.value === undefined) return '';
  return cell.raw.unit === undefined ? `${cell.raw.value}, no unit` : `${cell.raw.value} ${cell.raw.unit}`;
}

/** Two figures of a rate above 100: its further ones tell nothing. */
function rounded(rate: number): number {
  return rate < 100 ? rate : Number(rate.toPrecision(2));
}

/** A trend is worth words when it is steep for its channel, or at all while the value is at a level. */
function trendWords(column: ColumnFacts, cell: Cell): CellWords['trend'] {
  if (cell.trend === null || cell.unit === null || column.trendFrom === null) return null;
  const rate = inColumnUnit(column.channel, cell.trend, cell.unit).value;
  const from = cell.level === null ? column.trendFrom : column.trendFrom / 2;
  if (Math.abs(rate) < from) return null;
  return { up: rate > 0, words: `${figures(rounded(Math.abs(rate)), column.decimals)} a min` };
}
