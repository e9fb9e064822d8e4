/**
 * Beyond the late horizon the samples are reduced to bins of 10 s. Bins are bytes in blocks; a block is a row of
 * portions, each of which can be read without the one before it, so that a block grows without being read.
 */
import { item } from './decimal.ts';
import { createWriter, readUnsigned, takeBytes, writeUnsigned } from './packed.ts';
import { readRow, writeRow } from './row-codec.ts';
import { addSegment, endOf, type Row, type Segment } from './tally.ts';

export const BIN_MS = 10_000;
const BLOCK_BYTES = 4096;

/** Blocks in order of time; `firstBin` and `lastBin` count 10 s since 1970. */
export type Bins = { readonly firstBin: number[]; readonly lastBin: number[]; readonly bytes: Uint8Array[] };
export type BinRow = { bin: number; row: Row };

export function createBins(): Bins {
  return { firstBin: [], lastBin: [], bytes: [] };
}

/** Cuts segments, given in order of time, into bins [firstBin, endBin); returns the rows in order of time. */
export function createBinning(firstBin: number, endBin: number) {
  const done: BinRow[] = [];
  let bin = -Infinity;
  let rows: Row[] = [];
  const flush = () => {
    for (const row of rows) done.push({ bin, row });
    rows = [];
  };
  return {
    add(segment: Segment): void {
      const start = Math.floor(segment.at / BIN_MS);
      const last = Math.max(start, Math.ceil(endOf(segment) / BIN_MS) - 1);
      for (let next = Math.max(start, firstBin); next <= last && next < endBin; next += 1) {
        if (next !== bin) flush();
        bin = next;
        addSegment(rows, segment, next * BIN_MS, (next + 1) * BIN_MS);
      }
    },
    finish(): BinRow[] {
      flush();
      return done;
    },
  };
}

const writer = createWriter();

/** Adds rows, in order of time, that are not before any that are there. */
export function appendBins(bins: Bins, rows: readonly BinRow[]): void {
  const first = rows[0];
  const last = rows.at(-1);
  if (first === undefined || last === undefined) return;
  const portion = sealPortion(rows);
  const block = bins.bytes.length - 1;
  const bytes = bins.bytes[block];
  if (bytes === undefined || bytes.length > BLOCK_BYTES) {
    bins.firstBin.push(first.bin);
    bins.lastBin.push(last.bin);
    bins.bytes.push(portion);
    return;
  }
  const joined = new Uint8Array(bytes.length + portion.length);
  joined.set(bytes);
  joined.set(portion, bytes.length);
  bins.bytes[block] = joined;
  bins.lastBin[block] = last.bin;
}

/** Visits the rows of bins [firstBin, endBin) in order of time; one bin may come in several rows that add up. */
export function forEachBin(bins: Bins, firstBin: number, endBin: number, visit: (bin: number, row: Row) => void): void {
  bins.bytes.forEach((bytes, block) => {
    if (item(bins.lastBin, block) < firstBin || item(bins.firstBin, block) >= endBin) return;
    readPortions(bytes, (bin, row) => {
      if (bin >= firstBin && bin < endBin) visit(bin, row);
    });
  });
}

function sealPortion(rows: readonly BinRow[]): Uint8Array {
  writer.length = 0;
  writeUnsigned(writer, rows.length);
  let previous: BinRow | undefined;
  for (let index = 0; index < rows.length; index += 1) {
    const run = previous === undefined ? 0 : runLength(rows, index, previous);
    if (run > 0) {
      writeUnsigned(writer, 2 * run + 1);
      index += run - 1;
      previous = rows[index];
      continue;
    }
    const next = rows[index];
    if (next === undefined) break;
    writeUnsigned(writer, 2 * (next.bin - (previous?.bin ?? 0)));
    writeRow(writer, next.row, BIN_MS);
    previous = next;
  }
  return takeBytes(writer);
}

/** How many rows from `index` are each the same as `previous` and one bin on. */
function runLength(rows: readonly BinRow[], index: number, previous: BinRow): number {
  let run = 0;
  for (;;) {
    const next = rows[index + run];
    if (next === undefined || next.bin !== previous.bin + run + 1 || !sameRow(next.row, previous.row)) return run;
    run += 1;
  }
}

function sameRow(a: Row, b: Row): boolean {
  return (
    a.unit === b.unit &&
    a.decimals === b.decimals &&
    a.hold === b.hold &&
    a.holdBig === b.holdBig &&
    a.trapezoid2 === b.trapezoid2 &&
    a.trapezoid2Big === b.trapezoid2Big &&
    a.holdMs === b.holdMs &&
    a.trapezoidMs === b.trapezoidMs &&
    a.samples === b.samples &&
    a.overRangeMs === b.overRangeMs &&
    a.peak === b.peak &&
    a.minimum === b.minimum
  );
}

function readPortions(bytes: Uint8Array, visit: (bin: number, row: Row) => void): void {
  const reader = { bytes, offset: 0 };
  while (reader.offset < bytes.length) {
    let bin = 0;
    let row: Row | undefined;
    for (let left = readUnsigned(reader); left > 0; ) {
      const head = readUnsigned(reader);
      if (head % 2 === 0) {
        bin += head / 2;
        row = readRow(reader, BIN_MS);
        visit(bin, row);
        left -= 1;
        continue;
      }
      if (row === undefined) throw new RangeError('a run before any row: the bins were damaged');
      for (let run = (head - 1) / 2; run > 0; run -= 1) {
        bin += 1;
        visit(bin, row);
        left -= 1;
      }
    }
  }
}
