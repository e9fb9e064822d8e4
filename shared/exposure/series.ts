/**
 * What one monitor measured, kept for exposure: the samples of the late horizon, and 10 s bins for the rest. Plain
 * data in the fold's state; nothing here depends on the order in which samples arrived, only on what they say.
 *
 * Beyond the horizon a figure is that of the bins, whichever samples happen to be unpacked still: see
 * `integral.ts`.
 */
import { appendBins, BIN_MS, createBinning, createBins } from './bins.ts';
import { sealChunk } from './chunk.ts';
import { asSent, item } from './decimal.ts';
import { addGap, joinGap } from './gaps.ts';
import { CHUNK_SAMPLES, placeLate, sealThawed } from './late.ts';
import { type ChannelSeries, isSealed, linkAfter, pieceSamples } from './pieces.ts';
import { createSamples, MISSING, numberCode, overRangeCode } from './samples.ts';
import { forEachSegment, type Segment } from './tally.ts';

/** Samples older than this against the newest one of the monitor are not taken in any more. */
export const LATE_HORIZON_MS = 2 * 3_600_000;

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
  for (const { open, chunks, bins, gapFrom } of series.channels) {
    bytes += 512 + open.at.length * 32 + gapFrom.length * 16;
    for (const chunk of [...chunks, ...bins.bytes]) {
      bytes += (isSealed(chunk) ? chunk.length : chunk.at.length * 32) + arrayBytes + 16;
    }
  }
  return bytes;
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
  const channel: ChannelSeries = {
    name,
    units: [],
    bins: createBins(),
    firstAt: [],
    lastAt: [],
    chunks: [],
    open: createSamples(),
    gapFrom: [],
    gapTo: [],
    sealedRevision: 0,
    openRevision: 0,
  };
  series.channels.push(channel);
  return channel;
}

function unitIndex(channel: ChannelSeries, unit: string): number {
  const index = channel.units.indexOf(unit);
  return index >= 0 ? index : channel.units.push(unit) - 1;
}

function sealOpen(channel: ChannelSeries): void {
  const { open } = channel;
  const count = open.at.length - 1;
  sealThawed(channel);
  channel.chunks.push(sealChunk(open, 0, count));
  channel.firstAt.push(item(open.at, 0));
  channel.lastAt.push(item(open.at, count - 1));
  for (const list of [open.at, open.value, open.code, open.hold]) list.splice(0, count);
  channel.sealedRevision += 1;
  channel.openRevision += 1;
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
    const gaps = { from: channel.gapFrom, to: channel.gapTo };
    // Before the first sample of all there was nothing either; bins alone would not tell to the millisecond.
    if (channel.bins.bytes.length === 0) joinGap(gaps, 0, item(firstAt, 0));
    const take = (segment: Segment) => {
      binning.add(segment);
      addGap(gaps, segment);
    };
    forEachSegment(pieceSamples(channel, 0), 0, take);
    take(linkAfter(channel, 0));
    appendBins(channel.bins, binning.finish());
    chunks.shift();
    firstAt.shift();
    lastAt.shift();
  }
}
