/** Rows of sums as bytes. */
import { fromDecimal, scaled, scaledBig } from './decimal.ts';
import {
  type Reader,
  readSigned,
  readSignedAny,
  readUnsigned,
  readUnsignedAny,
  type Writer,
  writeSigned,
  writeUnsigned,
} from './packed.ts';
import { createRow, holdOf, type Row, trapezoid2Of } from './tally.ts';

/** Writes a row. `usualMs` is the time that such a row mostly covers, and makes that one byte. */
export function writeRow(writer: Writer, row: Row, usualMs: number): void {
  writeUnsigned(writer, row.unit * 2 + (row.peak < row.minimum ? 0 : 1));
  writeUnsigned(writer, row.overRangeMs);
  if (row.peak < row.minimum) return;
  writeUnsigned(writer, row.decimals);
  writeSigned(writer, row.holdMs - usualMs);
  writeSigned(writer, row.holdMs - row.trapezoidMs);
  writeUnsigned(writer, row.samples);
  writeSigned(writer, wholeOf(row.peak, row.decimals));
  writeSigned(writer, wholeOf(row.minimum, row.decimals));
  const hold = holdOf(row);
  const trapezoid2 = trapezoid2Of(row);
  const quick = typeof hold === 'number' && typeof trapezoid2 === 'number';
  writeUnsigned(writer, hold);
  writeSigned(writer, quick && hold < 2 ** 50 ? trapezoid2 - 2 * hold : BigInt(trapezoid2) - 2n * BigInt(hold));
}

/** Reads what `writeRow` wrote with the same `usualMs`. */
export function readRow(reader: Reader, usualMs: number): Row {
  const head = readUnsigned(reader);
  const unit = Math.floor(head / 2);
  const overRangeMs = readUnsigned(reader);
  if (head % 2 === 0) {
    return { ...createRow(unit), overRangeMs };
  }
  const decimals = readUnsigned(reader);
  const holdMs = readSigned(reader) + usualMs;
  const trapezoidMs = holdMs - readSigned(reader);
  const samples = readUnsigned(reader);
  const peak = fromDecimal(readSignedAny(reader), -decimals);
  const minimum = fromDecimal(readSignedAny(reader), -decimals);
  const hold = readUnsignedAny(reader);
  const difference = readSignedAny(reader);
  const quick =
    typeof hold === 'number' && typeof difference === 'number' && hold < 2 ** 50 && Math.abs(difference) < 2 ** 51;
  const trapezoid2 = quick ? difference + 2 * hold : 0;
  return {
    unit,
    decimals,
    hold: typeof hold === 'number' ? hold : 0,
    holdBig: typeof hold === 'number' ? 0n : hold,
    trapezoid2,
    trapezoid2Big: quick ? 0n : BigInt(difference) + 2n * BigInt(hold),
    holdMs,
    trapezoidMs,
    samples,
    overRangeMs,
    peak,
    minimum,
  };
}

function wholeOf(value: number, decimals: number): number | bigint {
  const whole = scaled(value, decimals);
  return Number.isNaN(whole) ? scaledBig(value, decimals) : whole;
}
