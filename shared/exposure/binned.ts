/** Sums before the line beyond which bins of 10 s govern. */
import { BIN_MS, createBinning, forEachBin } from './bins.ts';
import { item } from './decimal.ts';
import { type ChannelSeries, linkAfter, pieceCount, pieceFirstAt, pieceLastAt, pieceSamples } from './pieces.ts';
import { lowerBound } from './samples.ts';
import { forEachSegment, holdOf, mergeRow, type Row, trapezoid2Of } from './tally.ts';

/**
 * Up to where bins govern: the last whole 10 s before the last sample that nothing can change any more. It follows
 * from the samples alone, so a figure does not depend on which of them are packed away already.
 */
export function binnedUpTo(channel: ChannelSeries, cutoff: number): number {
  for (let piece = pieceCount(channel) - 1; piece >= 0; piece -= 1) {
    if (pieceFirstAt(channel, piece) >= cutoff) continue;
    const lastAt = pieceLastAt(channel, piece);
    if (lastAt < cutoff) return Math.floor(lastAt / BIN_MS) * BIN_MS;
    const { at } = pieceSamples(channel, piece);
    return Math.floor(item(at, lowerBound(at, cutoff) - 1) / BIN_MS) * BIN_MS;
  }
  return -Infinity;
}

type Span = { readonly fromMs: number; readonly toMs: number };

/** Adds a span before the line. A bound within a bin takes its even share. */
export function addBinned(rows: Row[], channel: ChannelSeries, span: Span, binnedTo: number): void {
  const firstBin = Math.floor(span.fromMs / BIN_MS);
  const endBin = Math.ceil(span.toMs / BIN_MS);
  const cut = new Map<number, Row[]>();
  const add = (bin: number, row: Row) => {
    if (bin * BIN_MS >= span.fromMs && (bin + 1) * BIN_MS <= span.toMs) {
      mergeRow(rows, row);
      return;
    }
    const parts = cut.get(bin) ?? [];
    mergeRow(parts, row);
    cut.set(bin, parts);
  };
  forEachBin(channel.bins, firstBin, endBin, add);
  const binning = createBinning(firstBin, endBin);
  const limit = Math.min(binnedTo, endBin * BIN_MS);
  let piece = Math.max(0, lowerBound(channel.firstAt, firstBin * BIN_MS + 1) - 1);
  if (pieceFirstAt(channel, pieceCount(channel) - 1) <= firstBin * BIN_MS) piece = pieceCount(channel) - 1;
  for (; piece < pieceCount(channel) && pieceFirstAt(channel, piece) < limit; piece += 1) {
    forEachSegment(pieceSamples(channel, piece), 0, binning.add);
    binning.add(linkAfter(channel, piece));
  }
  for (const { bin, row } of binning.finish()) add(bin, row);
  for (const [bin, parts] of cut) for (const row of parts) mergeRow(rows, shareOf(row, bin * BIN_MS, span));
}

/** The even share of a bin that starts at `startMs`, each bound rounded down. Peak and minimum are those of the bin. */
function shareOf(row: Row, startMs: number, span: Span): Row {
  const from = BigInt(Math.max(0, span.fromMs - startMs));
  const to = BigInt(Math.min(BIN_MS, span.toMs - startMs));
  const share = (whole: number | bigint) => {
    const all = BigInt(whole);
    return (all * to) / BigInt(BIN_MS) - (all * from) / BigInt(BIN_MS);
  };
  return {
    ...row,
    hold: 0,
    holdBig: share(holdOf(row)),
    trapezoid2: 0,
    trapezoid2Big: share(trapezoid2Of(row)),
    holdMs: Number(share(row.holdMs)),
    trapezoidMs: Number(share(row.trapezoidMs)),
    samples: Number(share(row.samples)),
    overRangeMs: Number(share(row.overRangeMs)),
  };
}
