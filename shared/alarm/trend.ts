/** Change a minute by a least-squares line through the last minute. An estimate, from what it is given. */

/** Fewer samples, or a shorter time, say nothing. */
const LEAST_SAMPLES = 4;
const LEAST_US = 10_000_000;
const MINUTE_US = 60_000_000;

/**
 * @param at times in microseconds, rising; @param values in one unit.
 * @returns change a minute in that unit, or null where there is too little.
 */
export function trendPerMinute(at: readonly number[], values: readonly number[]): number | null {
  const n = at.length;
  const first = at[0];
  const last = at[n - 1];
  if (n < LEAST_SAMPLES || first === undefined || last === undefined || last - first < LEAST_US) return null;
  let sumT = 0;
  let sumV = 0;
  for (let i = 0; i < n; i += 1) {
    sumT += ((at[i] ?? first) - first) / MINUTE_US;
    sumV += values[i] ?? 0;
  }
  const meanT = sumT / n;
  const meanV = sumV / n;
  let over = 0;
  let under = 0;
  for (let i = 0; i < n; i += 1) {
    const t = ((at[i] ?? first) - first) / MINUTE_US - meanT;
    over += t * ((values[i] ?? 0) - meanV);
    under += t * t;
  }
  return under === 0 ? null : over / under;
}
