/**
 * The common run of samples, sealed in one pass: all of them numbers of one unit with one hold and few decimals.
 * Gives what `chunk.ts` would, several times faster: this is most of what taking in a sample costs.
 */
import { item, scaled } from './decimal.ts';
import { takeBytes, type Writer, writeSigned, writeUnsigned } from './packed.ts';
import { writeRow } from './row-codec.ts';
import { isNumber, MISSING, type Samples, unitIndexOf } from './samples.ts';
import { createRow, EXACT_LIMIT } from './tally.ts';

const MOST_DECIMALS = 4;

let wholes = new Float64Array(512);

/** The bytes of samples [first, last), or null where the run is not a plain one. */
export function sealPlainRun(writer: Writer, samples: Samples, first: number, last: number): Uint8Array | null {
  const { at, value, code, hold } = samples;
  const count = last - first;
  const kind = code[first] ?? MISSING;
  const stands = item(hold, first);
  if (!isNumber(kind)) return null;
  for (let index = first + 1; index < last; index += 1) {
    if (code[index] !== kind || hold[index] !== stands) return null;
  }
  const decimals = toWholes(value, first, count);
  if (decimals < 0) return null;
  const row = createRow(unitIndexOf(kind));
  row.decimals = decimals;
  row.samples = count - 1;
  let largest = 0;
  for (let index = 0; index < count - 1; index += 1) {
    const whole = wholes[index] ?? Number.NaN;
    const raw = value[first + index] ?? Number.NaN;
    const step = (at[first + index + 1] ?? Number.NaN) - (at[first + index] ?? Number.NaN);
    const counted = Math.max(whole, 0);
    if (raw > row.peak) row.peak = raw;
    if (raw < row.minimum) row.minimum = raw;
    if (counted > largest) largest = counted;
    if (step > stands) {
      row.hold += counted * stands;
      row.holdMs += stands;
      continue;
    }
    const next = wholes[index + 1] ?? Number.NaN;
    row.hold += counted * step;
    row.holdMs += step;
    // a sample that stands for no time joins nothing
    row.trapezoidMs += step;
    row.trapezoid2 += (counted + Math.max(next, 0)) * step;
    largest = Math.max(largest, next);
  }
  if (!(2 * largest * row.holdMs < EXACT_LIMIT)) return null;
  const final = wholes[count - 1] ?? Number.NaN;
  writer.length = 0;
  if (count > 1) {
    writeUnsigned(writer, 1);
    writeRow(writer, row, 0);
  } else {
    writeUnsigned(writer, 0);
  }
  writeHead(writer, kind, stands, decimals, final);
  writeUnsigned(writer, count);
  writeHead(writer, kind, stands, decimals, wholes[0] ?? Number.NaN);
  let pace = 0;
  for (let index = 1; index < count; index += 1) {
    const step = (at[first + index] ?? Number.NaN) - (at[first + index - 1] ?? Number.NaN);
    const rise = (wholes[index] ?? Number.NaN) - (wholes[index - 1] ?? Number.NaN);
    writeSigned(writer, step - pace);
    writeUnsigned(writer, rise < 0 ? -4 * rise - 2 : 4 * rise);
    pace = step;
  }
  return takeBytes(writer);
}

/** A sample as the first of its kind. */
function writeHead(writer: Writer, kind: number, stands: number, decimals: number, whole: number): void {
  writeUnsigned(writer, 0);
  writeUnsigned(writer, 1 + 2 * kind);
  writeUnsigned(writer, stands);
  writeSigned(writer, decimals);
  writeSigned(writer, whole);
}

/** Fills `wholes` with the values as whole numbers of their fewest common decimals; -1 where those are too many. */
function toWholes(value: readonly number[], first: number, count: number): number {
  if (wholes.length < count) wholes = new Float64Array(2 * count);
  let decimals = 0;
  for (let index = 0; index < count; index += 1) {
    const whole = scaled(value[first + index] ?? Number.NaN, decimals);
    wholes[index] = whole;
    if (!Number.isNaN(whole)) continue;
    decimals += 1;
    if (decimals > MOST_DECIMALS) return -1;
    index = -1;
  }
  return decimals;
}
