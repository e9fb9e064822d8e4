/**
 * The sums of a span, kept from one question to the next: a board asks for the same spans once a second, each a
 * little longer than before. What is kept here is no part of the state: it follows from it, is found again by it,
 * and is dropped as soon as a late sample makes it void.
 */
import { addBinned, binnedUpTo } from './binned.ts';
import { BIN_MS, forEachBin } from './bins.ts';
import { facts, gapsOfChunks, quickLink } from './chunk-facts.ts';
import { item } from './decimal.ts';
import { addGap, type Gaps, joinGap } from './gaps.ts';
import { type ChannelSeries, isSealed, linkAfter, pieceFirstAt, pieceLastAt, pieceSamples } from './pieces.ts';
import { lowerBound, type Samples } from './samples.ts';
import { addSegment, forEachSegment, mergeRow, type Row } from './tally.ts';

type Standing = {
  sealedRevision: number;
  openRevision: number;
  /** Sums of the chunks from that one to the open samples, links included. */
  readonly chunksFrom: Map<number, Row[]>;
  /** Sums of part of the span that the chunks cover, by its bounds. */
  readonly parts: Map<string, Row[]>;
  /** The last chunk that a bound cut, unpacked. */
  cutChunk: Uint8Array | null;
  cutSamples: Samples | null;
  chunkGaps: Gaps | null;
  /** Sums and gaps of the first open samples, and of how many of them. */
  openRows: Row[];
  openGaps: Gaps;
  openCount: number;
  /** Sums of spans that end in what nothing can change any more, by their bounds. */
  readonly final: Map<string, Row[]>;
  /** Sums of the bins from one on, as long as no bin is added. */
  readonly binsFrom: Map<number, Row[]>;
  newestBlock: Uint8Array | undefined;
};

/** A bound that moves with the clock leaves entries that nobody asks for again. */
const MOST_KEPT = 32;
const MOST_CUTS = 8;

const standings = new WeakMap<ChannelSeries, Standing>();

/** Adds the sums of a channel over [fromMs, toMs), whole ms, to `rows`. See `integral.ts` for what they are. */
export function addSpan(rows: Row[], channel: ChannelSeries, fromMs: number, toMs: number, cutoffMs: number): void {
  if (channel.open.at.length === 0 || !(toMs > fromMs)) return;
  const standing = standingOf(channel);
  if (fromMs >= cutoffMs) {
    addExact(rows, channel, standing, fromMs, toMs);
    return;
  }
  const start = Math.ceil(fromMs / BIN_MS) * BIN_MS;
  const end = Math.min(start, toMs);
  // An end before the line needs the bins to be looked at as a whole; it is asked for again and again unchanged.
  const head = `${fromMs} ${toMs <= cutoffMs ? toMs : end}`;
  const known = standing.final.get(head);
  if (known === undefined) {
    const binnedTo = binnedUpTo(channel, cutoffMs);
    if (toMs <= binnedTo) {
      addAll(rows, remember(standing.final, head, binned(channel, fromMs, toMs, binnedTo)));
    } else if (fromMs >= binnedTo) {
      addExact(rows, channel, standing, fromMs, toMs);
    } else {
      addAll(rows, remember(standing.final, `${fromMs} ${end}`, binned(channel, fromMs, end, binnedTo)));
      addExact(rows, channel, standing, start, toMs);
    }
    return;
  }
  addAll(rows, known);
  if (toMs > cutoffMs) addExact(rows, channel, standing, start, toMs);
}

/** Adds the gaps of a channel within [fromMs, toMs), in order of time. */
export function addGaps(gaps: Gaps, channel: ChannelSeries, fromMs: number, toMs: number): void {
  const within = (from: number, to: number) => joinGap(gaps, Math.max(from, fromMs), Math.min(to, toMs));
  const addAllOf = (list: Gaps) => {
    for (let index = lowerBound(list.to, fromMs + 1); index < list.from.length; index += 1) {
      if (item(list.from, index) >= toMs) return;
      within(item(list.from, index), item(list.to, index));
    }
  };
  const { open } = channel;
  if (open.at.length === 0) {
    within(fromMs, toMs);
    return;
  }
  const standing = standingOf(channel);
  if (channel.bins.bytes.length === 0) within(-Infinity, pieceFirstAt(channel, 0));
  addAllOf({ from: channel.gapFrom, to: channel.gapTo });
  if (channel.chunks.length > 0) {
    standing.chunkGaps ??= gapsOfChunks(channel);
    addAllOf(standing.chunkGaps);
  }
  countOpen(channel, standing);
  addAllOf(standing.openGaps);
  const newest = linkAfter(channel, channel.chunks.length);
  const rest: Gaps = { from: [], to: [] };
  addGap(rest, newest);
  addAllOf(rest);
}

function standingOf(channel: ChannelSeries): Standing {
  let standing = standings.get(channel);
  if (standing === undefined) {
    standing = {
      sealedRevision: channel.sealedRevision,
      openRevision: channel.openRevision,
      chunksFrom: new Map(),
      parts: new Map(),
      cutChunk: null,
      cutSamples: null,
      chunkGaps: null,
      openRows: [],
      openGaps: { from: [], to: [] },
      openCount: 0,
      final: new Map(),
      binsFrom: new Map(),
      newestBlock: undefined,
    };
    standings.set(channel, standing);
  }
  if (standing.sealedRevision !== channel.sealedRevision) {
    standing.sealedRevision = channel.sealedRevision;
    standing.chunksFrom.clear();
    standing.parts.clear();
    standing.chunkGaps = null;
  }
  if (standing.openRevision !== channel.openRevision) {
    standing.openRevision = channel.openRevision;
    standing.openRows = [];
    standing.openGaps = { from: [], to: [] };
    standing.openCount = 0;
  }
  return standing;
}

function remember<Key>(kept: Map<Key, Row[]>, key: Key, rows: Row[]): Row[] {
  if (kept.size >= MOST_KEPT) kept.clear();
  kept.set(key, rows);
  return rows;
}

function addAll(rows: Row[], added: readonly Row[]): void {
  for (const row of added) mergeRow(rows, row);
}

function binned(channel: ChannelSeries, fromMs: number, toMs: number, binnedTo: number): Row[] {
  const rows: Row[] = [];
  if (toMs > fromMs) addBinned(rows, channel, { fromMs, toMs }, binnedTo);
  return rows;
}

/** A span that lies after the line, or that starts on a whole bin before it. */
function addExact(rows: Row[], channel: ChannelSeries, standing: Standing, fromMs: number, toMs: number): void {
  const { open, chunks } = channel;
  if (!(toMs > fromMs)) return;
  let piece = 0;
  let from = fromMs;
  if (fromMs < pieceFirstAt(channel, 0)) {
    addAll(rows, binsFrom(channel, standing, Math.floor(fromMs / BIN_MS)));
    from = -Infinity;
  } else {
    piece = pieceAt(channel, fromMs);
  }
  const openFrom = item(open.at, 0);
  if (toMs <= openFrom || piece === chunks.length) {
    if (piece < chunks.length) addAll(rows, partOf(channel, standing, piece, from, toMs));
    else addOpen(rows, channel, standing, from, toMs);
    return;
  }
  if (from === -Infinity) {
    addAll(rows, chunksFrom(channel, standing, piece));
  } else {
    addAll(rows, partOf(channel, standing, piece, from, openFrom));
  }
  addOpen(rows, channel, standing, -Infinity, toMs);
}

function pieceAt(channel: ChannelSeries, atMs: number): number {
  if (item(channel.open.at, 0) <= atMs) return channel.chunks.length;
  return Math.max(0, lowerBound(channel.firstAt, atMs + 1) - 1);
}

/** Bins from one on. They hold all that is before the first piece. */
function binsFrom(channel: ChannelSeries, standing: Standing, bin: number): Row[] {
  const newest = channel.bins.bytes.at(-1);
  if (standing.newestBlock !== newest) {
    standing.newestBlock = newest;
    standing.binsFrom.clear();
  }
  const known = standing.binsFrom.get(bin);
  if (known !== undefined) return known;
  const rows: Row[] = [];
  forEachBin(channel.bins, bin, Infinity, (_bin, row) => mergeRow(rows, row));
  return remember(standing.binsFrom, bin, rows);
}

/** All chunks from `piece` on, up to the first open sample. */
function chunksFrom(channel: ChannelSeries, standing: Standing, piece: number): Row[] {
  const known = standing.chunksFrom.get(piece);
  if (known !== undefined) return known;
  const rows: Row[] = [];
  for (let index = piece; index < channel.chunks.length; index += 1) {
    addWhole(rows, channel, index);
    addSegment(rows, quickLink(channel, index), -Infinity, Infinity);
  }
  return remember(standing.chunksFrom, piece, rows);
}

/** [fromMs, toMs) from the chunk `piece` on, at most to the first open sample. */
function partOf(channel: ChannelSeries, standing: Standing, piece: number, fromMs: number, toMs: number): Row[] {
  const key = `${fromMs} ${toMs}`;
  const known = standing.parts.get(key);
  if (known !== undefined) return known;
  const rows: Row[] = [];
  const { chunks } = channel;
  const toOpen = toMs === item(channel.open.at, 0);
  for (let index = piece; index < chunks.length && pieceFirstAt(channel, index) < toMs; index += 1) {
    if (toOpen && index > piece) {
      addAll(rows, chunksFrom(channel, standing, index));
      break;
    }
    if (pieceFirstAt(channel, index) >= fromMs && pieceLastAt(channel, index) <= toMs) {
      addWhole(rows, channel, index);
    } else {
      addAll(rows, cutOf(channel, standing, index, fromMs, toMs));
    }
    addSegment(rows, quickLink(channel, index), fromMs, toMs);
  }
  return remember(standing.parts, key, rows);
}

/** The part of one chunk within [fromMs, toMs), without its link. Sealed bytes never change, so it holds for ever. */
function cutOf(channel: ChannelSeries, standing: Standing, piece: number, fromMs: number, toMs: number): Row[] {
  const chunk = channel.chunks[piece];
  const kept = chunk !== undefined && isSealed(chunk) ? facts(channel, chunk, piece).cuts : null;
  const key = `${fromMs > pieceFirstAt(channel, piece) ? fromMs : ''} ${toMs <= pieceLastAt(channel, piece) ? toMs : ''}`;
  const known = kept?.get(key);
  if (known !== undefined) return known;
  const rows: Row[] = [];
  const samples = unpacked(channel, standing, piece);
  const first = Math.max(0, lowerBound(samples.at, fromMs + 1) - 1);
  forEachSegment(samples, first, (segment) => addSegment(rows, segment, fromMs, toMs));
  if (kept === null) return rows;
  // The bound of a sliding window is another each time: the ones that stay are found again at once.
  if (kept.size >= MOST_CUTS) kept.clear();
  kept.set(key, rows);
  return rows;
}

function unpacked(channel: ChannelSeries, standing: Standing, piece: number): Samples {
  const chunk = channel.chunks[piece];
  if (chunk === undefined || !isSealed(chunk)) return pieceSamples(channel, piece);
  if (standing.cutChunk === chunk && standing.cutSamples !== null) return standing.cutSamples;
  standing.cutChunk = chunk;
  standing.cutSamples = pieceSamples(channel, piece);
  return standing.cutSamples;
}

function addWhole(rows: Row[], channel: ChannelSeries, piece: number): void {
  const chunk = channel.chunks[piece];
  if (chunk !== undefined && isSealed(chunk)) addAll(rows, facts(channel, chunk, piece).rows);
  else forEachSegment(pieceSamples(channel, piece), 0, (segment) => addSegment(rows, segment, -Infinity, Infinity));
}

function addOpen(rows: Row[], channel: ChannelSeries, standing: Standing, fromMs: number, toMs: number): void {
  const { open } = channel;
  const last = item(open.at, open.at.length - 1);
  if (fromMs <= item(open.at, 0) && toMs > last) {
    countOpen(channel, standing);
    addAll(rows, standing.openRows);
  } else {
    const first = Math.max(0, lowerBound(open.at, fromMs + 1) - 1);
    forEachSegment(open, first, (segment) => addSegment(rows, segment, fromMs, toMs));
  }
  addSegment(rows, linkAfter(channel, channel.chunks.length), fromMs, toMs);
}

/** Brings the sums and gaps of the open samples up to the newest one. */
function countOpen(channel: ChannelSeries, standing: Standing): void {
  const { openRows, openGaps } = standing;
  forEachSegment(channel.open, standing.openCount, (segment) => {
    addSegment(openRows, segment, -Infinity, Infinity);
    addGap(openGaps, segment);
  });
  standing.openCount = channel.open.at.length - 1;
}
