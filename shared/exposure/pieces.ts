/** The pieces that a channel's samples are kept in, and what stands between one and the next. */
import type { Bins } from './bins.ts';
import { chunkFirst, chunkLast, openChunk } from './chunk.ts';
import { item } from './decimal.ts';
import { readSample, type Sample, type Samples } from './samples.ts';
import { createSegment, type Segment } from './tally.ts';

/** Sealed into bytes, or thawed for a while because late samples are coming in. */
export type Chunk = Uint8Array | Samples;

/** One channel. Chunks in order of time with the times of their first and last samples; `open` follows them. */
export type ChannelSeries = {
  readonly name: string;
  readonly units: string[];
  readonly bins: Bins;
  readonly firstAt: number[];
  readonly lastAt: number[];
  readonly chunks: Chunk[];
  /** Never empty once there was a sample. */
  readonly open: Samples;
  /** Time before the first chunk in which no reading stood, ms: starts and ends, rising, none touching another. */
  readonly gapFrom: number[];
  readonly gapTo: number[];
  /** Rises whenever the bins, the chunks or the first open sample change: what was added up over them is void then. */
  sealedRevision: number;
  /** Rises whenever a sample goes into `open` other than at its end. */
  openRevision: number;
};

export function isSealed(chunk: Chunk): chunk is Uint8Array {
  return chunk instanceof Uint8Array;
}

/** How many pieces a channel has: its chunks, and the open samples as the last one. */
export function pieceCount(channel: ChannelSeries): number {
  return channel.chunks.length + (channel.open.at.length > 0 ? 1 : 0);
}

/** When a piece starts, ms. */
export function pieceFirstAt(channel: ChannelSeries, piece: number): number {
  return piece < channel.chunks.length ? item(channel.firstAt, piece) : item(channel.open.at, 0);
}

/** When the last sample of a piece was measured, ms. */
export function pieceLastAt(channel: ChannelSeries, piece: number): number {
  const { open, lastAt, chunks } = channel;
  return piece < chunks.length ? item(lastAt, piece) : item(open.at, open.at.length - 1);
}

/** The samples of a piece. */
export function pieceSamples(channel: ChannelSeries, piece: number): Samples {
  const chunk = channel.chunks[piece];
  if (chunk === undefined) return channel.open;
  return isSealed(chunk) ? openChunk(chunk, item(channel.firstAt, piece)) : chunk;
}

/** The segment from the last sample of a piece to the first one of the next; with none it lasts as long as it stands. */
export function linkAfter(channel: ChannelSeries, piece: number): Segment {
  return segmentOf(lastOf(channel, piece), piece < channel.chunks.length ? firstOf(channel, piece + 1) : null);
}

/** The segment from one sample to the next; null: there is none yet. */
export function segmentOf(sample: Sample, next: Sample | null): Segment {
  const segment = createSegment();
  segment.at = sample.at;
  segment.value = sample.value;
  segment.code = sample.code;
  segment.hold = sample.hold;
  segment.nextAt = next === null ? Infinity : next.at;
  if (next === null) return segment;
  segment.nextValue = next.value;
  segment.nextCode = next.code;
  return segment;
}

function lastOf(channel: ChannelSeries, piece: number): Sample {
  const chunk = channel.chunks[piece];
  if (chunk !== undefined && isSealed(chunk)) return chunkLast(chunk, item(channel.lastAt, piece));
  const samples = chunk ?? channel.open;
  return readSample(samples, samples.at.length - 1);
}

function firstOf(channel: ChannelSeries, piece: number): Sample {
  const chunk = channel.chunks[piece];
  if (chunk !== undefined && isSealed(chunk)) return chunkFirst(chunk, item(channel.firstAt, piece));
  return readSample(chunk ?? channel.open, 0);
}
