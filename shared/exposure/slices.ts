/** The sum of a span cut into slices of one length, in one pass: for windows that slide. */

import { binnedUpTo } from './binned.ts';
import { BIN_MS, createBinning, forEachBin } from './bins.ts';
import { addCanonical, type UnitRows } from './canonical-sums.ts';
import { type ChannelSeries, linkAfter, pieceCount, pieceFirstAt, pieceSamples } from './pieces.ts';
import { lowerBound } from './samples.ts';
import { findChannel, LATE_HORIZON_MS } from './series.ts';
import { addSpan } from './standing.ts';
import { addSegment, endOf, forEachSegment, mergeRow, type Row, type Segment } from './tally.ts';
import type { SeriesOf, WornSpan } from './wearing.ts';

/** Slices from `originMs`, each `stepMs` long; a multiple of 10 s from a whole 10 s where it reaches past the horizon. */
export type Slicing = { readonly originMs: number; readonly stepMs: number; readonly count: number };

/** The sums of one channel by slice, in the canonical unit. Each equals what a question for it alone would give. */
export function sliceWorn(
  seriesOf: SeriesOf,
  channel: string,
  spans: readonly WornSpan[],
  slicing: Slicing,
): UnitRows[] {
  const slices = Array.from({ length: slicing.count }, (): UnitRows => ({ units: [], rows: [] }));
  for (const span of spans) {
    const series = seriesOf(span.monitor);
    const found = series === undefined ? undefined : findChannel(series, channel);
    if (series === undefined || found === undefined || found.open.at.length === 0) continue;
    const rows = sliceChannel(found, span, slicing, series.newest - LATE_HORIZON_MS);
    rows.forEach((list, index) => {
      const slice = slices[index];
      if (slice !== undefined) for (const row of list) addCanonical(slice, channel, found.units[row.unit] ?? '', row);
    });
  }
  return slices;
}

function sliceChannel(channel: ChannelSeries, span: WornSpan, slicing: Slicing, cutoffMs: number): Row[][] {
  const { originMs, stepMs, count } = slicing;
  const rows: Row[][] = Array.from({ length: count }, () => []);
  const binnedTo = binnedUpTo(channel, cutoffMs);
  const firstWhole = Math.ceil((span.fromMs - originMs) / stepMs);
  const endWhole = Math.floor((span.toMs - originMs) / stepMs);
  // Slices that the span or the line cuts are asked for one by one; the rest is one walk.
  const lineIn = Math.floor((binnedTo - originMs) / stepMs);
  for (let index = Math.max(0, firstWhole - 1); index < Math.min(count, endWhole + 1); index += 1) {
    const whole = index >= firstWhole && index < endWhole;
    if (whole && index !== lineIn) continue;
    const start = originMs + index * stepMs;
    const list = rows[index];
    const from = Math.max(start, span.fromMs);
    const to = Math.min(start + stepMs, span.toMs);
    if (list !== undefined && to > from) addSpan(list, channel, from, to, cutoffMs);
  }
  const first = Math.max(0, firstWhole);
  const end = Math.min(count, endWhole);
  const line = Math.min(end, Math.max(first, lineIn));
  if (first < line) addBinSlices(rows, channel, slicing, first, line);
  addSampleSlices(rows, channel, slicing, lineIn >= first ? line + 1 : first, end);
  return rows;
}

function addBinSlices(rows: Row[][], channel: ChannelSeries, slicing: Slicing, first: number, end: number): void {
  const { originMs, stepMs } = slicing;
  const firstBin = (originMs + first * stepMs) / BIN_MS;
  const endBin = (originMs + end * stepMs) / BIN_MS;
  const add = (bin: number, row: Row) => {
    const list = rows[Math.floor((bin * BIN_MS - originMs) / stepMs)];
    if (list !== undefined) mergeRow(list, row);
  };
  forEachBin(channel.bins, firstBin, endBin, add);
  const binning = createBinning(firstBin, endBin);
  walk(channel, firstBin * BIN_MS, endBin * BIN_MS, binning.add);
  for (const { bin, row } of binning.finish()) add(bin, row);
}

function addSampleSlices(rows: Row[][], channel: ChannelSeries, slicing: Slicing, first: number, end: number): void {
  const { originMs, stepMs } = slicing;
  if (first >= end) return;
  walk(channel, originMs + first * stepMs, originMs + end * stepMs, (segment) => {
    const from = Math.max(first, Math.floor((segment.at - originMs) / stepMs));
    const to = Math.min(end - 1, Math.floor((Math.max(segment.at, endOf(segment) - 1) - originMs) / stepMs));
    for (let index = from; index <= to; index += 1) {
      const list = rows[index];
      const start = originMs + index * stepMs;
      if (list !== undefined) addSegment(list, segment, start, start + stepMs);
    }
  });
}

/** Visits all segments that the pieces have within a span, and some about it. */
function walk(channel: ChannelSeries, fromMs: number, toMs: number, visit: (segment: Segment) => void): void {
  const pieces = pieceCount(channel);
  let piece = Math.max(0, lowerBound(channel.firstAt, fromMs + 1) - 1);
  if (pieceFirstAt(channel, pieces - 1) <= fromMs) piece = pieces - 1;
  for (; piece < pieces && pieceFirstAt(channel, piece) < toMs; piece += 1) {
    const samples = pieceSamples(channel, piece);
    forEachSegment(samples, Math.max(0, lowerBound(samples.at, fromMs + 1) - 1), visit);
    visit(linkAfter(channel, piece));
  }
}
