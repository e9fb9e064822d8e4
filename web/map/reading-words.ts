/** A reading in one line, as the map and the page of a monitor say it. */
import type { Cell } from '../../shared/protocol/board.ts';
import { columnFacts, figures, flagWords, inColumnUnit } from '../words/values.ts';

/** "18.9 %vol", "over range, 30.0 %vol", "warming up" or "no number": never a nought for what is missing. */
export function readingWords(channel: string, cell: Pick<Cell, 'value' | 'unit' | 'flag' | 'level'>): string {
  const number = cell.value === null ? null : valueWords(channel, cell.value, cell.unit, cell.level !== null);
  if (cell.flag === undefined) return number ?? 'no number';
  return number === null ? flagWords(cell.flag) : `${flagWords(cell.flag)}, ${number}`;
}

/** A canonical value as the channel's column shows it, with its unit. */
export function valueWords(channel: string, value: number, unit: Cell['unit'], exact = false): string {
  const shown = inColumnUnit(channel, value, unit ?? '');
  return `${figures(shown.value, columnFacts(channel).decimals, exact)} ${shown.unit}`.trim();
}
