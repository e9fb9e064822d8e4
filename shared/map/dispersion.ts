/**
 * Gaussian plume of a steady release over open country, reflected at the ground.
 *
 * Pasquill stability classes A (very unstable) to F (moderately stable) with the open-country curves of Briggs 1973,
 * "Diffusion estimation for small emissions", ATDL contribution 79, doi:10.2172/5118833. The report itself was not
 * read: the formulas were checked against two public restatements of it, one of them by way of AIChE/CCPS 1999,
 * "Guidelines for Consequence Analysis of Chemical Releases".
 *
 * What it is good for: an idea of where a release goes. The curves describe averages of about ten minutes at 100 m
 * to 10 km over flat ground with a wind of 1 m/s or more. They know nothing of walls, hollows or heavy gas, and a
 * nose in the plume meets peaks of several times the average.
 */

export type StabilityClass = 'A' | 'B' | 'C' | 'D' | 'E' | 'F';

export type PlumeSource = {
  /** What is released per second: g/s gives g/m³, m³/s gives a volume fraction. */
  readonly rate: number;
  /** Metres above the ground. */
  readonly heightM: number;
  /** Half-widths that the release has from the start, for instance behind a building, metres. */
  readonly initialSigmaYM?: number;
  readonly initialSigmaZM?: number;
};

export type PlumeAir = { readonly windSpeedMs: number; readonly stability: StabilityClass };

/** A place seen from the source: metres along the wind, metres across it (right of the wind is positive), height. */
export type PlumePoint = {
  readonly downwindM: number;
  readonly crosswindM: number;
  readonly heightM: number;
};

const SIGMA_Y_SLOPE: Readonly<Record<StabilityClass, number>> = {
  A: 0.22,
  B: 0.16,
  C: 0.11,
  D: 0.08,
  E: 0.06,
  F: 0.04,
};

/** Crosswind standard deviation in metres at `downwindM` metres; 0 at and before the source. */
export function sigmaY(downwindM: number, stability: StabilityClass): number {
  const x = Math.max(0, downwindM);
  return (SIGMA_Y_SLOPE[stability] * x) / Math.sqrt(1 + 0.0001 * x);
}

/** Vertical standard deviation in metres at `downwindM` metres; 0 at and before the source. */
export function sigmaZ(downwindM: number, stability: StabilityClass): number {
  const x = Math.max(0, downwindM);
  switch (stability) {
    case 'A':
      return 0.2 * x;
    case 'B':
      return 0.12 * x;
    case 'C':
      return (0.08 * x) / Math.sqrt(1 + 0.0002 * x);
    case 'D':
      return (0.06 * x) / Math.sqrt(1 + 0.0015 * x);
    case 'E':
      return (0.03 * x) / (1 + 0.0003 * x);
    case 'F':
      return (0.016 * x) / (1 + 0.0003 * x);
  }
}

/**
 * A place east and north of the source as metres along and across the wind.
 * @param windFromDegrees where the wind comes from, degrees true: from 270 the plume runs east
 */
export function alongWind(
  eastM: number,
  northM: number,
  windFromDegrees: number,
): { downwindM: number; crosswindM: number } {
  const towards = ((windFromDegrees + 180) * Math.PI) / 180;
  const sin = Math.sin(towards);
  const cos = Math.cos(towards);
  return { downwindM: eastM * sin + northM * cos, crosswindM: eastM * cos - northM * sin };
}

/**
 * The plume formula for given spreads, with the ground as a mirror: what the released rate is in, per m³.
 * Throws RangeError for a wind or a spread that is not above 0: there is no steady plume in a calm.
 */
export function plumeOfSpread(
  source: Pick<PlumeSource, 'rate' | 'heightM'>,
  spread: { readonly sigmaYM: number; readonly sigmaZM: number },
  windSpeedMs: number,
  point: Pick<PlumePoint, 'crosswindM' | 'heightM'>,
): number {
  const { sigmaYM, sigmaZM } = spread;
  if (!(windSpeedMs > 0)) throw new RangeError('the plume needs a wind speed above 0 m/s');
  if (!(sigmaYM > 0 && sigmaZM > 0)) throw new RangeError('the plume needs spreads above 0 m');
  const across = Math.exp(-((point.crosswindM / sigmaYM) ** 2) / 2);
  const direct = Math.exp(-(((point.heightM - source.heightM) / sigmaZM) ** 2) / 2);
  const mirrored = Math.exp(-(((point.heightM + source.heightM) / sigmaZM) ** 2) / 2);
  return (source.rate / (2 * Math.PI * windSpeedMs * sigmaYM * sigmaZM)) * across * (direct + mirrored);
}

/**
 * Concentration at a place, in what the rate is in per m³; 0 upwind of the source. A spread that the release has
 * from the start is added as variances (common practice, no source).
 * Throws RangeError for a wind that is not above 0.
 */
export function plumeConcentration(source: PlumeSource, air: PlumeAir, point: PlumePoint): number {
  if (!(air.windSpeedMs > 0)) throw new RangeError('the plume needs a wind speed above 0 m/s');
  if (point.downwindM <= 0) return 0;
  const spread = {
    sigmaYM: Math.hypot(sigmaY(point.downwindM, air.stability), source.initialSigmaYM ?? 0),
    sigmaZM: Math.hypot(sigmaZ(point.downwindM, air.stability), source.initialSigmaZM ?? 0),
  };
  return plumeOfSpread(source, spread, air.windSpeedMs, point);
}
