/**
 * The clock that stamps records. Post time is moved by the monotonic clock alone, and by the time a suspended
 * machine slept, which that clock does not count. The wall clock only labels it. See docs/decisions/0004-recording.md.
 */
import { closeSync, openSync, readFileSync, readSync } from 'node:fs';
import { MILLISECOND, type PostTime, SECOND, toWallMs } from '../../shared/incident/time.ts';

/** From this on a pause is a gap, in microseconds. Common practice, no source: eight missed ticks of 250 ms. */
export const GAP_AFTER_US = 2 * SECOND;
/** From this on the wall clock counts as stepped, in ms. Common practice, no source. */
export const WALL_STEP_MS = 1_000;

export type ClockSources = {
  /** Monotonic, whole microseconds; the zero does not matter. */
  readonly steadyUs: () => number;
  /** Wall clock, ms since 1970. */
  readonly wallMs: () => number;
  /** Microseconds since the machine started, sleep included; null where the system does not say. */
  readonly bootUs: () => number | null;
};
export type WallStep = { readonly wallOffsetBeforeMs: number; readonly wallOffsetAfterMs: number };
export type Stall = { readonly from: PostTime; readonly to: PostTime; readonly cause: 'stall' | 'suspend' };

export interface PostClock {
  /** Post time now. Never before the last stamp, and does not move it. */
  now(): PostTime;
  /** Time for one record: after every earlier stamp, and not before now. */
  stamp(): PostTime;
  /** Whether the wall clock left its label by more than a second. Says so once, and takes the new label on. */
  checkWall(): WallStep | null;
  /** Whether the process stood still, or the machine slept, for over 2 s since the last check or stamp. */
  checkStall(): Stall | null;
  /** What to add to post time (in ms) to have the wall clock's label. */
  wallOffsetMs(): number;
}

/** A clock whose first stamp is `startAt` or later. `wallOffsetMs` is the label the journal has so far. */
export function createPostClock(
  options: ClockSources & { readonly startAt: PostTime; readonly wallOffsetMs: number },
): PostClock {
  const { steadyUs, wallMs, bootUs } = options;
  let offsetMs = options.wallOffsetMs;
  let last = options.startAt - 1;
  let checkedSteady = steadyUs();
  let checkedBoot = bootUs();
  let checkedAt = options.startAt;
  let base = options.startAt - checkedSteady;

  const now = () => Math.max(last, base + steadyUs());
  const sleptUs = (steady: number, boot: number | null) =>
    boot === null || checkedBoot === null ? 0 : boot - checkedBoot - (steady - checkedSteady);

  return {
    now,
    stamp() {
      last = Math.max(last + 1, base + steadyUs());
      return last;
    },
    wallOffsetMs: () => offsetMs,
    checkWall() {
      // A sleep looks like a step of the wall clock until checkStall has counted it in.
      if (sleptUs(steadyUs(), bootUs()) > GAP_AFTER_US) return null;
      const step = wallMs() - toWallMs(now(), offsetMs);
      if (Math.abs(step) <= WALL_STEP_MS) return null;
      const before = offsetMs;
      offsetMs += step;
      return { wallOffsetBeforeMs: before, wallOffsetAfterMs: offsetMs };
    },
    checkStall() {
      const steady = steadyUs();
      const boot = bootUs();
      const slept = sleptUs(steady, boot);
      const suspended = slept > GAP_AFTER_US;
      if (suspended) base += slept;
      const from = Math.max(checkedAt, last); // a stamp proves that the post was awake then
      const to = Math.max(last, base + steady);
      checkedSteady = steady;
      checkedBoot = boot;
      checkedAt = to;
      return to - from > GAP_AFTER_US ? { from, to, cause: suspended ? 'suspend' : 'stall' } : null;
    },
  };
}

/** The clocks of this machine. */
export function systemClocks(): ClockSources & { readonly bootId: string | null; close(): void } {
  const uptime = openUptime();
  return {
    steadyUs: () => Number(process.hrtime.bigint() / 1000n),
    wallMs: () => Date.now(),
    bootUs: uptime.read,
    bootId: readBootId(),
    close: uptime.close,
  };
}

/** /proc/uptime follows CLOCK_BOOTTIME in steps of 10 ms (proc(5), from memory); kept open, as it is read often. */
function openUptime(): { read(): number | null; close(): void } {
  let file: number;
  try {
    file = openSync('/proc/uptime', 'r');
  } catch {
    return { read: () => null, close: () => {} };
  }
  const text = Buffer.alloc(64);
  const read = () => {
    try {
      const length = readSync(file, text, 0, text.length, 0);
      return uptimeUs(text.toString('latin1', 0, length));
    } catch {
      return null;
    }
  };
  return { read, close: () => closeSync(file) };
}

/** First number of /proc/uptime in microseconds; null when there is none. */
export function uptimeUs(text: string): number | null {
  const seconds = /^(\d+(?:\.\d+)?)\s/.exec(text)?.[1];
  return seconds === undefined ? null : Math.round(Number(seconds) * 1_000) * MILLISECOND;
}

function readBootId(): string | null {
  try {
    return readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim() || null;
  } catch {
    return null;
  }
}
