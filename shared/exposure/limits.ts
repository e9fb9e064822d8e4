/** Exposure limits as data, and how a value is set against one: never without its unit. */
import { shiftDecimal } from '../quantity/canonical.ts';
import { unitStep } from './canonical-sums.ts';

/** A limit as a person adopted it. */
export type ExposureLimit = {
  readonly channel: string;
  readonly value: number;
  /** As written in the source; a limit without a unit is no limit. */
  readonly unit: string;
  /** Where the value is from. */
  readonly source: string;
};

/** Why a value cannot be set against a limit. */
export type LimitProblem = 'no-limit' | 'no-value' | 'unit-missing' | 'units-differ' | 'limit-not-positive';

export type ShareOfLimit =
  | { readonly ok: true; readonly share: number; readonly unit: string }
  | { readonly ok: false; readonly problem: LimitProblem };

/**
 * Which share of a limit a value is: 1 at the limit. Both are brought to the channel's canonical unit first. A value
 * below 0 counts as 0; a missing one is said.
 */
export function shareOfLimit(
  channel: string,
  value: number | null,
  unit: string | null,
  limit: ExposureLimit | undefined,
): ShareOfLimit {
  if (limit === undefined) return { ok: false, problem: 'no-limit' };
  if (value === null || !Number.isFinite(value)) return { ok: false, problem: 'no-value' };
  if (unit === null || unit === '' || limit.unit === '') return { ok: false, problem: 'unit-missing' };
  const ours = unitStep(channel, unit);
  const theirs = unitStep(channel, limit.unit);
  if (ours.unit !== theirs.unit) return { ok: false, problem: 'units-differ' };
  if (!(limit.value > 0)) return { ok: false, problem: 'limit-not-positive' };
  const share = shiftDecimal(Math.max(0, value), ours.power) / shiftDecimal(limit.value, theirs.power);
  return { ok: true, share, unit: ours.unit };
}
