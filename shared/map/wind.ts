/**
 * Wind as the trade says it: direction is where it comes FROM, in degrees true, clockwise from north. Whatever travels
 * with it goes the other way. Directions are turned into arrows before they are averaged: 350° and 10° are north
 * together, and their arithmetic mean would be south.
 */

export type Wind = {
  /** Where it comes from, degrees true. Any number of turns is taken. */
  readonly fromDegrees: number;
  /** m/s, 0 or more. */
  readonly speedMs: number;
};

export type MeanWind = {
  /** Where it comes from on the whole, 0 to under 360 degrees true. */
  readonly fromDegrees: number;
  /** Length of the mean arrow, m/s: how fast air is carried that way. Less than the mean of the speeds where it turns. */
  readonly carriedMs: number;
  /** Mean of the speeds, m/s, whatever the direction. */
  readonly speedMs: number;
  /** `carriedMs` ÷ `speedMs`: 1 steady, towards 0 as good as no direction. */
  readonly steadiness: number;
  readonly count: number;
};

/** Why there is no mean direction. `variable`: the directions cancel each other out. */
export type NoMeanWind = { readonly fromDegrees: null; readonly reason: 'no-wind-known' | 'calm' | 'variable' };

/** Under this steadiness a direction would be chance; ours, common practice, no source. */
const LEAST_STEADINESS = 0.1;

/** Degrees as 0 to under 360. Throws RangeError for what is not finite. */
export function asBearing(degrees: number): number {
  if (!Number.isFinite(degrees)) throw new RangeError(`a direction needs a number, not ${degrees}`);
  const turned = ((degrees % 360) + 360) % 360;
  return turned === 360 ? 0 : turned;
}

/** Where a wind from `fromDegrees` goes to, and the other way round: the opposite direction. */
export function windTo(fromDegrees: number): number {
  return asBearing(fromDegrees + 180);
}

/**
 * By how much a direction turned, −180 to under 180 degrees: above 0 clockwise (veered), below 0 counter-clockwise
 * (backed), by the shorter way round.
 */
export function turnedBy(beforeDegrees: number, afterDegrees: number): number {
  return asBearing(afterDegrees - beforeDegrees + 180) - 180;
}

/**
 * Mean direction, each weighted by its speed: the mean of the arrows. What is not finite or has a speed below 0 is not
 * counted and never taken for 0; a calm has no direction and counts in the speed alone. Source: mean of vectors.
 */
export function meanWind(winds: readonly Wind[]): MeanWind | NoMeanWind {
  let east = 0;
  let north = 0;
  let speeds = 0;
  let count = 0;
  for (const { fromDegrees, speedMs } of winds) {
    if (!Number.isFinite(speedMs) || speedMs < 0 || (speedMs > 0 && !Number.isFinite(fromDegrees))) continue;
    count += 1;
    speeds += speedMs;
    if (speedMs === 0) continue;
    const radians = (fromDegrees * Math.PI) / 180;
    east += speedMs * Math.sin(radians);
    north += speedMs * Math.cos(radians);
  }
  if (count === 0) return { fromDegrees: null, reason: 'no-wind-known' };
  if (speeds === 0) return { fromDegrees: null, reason: 'calm' };
  const steadiness = Math.min(1, Math.hypot(east, north) / speeds);
  if (steadiness < LEAST_STEADINESS) return { fromDegrees: null, reason: 'variable' };
  const degrees = (Math.atan2(east, north) * 180) / Math.PI;
  return {
    fromDegrees: asBearing(degrees),
    carriedMs: Math.hypot(east, north) / count,
    speedMs: speeds / count,
    steadiness,
    count,
  };
}
