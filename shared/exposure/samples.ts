/** Samples of one channel in time order, as parallel arrays: no object a sample. */
import { toCanonical } from '../quantity/canonical.ts';
import { isUnit } from '../quantity/channels.ts';
import { item } from './decimal.ts';

export type Samples = {
  /** ms of measured time, strictly rising. */
  readonly at: number[];
  /** As sent. Means nothing unless `code` says that there is a number. */
  readonly value: number[];
  /** What the sample is: 0 missing, 1 + 2u a number in unit u, 2 + 2u over-range in unit u. */
  readonly code: number[];
  /** How long the sample stands without a newer one, ms. */
  readonly hold: number[];
};
export type Sample = { at: number; value: number; code: number; hold: number };

export const MISSING = 0;

export function createSamples(): Samples {
  return { at: [], value: [], code: [], hold: [] };
}

export function numberCode(unitIndex: number): number {
  return 1 + 2 * unitIndex;
}
export function overRangeCode(unitIndex: number): number {
  return 2 + 2 * unitIndex;
}
export function isNumber(code: number): boolean {
  return code % 2 === 1;
}
export function unitIndexOf(code: number): number {
  return (code - 1) >> 1;
}

export function pushSample(samples: Samples, sample: Sample): void {
  samples.at.push(sample.at);
  samples.value.push(sample.value);
  samples.code.push(sample.code);
  samples.hold.push(sample.hold);
}

export function readSample(samples: Samples, index: number): Sample {
  return {
    at: item(samples.at, index),
    value: item(samples.value, index),
    code: item(samples.code, index),
    hold: item(samples.hold, index),
  };
}

/** The index of the first element that is not below `limit` in a rising list. */
export function lowerBound(rising: readonly number[], limit: number): number {
  let low = 0;
  let high = rising.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (item(rising, middle) < limit) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Puts a sample in its place; `wins` decides between two of the same time. False where nothing changed. */
export function insertSample(
  samples: Samples,
  sample: Sample,
  wins: (challenger: Sample, holder: Sample) => boolean,
): boolean {
  const index = lowerBound(samples.at, sample.at);
  const same = samples.at[index] === sample.at;
  if (same && !wins(sample, readSample(samples, index))) return false;
  const removed = same ? 1 : 0;
  samples.at.splice(index, removed, sample.at);
  samples.value.splice(index, removed, sample.value);
  samples.code.splice(index, removed, sample.code);
  samples.hold.splice(index, removed, sample.hold);
  return true;
}

/**
 * Whether `challenger` replaces `holder`, both of the same time: a number beats over-range beats missing; of two
 * numbers the worse one (larger; for oxygen smaller); then the longer hold, then the unit's name. Units that can be brought to the
 * channel's canonical unit are compared in it and beat one that cannot. It is a total order by content, so the
 * winner does not depend on who came first.
 */
export function beats(channel: string, units: readonly string[], challenger: Sample, holder: Sample): boolean {
  const rank = rankOf(challenger.code) - rankOf(holder.code);
  if (rank !== 0) return rank > 0;
  if (challenger.code === MISSING) return false;
  const worse = channel === 'o2' ? -1 : 1;
  if (challenger.code === holder.code) {
    if (challenger.value !== holder.value) return (challenger.value - holder.value) * worse > 0;
    return challenger.hold > holder.hold;
  }
  const unit = units[unitIndexOf(challenger.code)] ?? '';
  const otherUnit = units[unitIndexOf(holder.code)] ?? '';
  if (isNumber(challenger.code)) {
    const value = comparable(channel, challenger.value, unit);
    const other = comparable(channel, holder.value, otherUnit);
    if (value.known !== other.known) return value.known;
    if (value.value !== other.value) return (value.value - other.value) * worse > 0;
  }
  if (challenger.hold !== holder.hold) return challenger.hold > holder.hold;
  return unit < otherUnit;
}

function rankOf(code: number): number {
  if (code === MISSING) return 0;
  return isNumber(code) ? 2 : 1;
}

function comparable(channel: string, value: number, unit: string): { known: boolean; value: number } {
  const canonical = isUnit(unit) ? toCanonical(channel, value, unit) : null;
  return canonical === null ? { known: false, value } : { known: true, value: canonical.value };
}
