/**
 * The exposure integral over any span of measured time. Within the late horizon it is exact to the millisecond; before
 * it, bins of 10 s are taken whole, and one that a bound cuts is shared out evenly over its 10 s (rounded down from
 * its start, so that two neighbouring spans still add up exactly).
 */
import { BIN_MS, createBinning, forEachBin } from './bins.ts';
import { chunkTotals } from './chunk.ts';
import { item } from './decimal.ts';
import { type ExactSum, exactSum } from './exact-sum.ts';
import {
  type ChannelSeries,
  isSealed,
  linkAfter,
  pieceCount,
  pieceFirstAt,
  pieceLastAt,
  pieceSamples,
} from './pieces.ts';
import { lowerBound } from './samples.ts';
import { findChannel, LATE_HORIZON_MS, type Series } from './series.ts';
import { addSegment, forEachSegment, holdOf, mergeRow, type Row, trapezoid2Of } from './tally.ts';

/** `hold` for gas; `trapezoid` for gamma. */
export type IntegralKind = 'hold' | 'trapezoid';

/** What one channel read in one unit over a span. */
export type Integral = {
  /** As sent; '' for over-range readings that named no unit. */
  readonly unit: string;
  /** Value × ms over the covered time; negative values count as 0. */
  readonly sum: ExactSum;
  /** Time with a number, ms. What is not covered is unknown, not 0: show it beside every figure. */
  readonly coveredMs: number;
  /** Numbers measured in the span. */
  readonly samples: number;
  /** Highest and lowest value in force or measured in the span, raw; null without one. For oxygen use the minimum. */
  readonly peak: number | null;
  readonly minimum: number | null;
  /** Time above the sensor's range, ms: not in `sum`, which is then a lower bound. */
  readonly overRangeMs: number;
};

/**
 * The integral of a channel over [fromMs, toMs), one entry a unit, by unit name. With `hold` a value stands until the
 * next sample of the channel, at most its hold; with `trapezoid` see `tally.ts`: a number without a successor close
 * enough covers nothing. Spans add up: [a, b) and [b, c) give exactly [a, c).
 */
export function integral(
  series: Series,
  channel: string,
  fromMs: number,
  toMs: number,
  kind: IntegralKind,
): Integral[] {
  const found = findChannel(series, channel);
  const from = Math.round(fromMs);
  const to = Math.round(toMs);
  if (found === undefined || !(to > from)) return [];
  const rows: Row[] = [];
  const binnedTo = binnedUpTo(found, series.newest - LATE_HORIZON_MS);
  if (from < binnedTo) addBinned(rows, found, { fromMs: from, toMs: Math.min(to, binnedTo) }, binnedTo);
  if (to > binnedTo) addExact(rows, found, Math.max(from, binnedTo), to);
  return rows.map((row) => asIntegral(row, found.units[row.unit] ?? '', kind)).sort(byUnit);
}

/**
 * Up to where bins govern: the last whole 10 s before the last sample that nothing can change any more. It follows
 * from the samples alone, so a figure does not depend on which of them are packed away already.
 */
function binnedUpTo(channel: ChannelSeries, cutoff: number): number {
  for (let piece = pieceCount(channel) - 1; piece >= 0; piece -= 1) {
    if (pieceFirstAt(channel, piece) >= cutoff) continue;
    const lastAt = pieceLastAt(channel, piece);
    if (lastAt < cutoff) return Math.floor(lastAt / BIN_MS) * BIN_MS;
    const { at } = pieceSamples(channel, piece);
    return Math.floor(item(at, lowerBound(at, cutoff) - 1) / BIN_MS) * BIN_MS;
  }
  return -Infinity;
}

function addExact(rows: Row[], channel: ChannelSeries, fromMs: number, toMs: number): void {
  const pieces = pieceCount(channel);
  let piece = Math.max(0, lowerBound(channel.firstAt, fromMs + 1) - 1);
  if (pieceFirstAt(channel, pieces - 1) <= fromMs) piece = pieces - 1;
  for (; piece < pieces && pieceFirstAt(channel, piece) < toMs; piece += 1) {
    const bytes = channel.chunks[piece];
    if (
      bytes !== undefined &&
      isSealed(bytes) &&
      pieceFirstAt(channel, piece) >= fromMs &&
      pieceLastAt(channel, piece) <= toMs
    ) {
      for (const row of chunkTotals(bytes)) mergeRow(rows, row);
    } else {
      const samples = pieceSamples(channel, piece);
      const first = Math.max(0, lowerBound(samples.at, fromMs + 1) - 1);
      forEachSegment(samples, first, (segment) => addSegment(rows, segment, fromMs, toMs));
    }
    addSegment(rows, linkAfter(channel, piece), fromMs, toMs);
  }
}

type Span = { readonly fromMs: number; readonly toMs: number };

function addBinned(rows: Row[], channel: ChannelSeries, span: Span, binnedTo: number): void {
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
  for (let piece = 0; piece < pieceCount(channel) && pieceFirstAt(channel, piece) < binnedTo; piece += 1) {
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

function asIntegral(row: Row, unit: string, kind: IntegralKind): Integral {
  const sum =
    kind === 'hold'
      ? exactSum(BigInt(holdOf(row)), -row.decimals)
      : exactSum(BigInt(trapezoid2Of(row)) * 5n, -row.decimals - 1);
  return {
    unit,
    sum,
    coveredMs: kind === 'hold' ? row.holdMs : row.trapezoidMs,
    samples: row.samples,
    peak: row.peak < row.minimum ? null : row.peak,
    minimum: row.peak < row.minimum ? null : row.minimum,
    overRangeMs: row.overRangeMs,
  };
}

function byUnit(a: Integral, b: Integral): number {
  return a.unit < b.unit ? -1 : 1;
}
