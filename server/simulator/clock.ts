import { setTimeout as delay } from 'node:timers/promises';

/** The sender's time, so that a test can play an hour in a second. */
export type Clock = {
  /** Wall time, ms since 1970. */
  readonly now: () => number;
  /** Resolves after `ms`, or at once when the signal aborts. */
  readonly wait: (ms: number, signal: AbortSignal) => Promise<void>;
};

export const systemClock: Clock = {
  now: () => Date.now(),
  wait: (ms, signal) => delay(ms, undefined, { signal }).catch(() => undefined),
};
