/**
 * What one person was exposed to: the sums over the monitors that they wore, each for the time that they wore it.
 * A change of monitor or of battery restarts nothing.
 */
import { addWorn, type UnitRows, unitStep } from './canonical-sums.ts';
import { type ExactSum, STEL_MS } from './exact-sum.ts';
import type { Gaps } from './gaps.ts';
import { sumOfRow } from './integral.ts';
import { findChannel } from './series.ts';
import { addGaps } from './standing.ts';
import { type Stel, stelOf } from './stel.ts';
import { createRow, type Row } from './tally.ts';
import { kindOf, type Treatment, treatmentOf } from './treatment.ts';
import { type Twa, twaOf } from './twa.ts';
import { eachStretch, firstWornMs, type SeriesOf, type Wearing, type WornSpan, wornSpans } from './wearing.ts';

export type Coverage = {
  /** From the start of the shift until now, ms. */
  readonly spanMs: number;
  /** Time with a monitor in hand, ms. */
  readonly wornMs: number;
  /** Time with a number in any unit, ms. The rest is unknown, not 0. */
  readonly coveredMs: number;
  /** Time above the sensor's range, ms: not in the sums, which are then lower bounds. */
  readonly overRangeMs: number;
  /** Stretches in which no reading stood or no monitor was worn, in order of time. */
  readonly gaps: Gaps;
  readonly gapCount: number;
  readonly gapMs: number;
};

/** The figures of one channel in one unit. */
export type Figure = {
  readonly unit: string;
  /** False: the unit cannot be brought to the channel's own, and this figure stands apart from the others. */
  readonly canonical: boolean;
  /** Value × ms over the covered time; negative values count as 0. */
  readonly sum: ExactSum;
  readonly coveredMs: number;
  readonly samples: number;
  /** Highest and lowest value, raw; null without one. */
  readonly peak: number | null;
  readonly minimum: number | null;
  /** The extreme that is dangerous: for oxygen the minimum, for all else the peak. */
  readonly worst: number | null;
  /** Null where an average means nothing: see `Treatment`. */
  readonly stel: Stel | null;
  readonly twa: Twa | null;
};

export type ChannelExposure = {
  readonly channel: string;
  readonly treatment: Treatment;
  /** The canonical unit first. Empty where there was no number. */
  readonly figures: readonly Figure[];
  readonly coverage: Coverage;
  /** Part of the time was above the range, or not covered: every sum is a lower bound. */
  readonly lowerBound: boolean;
};

export type PersonExposure = {
  readonly fromMs: number;
  readonly atMs: number;
  /** Samples came too late to be taken in: figures are not complete until the journal was folded anew. */
  readonly correcting: boolean;
  /** Monitors that were worn and of which nothing is known. */
  readonly unknownMonitors: readonly string[];
  readonly channels: readonly ChannelExposure[];
};

export type PersonOptions = {
  /** Start of the shift, ms; by default the first time a monitor was worn. */
  readonly shiftFromMs?: number;
  /** Channels wanted; by default all that the monitors worn have, by name. */
  readonly channels?: readonly string[];
};

/** The exposure of one person up to `atMs` (ms of measured time; a RangeError where that is not finite). */
export function personExposure(
  seriesOf: SeriesOf,
  wearing: Wearing,
  atMs: number,
  options: PersonOptions = {},
): PersonExposure {
  if (!Number.isFinite(atMs)) throw new RangeError(`an exposure needs a time, not ${atMs}`);
  const toMs = Math.round(atMs);
  const fromMs = Math.min(toMs, Math.round(options.shiftFromMs ?? firstWornMs(wearing) ?? toMs));
  const spans = wornSpans(wearing, fromMs, toMs);
  const recent = wornSpans(wearing, toMs - STEL_MS, toMs);
  const monitors = [...new Set(spans.map((span) => span.monitor))];
  const channels = options.channels ?? channelsOf(seriesOf, monitors);
  return {
    fromMs,
    atMs: toMs,
    correcting: monitors.some((monitor) => (seriesOf(monitor)?.beyondHorizon ?? NONE) > NONE),
    unknownMonitors: monitors.filter((monitor) => seriesOf(monitor) === undefined),
    channels: channels.map((channel) => channelExposure(seriesOf, channel, { fromMs, toMs, spans, recent })),
  };
}

const NONE = 0;

type Spans = { fromMs: number; toMs: number; spans: readonly WornSpan[]; recent: readonly WornSpan[] };

function channelExposure(seriesOf: SeriesOf, channel: string, over: Spans): ChannelExposure {
  const treatment = treatmentOf(channel);
  const kind = kindOf(channel);
  const shift: UnitRows = { units: [], rows: [] };
  addWorn(shift, seriesOf, channel, over.spans);
  const window: UnitRows = { units: [], rows: [] };
  if (treatment === 'average') addWorn(window, seriesOf, channel, over.recent);
  const covered = (row: Row) => (kind === 'hold' ? row.holdMs : row.trapezoidMs);
  const figures = shift.rows
    .filter((row) => row.samples > 0 || covered(row) > 0)
    .map((row): Figure => {
      const unit = shift.units[row.unit] ?? '';
      const sum = sumOfRow(row, kind);
      const peak = row.peak < row.minimum ? null : row.peak;
      const minimum = row.peak < row.minimum ? null : row.minimum;
      const recent = window.rows.find((one) => window.units[one.unit] === unit) ?? createRow(row.unit);
      const averaged = treatment === 'average';
      return {
        unit,
        canonical: unitStep(channel, unit).canonical,
        sum,
        coveredMs: covered(row),
        samples: row.samples,
        peak,
        minimum,
        worst: channel === 'o2' ? minimum : peak,
        stel: averaged ? stelOf(sumOfRow(recent, kind), covered(recent)) : null,
        twa: averaged ? twaOf(sum, over.toMs - over.fromMs, covered(row)) : null,
      };
    })
    .sort(canonicalFirst);
  const coverage = coverageOf(seriesOf, channel, over, shift.rows, covered);
  return { channel, treatment, figures, coverage, lowerBound: coverage.coveredMs < coverage.spanMs };
}

function coverageOf(
  seriesOf: SeriesOf,
  channel: string,
  over: Spans,
  rows: readonly Row[],
  covered: (row: Row) => number,
): Coverage {
  const gaps: Gaps = { from: [], to: [] };
  let wornMs = 0;
  eachStretch(over.spans, over, gaps, (span) => {
    wornMs += span.toMs - span.fromMs;
    const series = seriesOf(span.monitor);
    const found = series === undefined ? undefined : findChannel(series, channel);
    if (found === undefined) eachStretch([], span, gaps, () => {});
    else addGaps(gaps, found, span.fromMs, span.toMs);
  });
  let gapMs = 0;
  gaps.from.forEach((from, index) => {
    gapMs += (gaps.to[index] ?? from) - from;
  });
  let coveredMs = 0;
  let overRangeMs = 0;
  for (const row of rows) {
    coveredMs += covered(row);
    overRangeMs += row.overRangeMs;
  }
  return { spanMs: over.toMs - over.fromMs, wornMs, coveredMs, overRangeMs, gaps, gapCount: gaps.from.length, gapMs };
}

function channelsOf(seriesOf: SeriesOf, monitors: readonly string[]): string[] {
  const names = new Set<string>();
  for (const monitor of monitors) for (const { name } of seriesOf(monitor)?.channels ?? []) names.add(name);
  return [...names].sort();
}

function canonicalFirst(a: Figure, b: Figure): number {
  if (a.canonical !== b.canonical) return a.canonical ? -1 : 1;
  return a.unit < b.unit ? -1 : 1;
}
