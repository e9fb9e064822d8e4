/** Sums of value × milliseconds, exact, and what is asked of them at the end. */

/** `digits` × 10^`exponent`, in value × ms; no trailing zeros, so that equal sums are equal data. */
export type ExactSum = { readonly digits: bigint; readonly exponent: number };

export const MINUTE_MS = 60_000;
export const HOUR_MS = 60 * MINUTE_MS;
/** The fixed divisor of a time-weighted average, 29 CFR 1910.1000(d)(1): always 8 h, never the time worked. */
export const SHIFT_MS = 8 * HOUR_MS;
/** The span of a short-term exposure limit, 15 min. */
export const STEL_MS = 15 * MINUTE_MS;

export const ZERO_SUM: ExactSum = { digits: 0n, exponent: 0 };

/** `digits` × 10^`exponent` in its one normal form. */
export function exactSum(digits: bigint, exponent: number): ExactSum {
  if (digits === 0n) return ZERO_SUM;
  let power = exponent + 0; // never -0, which would not be equal data
  let number = Number(digits);
  if (Number.isSafeInteger(number)) {
    for (; number % 10 === 0; number /= 10) power += 1;
    return { digits: BigInt(number), exponent: power };
  }
  let short = digits;
  for (; short % 10n === 0n; short /= 10n) power += 1;
  return { digits: short, exponent: power };
}

/** The exact sum of two sums of the same unit. The caller sees to the unit. */
export function addSums(a: ExactSum, b: ExactSum): ExactSum {
  const exponent = Math.min(a.exponent, b.exponent);
  return exactSum(lowered(a, exponent) + lowered(b, exponent), exponent);
}

/** The double nearest to the sum, in value × ms. */
export function sumToNumber(sum: ExactSum): number {
  return Number(`${sum.digits}e${sum.exponent}`);
}

/**
 * The sum over a fixed span of `spanMs`: with SHIFT_MS a TWA, with STEL_MS a short-term average, with HOUR_MS a
 * dose (mR/h × h = mR). Time without a reading adds nothing here, so show the coverage beside it.
 */
export function averageOver(sum: ExactSum, spanMs: number): number {
  return sumToNumber(sum) / spanMs;
}

function lowered(sum: ExactSum, exponent: number): bigint {
  return sum.digits * 10n ** BigInt(sum.exponent - exponent);
}
