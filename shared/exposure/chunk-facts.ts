/** What sealed chunks say without being unpacked, read once each: their bytes are never changed in place. */
import { chunkFirst, chunkLast, chunkTotals } from './chunk.ts';
import { item } from './decimal.ts';
import { addGap, type Gaps } from './gaps.ts';
import { type ChannelSeries, isSealed, linkAfter, pieceSamples, segmentOf } from './pieces.ts';
import { readSample, type Sample } from './samples.ts';
import { forEachSegment, type Row, type Segment } from './tally.ts';

type Facts = { readonly rows: Row[]; readonly first: Sample; readonly last: Sample; readonly cuts: Map<string, Row[]> };

const factsOf = new WeakMap<Uint8Array, Facts>();

/** The totals of a sealed chunk, its first and last sample, and the parts of it that were asked for. */
export function facts(channel: ChannelSeries, chunk: Uint8Array, piece: number): Facts {
  let known = factsOf.get(chunk);
  if (known === undefined) {
    known = {
      rows: chunkTotals(chunk),
      first: chunkFirst(chunk, item(channel.firstAt, piece)),
      last: chunkLast(chunk, item(channel.lastAt, piece)),
      cuts: new Map(),
    };
    factsOf.set(chunk, known);
  }
  return known;
}

/** `linkAfter` without unpacking: only for a piece that has a next one. */
export function quickLink(channel: ChannelSeries, piece: number): Segment {
  const { chunks, open } = channel;
  const chunk = chunks[piece];
  if (chunk === undefined || !isSealed(chunk)) return linkAfter(channel, piece);
  const following = chunks[piece + 1];
  if (following !== undefined && isSealed(following)) {
    return segmentOf(facts(channel, chunk, piece).last, facts(channel, following, piece + 1).first);
  }
  return segmentOf(facts(channel, chunk, piece).last, readSample(following ?? open, 0));
}

/** The gaps between the first chunk and the first open sample. */
export function gapsOfChunks(channel: ChannelSeries): Gaps {
  const gaps: Gaps = { from: [], to: [] };
  for (let piece = 0; piece < channel.chunks.length; piece += 1) {
    const chunk = channel.chunks[piece];
    if (chunk === undefined || !isSealed(chunk) || !isUnbroken(channel, chunk, piece)) {
      forEachSegment(pieceSamples(channel, piece), 0, (segment) => addGap(gaps, segment));
    }
    addGap(gaps, quickLink(channel, piece));
  }
  return gaps;
}

function isUnbroken(channel: ChannelSeries, chunk: Uint8Array, piece: number): boolean {
  let covered = 0;
  for (const row of facts(channel, chunk, piece).rows) covered += row.holdMs + row.overRangeMs;
  return covered === item(channel.lastAt, piece) - item(channel.firstAt, piece);
}
