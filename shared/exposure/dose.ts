/** Gamma dose of a person. Rates in µR/h, doses in µR; 1 R counts as 1 rem in the field (see `canonical.ts`). */
import { HOUR_MS, sumToNumber } from './exact-sum.ts';
import type { ChannelExposure } from './person.ts';

export type Dose = {
  /** µR over the covered time, background included: this is what counts against a limit. */
  readonly totalUR: number;
  /** The part that the background would have given over the same time, µR; null where the background is not known. */
  readonly backgroundUR: number | null;
  readonly coveredMs: number;
  readonly spanMs: number;
  /** Part of the shift is not covered: a lower bound. */
  readonly partial: boolean;
  /** What the uncovered time would add at the highest rate read, µR: an estimate, never in the total. */
  readonly uncoveredAtPeakUR: number | null;
  /** Units that could not be brought to µR/h and are in no figure here. */
  readonly setAside: readonly string[];
};

/** The dose from a person's gamma exposure. `backgroundURh` as taken before the entry, or null. */
export function doseOf(exposure: ChannelExposure, backgroundURh: number | null): Dose | null {
  const figure = exposure.figures.find((one) => one.canonical && one.unit === 'uR/h');
  if (exposure.treatment !== 'dose' || figure === undefined) return null;
  const { spanMs } = exposure.coverage;
  const { coveredMs, peak } = figure;
  return {
    totalUR: sumToNumber(figure.sum) / HOUR_MS,
    backgroundUR: backgroundURh === null ? null : (backgroundURh * coveredMs) / HOUR_MS,
    coveredMs,
    spanMs,
    partial: coveredMs < spanMs,
    uncoveredAtPeakUR: peak === null ? null : (Math.max(0, peak) * (spanMs - coveredMs)) / HOUR_MS,
    setAside: exposure.figures.filter((one) => one !== figure).map((one) => one.unit),
  };
}
