/**
 * Slows down guessing without ever shutting a person out: after a few wrong tries on one name from one address each
 * further try waits, longer each time, up to a minute. Tries are counted before they are checked, so that many at
 * once gain nothing.
 */
export type Clock = { nowMs(): number };
export type Gate = {
  /** Whether a try may start now; it then counts as wrong until `passed` is called. */
  enter(key: string): { ok: true } | { ok: false; waitMs: number };
  passed(key: string): void;
};

export const FREE_TRIES = 5;
export const LONGEST_WAIT_MS = 60_000;
const FORGET_AFTER_MS = 15 * 60_000;
const MOST_KEYS = 10_000;

/** The wait after `wrong` tries: none up to five, then 1, 2, 4 … 60 s. */
export function waitAfterMs(wrong: number): number {
  if (wrong < FREE_TRIES) return 0;
  return Math.min(1000 * 2 ** (wrong - FREE_TRIES), LONGEST_WAIT_MS);
}

export function createGate(clock: Clock): Gate {
  const tries = new Map<string, { wrong: number; lastAtMs: number }>();

  function enter(key: string): { ok: true } | { ok: false; waitMs: number } {
    const nowMs = clock.nowMs();
    const known = tries.get(key);
    if (known !== undefined && nowMs < known.lastAtMs) known.lastAtMs = nowMs; // a clock set back must not shut anybody out
    const sinceMs = known === undefined ? 0 : nowMs - known.lastAtMs;
    const wrong = known === undefined || sinceMs > FORGET_AFTER_MS ? 0 : known.wrong;
    const waitMs = waitAfterMs(wrong) - sinceMs;
    if (waitMs > 0) return { ok: false, waitMs };
    tries.delete(key); // set again at the end: the map is then in the order of use
    tries.set(key, { wrong: wrong + 1, lastAtMs: nowMs });
    const oldest = tries.keys().next().value;
    if (tries.size > MOST_KEYS && oldest !== undefined) tries.delete(oldest);
    return { ok: true };
  }

  return { enter, passed: (key) => void tries.delete(key) };
}

/** Runs at most `atOnce` jobs, keeps at most `waiting` behind them, and refuses the rest with null. */
export function createQueue(atOnce: number, waiting: number): <T>(job: () => Promise<T>) => Promise<T | null> {
  let running = 0;
  const line: (() => void)[] = [];
  return async (job) => {
    if (running >= atOnce) {
      if (line.length >= waiting) return null;
      await new Promise<void>((resolve) => line.push(resolve)); // whoever wakes it hands over its own place
    } else {
      running += 1;
    }
    try {
      return await job();
    } finally {
      const next = line.shift();
      if (next) next();
      else running -= 1;
    }
  };
}
