/** The figures of one person for the board and for the set-points of sums, from the exposure of what they wore. */
import { sumPointsOf } from '../alarm/compile.ts';
import type { SetPoint } from '../alarm/set-point.ts';
import { doseOf } from '../exposure/dose.ts';
import type { ExposureLimit } from '../exposure/limits.ts';
import { mixture } from '../exposure/mixture.ts';
import { type ChannelExposure, type PersonExposure, personExposure } from '../exposure/person.ts';
import {
  type Present,
  type Projection,
  presentOf,
  projectDose,
  projectStel,
  projectTwa,
  stelSlices,
} from '../exposure/projection.ts';
import type { SeriesOf } from '../exposure/wearing.ts';
import { type TimeLimit, timeLeft } from '../people/time-left.ts';
import type { ExposureSummary } from '../protocol/board.ts';
import { backgroundOf } from './backgrounds.ts';
import { lastMinute } from './channel-trend.ts';
import type { IncidentState, PersonState } from './state.ts';
import { MILLISECOND } from './time.ts';
import { staleAfterUs } from './watch.ts';

type ChannelSummary = ExposureSummary['channels'][number];
type Figure = NonNullable<ChannelSummary['stel']>;

/** µR to mR. */
const PER_MR = 1_000;

/** What a person took in up to now; null where they have worn nothing. */
export function exposureOf(state: IncidentState, person: PersonState): ExposureSummary | null {
  if (person.worn.length === 0) return null;
  const seriesOf: SeriesOf = (monitor) => state.monitors.get(monitor)?.series;
  const atMs = Math.floor(state.now / MILLISECOND);
  const exposure = personExposure(seriesOf, person.worn, atMs);
  const points = sumPointsOf(state.table);
  const channels = exposure.channels.flatMap((channel) => channelSummary(state, person, points, channel));
  const first = toLimit(state, person, seriesOf, atMs, points, channels);
  return {
    atMs,
    fromMs: exposure.fromMs,
    correcting: exposure.correcting,
    channels,
    mixture: mixtureOf(points, exposure, channels),
    toLimit: first,
    timeLeft: timeLeftOf(first, points),
  };
}

/** Nobody can report air or the way out to this post yet: both are named as not known. */
const NO_AIR: TimeLimit = {
  kind: 'air',
  minutes: null,
  reason: 'no report',
  ageMs: null,
  certainty: 'reported',
  from: 'pressure by radio',
  alreadyOff: [],
};

function timeLeftOf(first: ExposureSummary['toLimit'], points: readonly SetPoint[]): ExposureSummary['timeLeft'] {
  const kind = points.find((point) => point.id === first?.setPoint)?.compare;
  const limits: TimeLimit[] = [NO_AIR];
  if (first !== null && (kind === 'stel' || kind === 'twa' || kind === 'dose' || kind === 'mixture')) {
    const from = first.governs === 'trend' ? 'the present trend' : 'the present rate';
    const { channel: of, minutes } = first;
    limits.push({ kind, of, minutes, ageMs: 0, certainty: 'measured', from, alreadyOff: [] });
  }
  const { minutes, words, governs, unknown } = timeLeft(limits, {
    'way-out': null,
    decontamination: null,
    reserve: null,
  });
  return { minutes, words, governs, unknown: unknown.map((one) => one.words) };
}

/** What a set-point of sums compares; null where there is no figure for it. */
export function comparedSum(
  summary: ExposureSummary,
  point: SetPoint,
): { value: number; partial: boolean; coveredMs: number; spanMs: number } | null {
  if (point.compare === 'mixture') {
    if (summary.mixture === null) return null;
    const spanMs = summary.atMs - summary.fromMs;
    return { value: summary.mixture.value, partial: !summary.mixture.complete, coveredMs: spanMs, spanMs };
  }
  const channel = summary.channels.find((one) => one.channel === point.channel);
  if (channel === undefined) return null;
  if (point.compare === 'stel') return channel.stel;
  if (point.compare === 'twa') return channel.twa;
  return point.compare === 'dose' ? channel.dose : null;
}

/** The lowest limit of a kind. */
function limitOf(points: readonly SetPoint[], channel: string, compare: SetPoint['compare']): number | null {
  let least: number | null = null;
  for (const point of points) {
    if (point.channel !== channel || point.compare !== compare) continue;
    if (least === null || point.value < least) least = point.value;
  }
  return least;
}

/** Nothing where the channel has no figure in its own unit: sums of another unit stand apart and are compared to none. */
function channelSummary(
  state: IncidentState,
  person: PersonState,
  points: readonly SetPoint[],
  exposure: ChannelExposure,
): ChannelSummary[] {
  const { channel, coverage } = exposure;
  const figure = exposure.figures.find((one) => one.canonical);
  if (figure === undefined) return [];
  const over = coverage.overRangeMs > 0;
  const given = (
    of: { value: number; partial: boolean; coveredMs: number } | null,
    spanMs: number,
    compare: SetPoint['compare'],
  ): Figure | null =>
    of === null
      ? null
      : {
          value: of.value,
          partial: of.partial || over,
          coveredMs: of.coveredMs,
          spanMs,
          limit: limitOf(points, channel, compare),
        };
  const background = backgroundOf(state, person.monitor ?? '', channel);
  const dose = doseOf(exposure, background.assumed ? null : background.value);
  return [
    {
      channel,
      unit: figure.unit,
      stel: figure.stel === null ? null : given(figure.stel, figure.stel.spanMs, 'stel'),
      twa: given(figure.twa, coverage.spanMs, 'twa'),
      dose:
        dose === null
          ? null
          : given(
              { value: dose.totalUR / PER_MR, partial: dose.partial, coveredMs: dose.coveredMs },
              dose.spanMs,
              'dose',
            ),
      peak: figure.peak,
      minimum: figure.minimum,
      overRangeMs: coverage.overRangeMs,
    },
  ];
}

/** By the TWA limits of the table, if it has a set-point for a mixture. */
function mixtureOf(
  points: readonly SetPoint[],
  exposure: PersonExposure,
  channels: readonly ChannelSummary[],
): ExposureSummary['mixture'] {
  const limit = points.filter((point) => point.compare === 'mixture').map((point) => point.value);
  if (limit.length === 0) return null;
  const limits = channels.flatMap(({ channel, unit }): ExposureLimit[] => {
    const value = limitOf(points, channel, 'twa');
    return value === null ? [] : [{ channel, value, unit, source: 'table in force' }];
  });
  const averaged = exposure.channels.filter((channel) => channel.treatment === 'average');
  const concentrations = averaged.map(({ channel }) => {
    const known = channels.find((one) => one.channel === channel);
    return { channel, value: known?.twa?.value ?? null, unit: known?.unit ?? null };
  });
  const mixed = mixture(concentrations, limits);
  if (mixed.em === null) return null;
  const partial = channels.some((channel) => channel.twa?.partial === true);
  return {
    value: mixed.em,
    complete: mixed.complete && !partial,
    limit: Math.min(...limit),
    leftOut: mixed.leftOut.map((one) => one.channel),
  };
}

/** The limit that comes first. Off a reading that is old nothing is foreseen. */
function toLimit(
  state: IncidentState,
  person: PersonState,
  seriesOf: SeriesOf,
  atMs: number,
  points: readonly SetPoint[],
  channels: readonly ChannelSummary[],
): ExposureSummary['toLimit'] {
  const monitor = person.monitor === null ? undefined : state.monitors.get(person.monitor);
  let first: ExposureSummary['toLimit'] = null;
  for (const point of points) {
    const summary = channels.find((one) => one.channel === point.channel);
    const channel = monitor?.channels.get(point.channel);
    if (summary === undefined) continue;
    const old =
      monitor === undefined ||
      channel === undefined ||
      channel.value === null ||
      channel.unheard ||
      monitor.link !== 'live' ||
      state.now - channel.stamp.at > staleAfterUs(monitor);
    const recent = old ? { at: [], values: [] } : lastMinute(channel);
    const present = presentOf(recent.at, recent.values);
    const found = projected(point, summary, present, () =>
      stelSlices(seriesOf, person.worn, point.channel, summary.unit, atMs),
    );
    if (found === null || found.minutes === null || found.governs === null) continue;
    if (first !== null && first.minutes <= found.minutes) continue;
    first = { minutes: found.minutes, channel: point.channel, setPoint: point.id, governs: found.governs };
  }
  return first;
}

function projected(
  point: SetPoint,
  summary: ChannelSummary,
  present: Present,
  slices: () => number[],
): Projection | null {
  if (point.compare === 'stel' && summary.stel !== null) return projectStel(slices(), point.value, present);
  if (point.compare === 'twa' && summary.twa !== null) return projectTwa(summary.twa.value, point.value, present);
  if (point.compare === 'dose' && summary.dose !== null)
    return projectDose(summary.dose.value * PER_MR, point.value * PER_MR, present);
  return null;
}
