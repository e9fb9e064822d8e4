/** Several substances at once, 29 CFR 1910.1000(d)(2): Em = C1/L1 + C2/L2 + …; above 1 the limit is exceeded. */
import { compare } from '../quantity/canonical.ts';
import { type ExposureLimit, type LimitProblem, shareOfLimit } from './limits.ts';

/** A concentration, commonly an 8-hour average; null: not known. */
export type Concentration = { readonly channel: string; readonly value: number | null; readonly unit: string | null };

export type Mixture = {
  /** The sum of the shares; null where not one could be formed. A lower bound unless `complete`. */
  readonly em: number | null;
  readonly exceeded: boolean;
  readonly shares: readonly { readonly channel: string; readonly share: number }[];
  /** What is not in the sum, and why. */
  readonly leftOut: readonly { readonly channel: string; readonly problem: LimitProblem }[];
  readonly complete: boolean;
};

/** The sum of the shares of the limits given, one a channel; substances without a usable limit are named. */
export function mixture(concentrations: readonly Concentration[], limits: readonly ExposureLimit[]): Mixture {
  const shares: { channel: string; share: number }[] = [];
  const leftOut: { channel: string; problem: LimitProblem }[] = [];
  for (const { channel, value, unit } of concentrations) {
    const share = shareOfLimit(
      channel,
      value,
      unit,
      limits.find((limit) => limit.channel === channel),
    );
    if (share.ok) shares.push({ channel, share: share.share });
    else leftOut.push({ channel, problem: share.problem });
  }
  const em = shares.length === 0 ? null : shares.reduce((sum, { share }) => sum + share, 0);
  return { em, exceeded: em !== null && compare(em, 1) > 0, shares, leftOut, complete: leftOut.length === 0 };
}
