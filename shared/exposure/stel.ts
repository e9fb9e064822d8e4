/** Short-term exposure: the 15-minute time-weighted average that ends now (29 CFR 1910.1000(a); NIOSH's STEL). */
import { type ExactSum, STEL_MS, sumToNumber } from './exact-sum.ts';

export type Stel = {
  /** Sum of C × Δt over 15 min, always divided by 15 min; in the figure's unit. */
  readonly value: number;
  readonly sum: ExactSum;
  /** Time of the window with a number, ms, of `spanMs`. */
  readonly coveredMs: number;
  readonly spanMs: number;
  /** The window is not full: `value` is a lower bound. It neither shows that a limit is kept, nor is it scaled up. */
  readonly partial: boolean;
};

/** The 15-minute figure from the sum (value × ms) of the window. */
export function stelOf(sum: ExactSum, coveredMs: number): Stel {
  return { value: sumToNumber(sum) / STEL_MS, sum, coveredMs, spanMs: STEL_MS, partial: coveredMs < STEL_MS };
}
