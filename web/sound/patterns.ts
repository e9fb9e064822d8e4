/**
 * What is played. Three plainly different bursts by priority on the principles of IEC 60601-1-8 (number of pulses,
 * rhythm, a fundamental with harmonics), which is a standard for medical equipment used here as a pattern only; and
 * for an evacuation the temporal pattern of ISO 8201, which everybody has learned in buildings.
 */
import type { Priority } from '../../shared/alarm/set-point.ts';

export type PatternName = Priority | 'evacuation';

export type Pulse = {
  /** From the start of the burst. */
  readonly atMs: number;
  readonly lengthMs: number;
};

export type Pattern = {
  readonly fundamentalHz: number;
  /** Strength of the fundamental and of each harmonic after it, 0 to 1. */
  readonly partials: readonly number[];
  readonly pulses: readonly Pulse[];
  /** Silence that follows at the least before the same burst comes again. */
  readonly quietAfterMs: number;
};

/** Pulses of one length with these silences between them. */
function pulses(lengthMs: number, silencesMs: readonly number[]): Pulse[] {
  let atMs = 0;
  const made: Pulse[] = [{ atMs, lengthMs }];
  for (const silence of silencesMs) {
    atMs += lengthMs + silence;
    made.push({ atMs, lengthMs });
  }
  return made;
}

const DANGER_PULSE_MS = 100;
const DANGER_GAP_MS = 60;
/** As if one pulse of the row had been left out. */
const DANGER_PAIR_GAP_MS = 2 * DANGER_GAP_MS + DANGER_PULSE_MS;
const THREE_AND_TWO = [DANGER_GAP_MS, DANGER_GAP_MS, DANGER_PAIR_GAP_MS, DANGER_GAP_MS];
const BETWEEN_FIVES_MS = 400;

export const PATTERNS: Readonly<Record<PatternName, Pattern>> = {
  danger: {
    fundamentalHz: 740,
    partials: [1, 0.8, 0.65, 0.5, 0.4],
    pulses: pulses(DANGER_PULSE_MS, [...THREE_AND_TWO, BETWEEN_FIVES_MS, ...THREE_AND_TWO]),
    quietAfterMs: 2500,
  },
  caution: {
    fundamentalHz: 494,
    partials: [1, 0.75, 0.6, 0.5, 0.4, 0.3],
    pulses: pulses(200, [200, 200]),
    quietAfterMs: 2500,
  },
  notice: {
    fundamentalHz: 330,
    partials: [1, 0.7, 0.55, 0.45, 0.35, 0.25],
    pulses: pulses(180, [240]),
    quietAfterMs: 15_000,
  },
  evacuation: {
    fundamentalHz: 520,
    partials: [1, 0.8, 0.7, 0.6, 0.5, 0.4],
    pulses: pulses(500, [500, 500]),
    quietAfterMs: 1500,
  },
};

/** From the start of the first pulse to the end of the last, ms. */
export function burstMs(pattern: Pattern): number {
  const last = pattern.pulses.at(-1);
  return last === undefined ? 0 : last.atMs + last.lengthMs;
}

/** Frequencies of the harmonics above the fundamental, Hz. */
export function harmonicsHz(pattern: Pattern): number[] {
  return pattern.partials.slice(1).map((_, i) => pattern.fundamentalHz * (i + 2));
}
