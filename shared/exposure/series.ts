/**
 * What one monitor measured, kept for exposure: the samples of the late horizon, and 10 s bins for the rest. Plain
 * data in the fold's state; nothing here depends on the order in which samples arrived, only on what they say.
 *
 * Beyond the horizon a figure is that of the bins, whichever samples happen to be unpacked still: see
 * `integral.ts`.
 */
import { appendBins, BIN_MS, type Bins, createBinning, createBins } from './bins.ts';
import { chunkFirst, chunkLast, openChunk, sealChunk } from './chunk.ts';
import { asSent, item } from './decimal.ts';
import {
  beats,
  createSamples,
  insertSample,
  lowerBound,
  MISSING,
  numberCode,
  overRangeCode,
  readSample,
  type Sample,
  type Samples,
} from './samples.ts';
import { createSegment, forEachSegment, type Segment } from './tally.ts';

/** Samples older than this against the newest one of the monitor are not taken in any more. */
export const LATE_HORIZON_MS = 2 * 3_600_000;
const CHUNK_SAMPLES = 256;

/** One channel. Chunks in order of time with the times of their first and last samples; `open` follows them. */
export type ChannelSeries = {
  readonly name: string;
  readonly units: string[];
  readonly bins: Bins;
  readonly firstAt: number[];
  readonly lastAt: number[];
  readonly chunks: Uint8Array[];
  /** Never empty once there was a sample. */
  readonly open: Samples;
};
export type Series = {
  readonly channels: ChannelSeries[];
  /** Measured time of the newest sample, ms; 0 before the first. */
  newest: number;
  /** How many samples came too late to be taken in: while it is above 0, figures need a new fold to be complete. */
  beyondHorizon: number;
};

/** One channel of a sample. `value: null` is known to be missing; `overRange` says that it was above the range. */
export type ExposureReading =
  | { readonly channel: string; readonly value: number; readonly unit: string }
  | {
      readonly channel: string;
      readonly value: null;
      readonly overRange?: boolean | undefined;
      readonly unit?: string | undefined;
    };
export type AddResult = { readonly status: 'added' | 'beyond-horizon' };

const ADDED: AddResult = Object.freeze({ status: 'added' });
const BEYOND: AddResult = Object.freeze({ status: 'beyond-horizon' });

/** An empty series. */
export function createSeries(): Series {
  return { channels: [], newest: 0, beyondHorizon: 0 };
}

/**
 * Takes in what a monitor measured at `atMs` (ms since 1970 on the post's scale; throws a RangeError where it is not
 * finite). Values stay in the unit sent, to 12 significant digits; one that is not finite is missing. The sample
 * stands until the next one of its channel, at most `holdMs`. The same sample again changes nothing; of two of one
 * time the worse one stays (`beats`). A sample beyond the late horizon is counted and not taken in.
 */
export function addSample(
  series: Series,
  atMs: number,
  readings: readonly ExposureReading[],
  holdMs: number,
): AddResult {
  if (!Number.isFinite(atMs)) throw new RangeError(`a sample needs a time, not ${atMs}`);
  const at = Math.round(atMs);
  if (at < Math.max(0, series.newest - LATE_HORIZON_MS)) {
    series.beyondHorizon += 1;
    return BEYOND;
  }
  if (at > series.newest) series.newest = at;
  const stands = Math.max(0, Math.round(holdMs));
  for (let index = 0; index < readings.length; index += 1) {
    const reading = readings[index];
    if (reading !== undefined) addReading(series, index, at, reading, stands);
  }
  return ADDED;
}

/** The channel of that name. */
export function findChannel(series: Series, name: string): ChannelSeries | undefined {
  return series.channels.find((channel) => channel.name === name);
}

/** About how many bytes a series takes in memory. */
export function seriesBytes(series: Series): number {
  const arrayBytes = 96; // a small typed array with its head, roughly
  let bytes = 64;
  for (const { open, chunks, bins } of series.channels) {
    bytes += 512 + open.at.length * 32;
    for (const chunk of [...chunks, ...bins.bytes]) bytes += chunk.length + arrayBytes + 16;
  }
  return bytes;
}

/** How many pieces a channel has: its chunks, and the open samples as the last one. */
export function pieceCount(channel: ChannelSeries): number {
  return channel.chunks.length + (channel.open.at.length > 0 ? 1 : 0);
}

/** When a piece starts, ms. */
export function pieceFirstAt(channel: ChannelSeries, piece: number): number {
  return item(
    piece < channel.chunks.length ? channel.firstAt : channel.open.at,
    piece < channel.chunks.length ? piece : 0,
  );
}

/** When the last sample of a piece was measured, ms. */
export function pieceLastAt(channel: ChannelSeries, piece: number): number {
  const { open, lastAt, chunks } = channel;
  return piece < chunks.length ? item(lastAt, piece) : item(open.at, open.at.length - 1);
}

/** The samples of a piece. */
export function pieceSamples(channel: ChannelSeries, piece: number): Samples {
  const bytes = channel.chunks[piece];
  return bytes === undefined ? channel.open : openChunk(bytes, item(channel.firstAt, piece));
}

/** The segment from the last sample of a piece to the first one of the next; with none it lasts as long as it stands. */
export function linkAfter(channel: ChannelSeries, piece: number): Segment {
  const { chunks, open } = channel;
  const bytes = chunks[piece];
  const last =
    bytes === undefined ? readSample(open, open.at.length - 1) : chunkLast(bytes, item(channel.lastAt, piece));
  const segment = Object.assign(createSegment(), last);
  if (bytes === undefined) {
    segment.nextAt = Infinity;
    return segment;
  }
  const following = chunks[piece + 1];
  const next = following === undefined ? readSample(open, 0) : chunkFirst(following, item(channel.firstAt, piece + 1));
  segment.nextAt = next.at;
  segment.nextValue = next.value;
  segment.nextCode = next.code;
  return segment;
}

function addReading(series: Series, hint: number, at: number, reading: ExposureReading, stands: number): void {
  const channel = channelFor(series, hint, reading.channel);
  let value = 0;
  let code = MISSING;
  let hold = 0;
  if (reading.value === null) {
    if (reading.overRange === true) {
      code = overRangeCode(unitIndex(channel, reading.unit ?? ''));
      hold = stands;
    }
  } else if (Number.isFinite(reading.value)) {
    value = asSent(reading.value);
    code = numberCode(unitIndex(channel, reading.unit));
    hold = stands;
  }
  const { open } = channel;
  const last = open.at[open.at.length - 1];
  if (last === undefined || at > last) {
    open.at.push(at);
    open.value.push(value);
    open.code.push(code);
    open.hold.push(hold);
  } else {
    placeLate(channel, { at, value, code, hold });
  }
  if (open.at.length > CHUNK_SAMPLES) {
    sealOpen(channel);
    reduce(channel, series.newest - LATE_HORIZON_MS);
  }
}

/** Monitors send their channels in the same order each time, so the place in the packet finds it at once. */
function channelFor(series: Series, hint: number, name: string): ChannelSeries {
  const likely = series.channels[hint];
  if (likely !== undefined && likely.name === name) return likely;
  const found = findChannel(series, name);
  if (found !== undefined) return found;
  const channel = {
    name,
    units: [],
    bins: createBins(),
    firstAt: [],
    lastAt: [],
    chunks: [],
    open: createSamples(),
  };
  series.channels.push(channel);
  return channel;
}

function unitIndex(channel: ChannelSeries, unit: string): number {
  const index = channel.units.indexOf(unit);
  return index >= 0 ? index : channel.units.push(unit) - 1;
}

function placeLate(channel: ChannelSeries, sample: Sample): void {
  const { open, chunks, firstAt, lastAt } = channel;
  const wins = (challenger: Sample, holder: Sample) => beats(channel.name, channel.units, challenger, holder);
  if (chunks.length === 0 || sample.at >= item(open.at, 0)) {
    insertSample(open, sample, wins);
    return;
  }
  const piece = Math.max(0, lowerBound(firstAt, sample.at + 1) - 1);
  const samples = pieceSamples(channel, piece);
  if (!insertSample(samples, sample, wins)) return;
  const count = samples.at.length;
  const cuts = count > CHUNK_SAMPLES ? [0, count >> 1, count] : [0, count];
  const starts = cuts.slice(0, -1);
  const sealed = starts.map((start, index) => sealChunk(samples, start, item(cuts, index + 1)));
  chunks.splice(piece, 1, ...sealed);
  firstAt.splice(piece, 1, ...starts.map((start) => item(samples.at, start)));
  lastAt.splice(piece, 1, ...cuts.slice(1).map((end) => item(samples.at, end - 1)));
}

function sealOpen(channel: ChannelSeries): void {
  const { open } = channel;
  const count = open.at.length - 1;
  channel.chunks.push(sealChunk(open, 0, count));
  channel.firstAt.push(item(open.at, 0));
  channel.lastAt.push(item(open.at, count - 1));
  for (const list of [open.at, open.value, open.code, open.hold]) list.splice(0, count);
}

/**
 * Turns chunks into bins once nothing can change them: no sample before `cutoff` is taken in any more, so what
 * stands between two samples before it is final. A chunk waits until the bin that it ends in is final as well.
 */
function reduce(channel: ChannelSeries, cutoff: number): void {
  const { firstAt, lastAt, chunks } = channel;
  let final = -Infinity;
  for (let piece = 1; piece < chunks.length && item(lastAt, piece) < cutoff; piece += 1) final = item(lastAt, piece);
  while (chunks.length > 1 && Math.ceil(item(firstAt, 1) / BIN_MS) * BIN_MS <= final) {
    const binning = createBinning(0, Infinity);
    forEachSegment(pieceSamples(channel, 0), 0, binning.add);
    binning.add(linkAfter(channel, 0));
    appendBins(channel.bins, binning.finish());
    chunks.shift();
    firstAt.shift();
    lastAt.shift();
  }
}
