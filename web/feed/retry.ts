const FIRST_MS = 500;
const FACTOR = 1.5;
const LONGEST_MS = 5000;

/**
 * How long to wait before try number `tries` (from 0): 0.5 s, then half as long again each time up to 5 s, the last
 * quarter of it by chance (`share`, 0 to 1), so that many screens do not all knock at the same moment.
 */
export function nextWaitMs(tries: number, share: number): number {
  const full = Math.min(LONGEST_MS, FIRST_MS * FACTOR ** tries);
  return full * (0.75 + 0.25 * share);
}
