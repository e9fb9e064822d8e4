/**
 * When a limit will be reached if things go on as they are: at the rate of now, and along the line of the last
 * minute. Estimates, which say what they are made from.
 */
import { trendPerMinute } from '../alarm/trend.ts';
import { MINUTE_MS, SHIFT_MS, STEL_MS, sumToNumber } from './exact-sum.ts';
import { sumOfRow } from './integral.ts';
import { sliceWorn } from './slices.ts';
import { kindOf } from './treatment.ts';
import { type SeriesOf, type Wearing, wornSpans } from './wearing.ts';

/** What the present is taken from. */
export type Present = {
  /** The newest value; null without one. */
  readonly rate: number | null;
  /** Change a minute; null with too little to tell. */
  readonly perMinute: number | null;
  readonly samples: number;
  readonly spanMs: number;
};

export type NoProjection = 'no-reading' | 'not-at-this-rate' | 'not-within-15-min';

export type Projection = {
  /** Minutes to the limit, the sooner of the two; 0 when it is reached; null with a reason. */
  readonly minutes: number | null;
  readonly governs: 'reached' | 'rate' | 'trend' | null;
  readonly atRate: number | null;
  /** Null also where there is no trend: see `trendReason`. */
  readonly atTrend: number | null;
  readonly reason: NoProjection | null;
  readonly trendReason: 'too-few-samples' | null;
  readonly samples: number;
  readonly spanMs: number;
};

/** How fine a sliding window is stepped. */
const STEP_MS = 10_000;

/** The present from the newest samples, oldest first: times in µs of post time and values in one unit. */
export function presentOf(atUs: readonly number[], values: readonly number[]): Present {
  const first = atUs[0];
  const last = atUs.at(-1);
  return {
    rate: values.at(-1) ?? null,
    perMinute: trendPerMinute(atUs, values),
    samples: atUs.length,
    spanMs: first === undefined || last === undefined ? 0 : Math.round((last - first) / 1000),
  };
}

/** Minutes until the present value itself is at a ceiling. Only a trend can get there. */
export function projectCeiling(ceiling: number, present: Present): Projection {
  const { rate, perMinute } = present;
  if (rate === null) return project(present, null, null);
  if (rate >= ceiling) return reached(present);
  return project(present, null, perMinute !== null && perMinute > 0 ? (ceiling - rate) / perMinute : null);
}

/** Minutes until a sum that nothing leaves is at its limit, both in value × minutes (dose: µR/h × min). */
export function projectSum(accumulated: number, limit: number, present: Present): Projection {
  if (accumulated >= limit) return reached(present);
  const { rate, perMinute } = present;
  if (rate === null) return project(present, null, null);
  const left = limit - accumulated;
  const atRate = rate > 0 ? left / rate : null;
  return project(present, atRate, perMinute === null ? null : minutesAlong(left, Math.max(0, rate), perMinute));
}

/** Minutes until a TWA (its present value, as `twaOf` gives it) is at its limit. */
export function projectTwa(twa: number, limit: number, present: Present): Projection {
  const shiftMinutes = SHIFT_MS / MINUTE_MS;
  return projectSum(twa * shiftMinutes, limit * shiftMinutes, present);
}

/** Minutes until a dose (µR) is at its limit, with `present` in µR/h. */
export function projectDose(dose: number, limit: number, present: Present): Projection {
  return projectSum(dose * 60, limit * 60, present);
}

/**
 * What the 15-minute window now holds, by 10 s, oldest first, in value × minutes of `unit`; uncovered time holds
 * nothing. For `projectStel`.
 */
export function stelSlices(
  seriesOf: SeriesOf,
  wearing: Wearing,
  channel: string,
  unit: string,
  atMs: number,
): number[] {
  const toMs = Math.round(atMs);
  const originMs = toMs - STEL_MS;
  const spans = wornSpans(wearing, originMs, toMs);
  const slicing = { originMs, stepMs: STEP_MS, count: STEL_MS / STEP_MS };
  return sliceWorn(seriesOf, channel, spans, slicing).map((slice) => {
    const row = slice.rows.find((one) => slice.units[one.unit] === unit);
    return row === undefined ? 0 : sumToNumber(sumOfRow(row, kindOf(channel))) / MINUTE_MS;
  });
}

/**
 * Minutes until the 15-minute average is at its limit. What leaves the window is taken off: steps of 10 s over the
 * next 15 min, straight between them. After that the window holds nothing but the present rate.
 */
export function projectStel(slices: readonly number[], limit: number, present: Present): Projection {
  const windowMinutes = STEL_MS / MINUTE_MS;
  const atLimit = limit * windowMinutes;
  const now = slices.reduce((sum, slice) => sum + slice, 0);
  if (now >= atLimit) return reached(present);
  const { rate, perMinute } = present;
  if (rate === null) return project(present, null, null);
  const level = Math.max(0, rate);
  const atRate = stepped(slices, now, atLimit, (minutes) => level * minutes);
  const atTrend =
    perMinute === null ? null : stepped(slices, now, atLimit, (minutes) => areaAlong(level, perMinute, minutes));
  return project(present, atRate, atTrend, 'not-within-15-min');
}

function stepped(
  slices: readonly number[],
  now: number,
  atLimit: number,
  added: (minutes: number) => number,
): number | null {
  const step = STEP_MS / MINUTE_MS;
  let gone = 0;
  let before = now;
  for (let index = 0; index < slices.length; index += 1) {
    gone += slices[index] ?? Number.NaN;
    const sum = now - gone + added((index + 1) * step);
    if (sum >= atLimit) return (index + (atLimit - before) / (sum - before)) * step;
    before = sum;
  }
  return null;
}

/** Area under a line that starts at `level` and never goes below 0, in value × minutes. */
function areaAlong(level: number, perMinute: number, minutes: number): number {
  const end = perMinute < 0 ? Math.min(minutes, -level / perMinute) : minutes;
  return level * end + (perMinute * end * end) / 2;
}

/** Minutes until the area along that line is `left`; null if never. */
function minutesAlong(left: number, level: number, perMinute: number): number | null {
  const under = level * level + 2 * perMinute * left;
  if (under < 0 || level + Math.sqrt(under) <= 0) return null;
  // the form of the root that loses no digits where the trend is small
  return (2 * left) / (level + Math.sqrt(under));
}

function reached(present: Present): Projection {
  return { ...project(present, 0, 0), minutes: 0, governs: 'reached' };
}

function project(
  present: Present,
  atRate: number | null,
  atTrend: number | null,
  never: NoProjection = 'not-at-this-rate',
): Projection {
  const byTrend = atTrend !== null && (atRate === null || atTrend < atRate);
  const minutes = byTrend ? atTrend : atRate;
  const noReading = present.rate === null ? 'no-reading' : never;
  return {
    minutes,
    governs: minutes === null ? null : byTrend ? 'trend' : 'rate',
    atRate,
    atTrend,
    reason: minutes === null ? noReading : null,
    trendReason: present.perMinute === null ? 'too-few-samples' : null,
    samples: present.samples,
    spanMs: present.spanMs,
  };
}
