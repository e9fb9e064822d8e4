/**
 * Takes in a sample that is older than the newest one of its channel. The chunk that it belongs to is thawed and
 * stays so while more may follow: a backlog sent in one go would otherwise seal the same chunk once a sample.
 */
import { sealChunk } from './chunk.ts';
import { item } from './decimal.ts';
import { type ChannelSeries, isSealed, pieceSamples } from './pieces.ts';
import { beats, insertSample, lowerBound, type Sample, type Samples } from './samples.ts';

export const CHUNK_SAMPLES = 256;
/** How many chunks are thawed at once at most: a backlog of a quarter of an hour in any order. */
const MOST_THAWED = 4;

/** Puts a late sample in its place. */
export function placeLate(channel: ChannelSeries, sample: Sample): void {
  const { open, chunks, firstAt, lastAt } = channel;
  const wins = (challenger: Sample, holder: Sample) => beats(channel.name, channel.units, challenger, holder);
  const openFrom = item(open.at, 0);
  if (chunks.length === 0 || sample.at >= openFrom) {
    if (!insertSample(open, sample, wins)) return;
    channel.openRevision += 1;
    if (sample.at <= openFrom) channel.sealedRevision += 1;
    return;
  }
  const piece = Math.max(0, lowerBound(firstAt, sample.at + 1) - 1);
  const samples = pieceSamples(channel, piece);
  if (!insertSample(samples, sample, wins)) return;
  channel.sealedRevision += 1;
  const chunk = chunks[piece];
  if (chunk !== undefined && isSealed(chunk)) {
    chunks[piece] = samples;
    sealOthers(channel, piece);
  }
  firstAt[piece] = item(samples.at, 0);
  lastAt[piece] = item(samples.at, samples.at.length - 1);
  if (samples.at.length > CHUNK_SAMPLES) split(channel, piece, samples, lowerBound(samples.at, sample.at));
}

/** Seals what was thawed. */
export function sealThawed(channel: ChannelSeries): void {
  const { chunks } = channel;
  for (let piece = 0; piece < chunks.length; piece += 1) {
    const chunk = chunks[piece];
    if (chunk !== undefined && !isSealed(chunk)) chunks[piece] = sealChunk(chunk, 0, chunk.at.length);
  }
}

/** Seals the thawed chunk that is furthest from `piece` where there are too many. */
function sealOthers(channel: ChannelSeries, piece: number): void {
  const { chunks } = channel;
  let thawed = 0;
  let furthest = piece;
  for (let index = 0; index < chunks.length; index += 1) {
    const chunk = chunks[index];
    if (chunk === undefined || isSealed(chunk)) continue;
    thawed += 1;
    if (Math.abs(index - piece) > Math.abs(furthest - piece)) furthest = index;
  }
  const chunk = chunks[furthest];
  if (thawed <= MOST_THAWED || furthest === piece || chunk === undefined || isSealed(chunk)) return;
  chunks[furthest] = sealChunk(chunk, 0, chunk.at.length);
}

/** Cuts a chunk in half. The half that the last sample went into stays thawed: the next one is its neighbour. */
function split(channel: ChannelSeries, piece: number, samples: Samples, index: number): void {
  const count = samples.at.length;
  const cut = count >> 1;
  const halves = [
    [0, cut],
    [cut, count],
  ].map(([from = 0, to = count]) =>
    index >= from && index < to ? partOf(samples, from, to) : sealChunk(samples, from, to),
  );
  channel.chunks.splice(piece, 1, ...halves);
  channel.firstAt.splice(piece, 1, item(samples.at, 0), item(samples.at, cut));
  channel.lastAt.splice(piece, 1, item(samples.at, cut - 1), item(samples.at, count - 1));
}

function partOf(samples: Samples, from: number, to: number): Samples {
  return {
    at: samples.at.slice(from, to),
    value: samples.value.slice(from, to),
    code: samples.code.slice(from, to),
    hold: samples.hold.slice(from, to),
  };
}
