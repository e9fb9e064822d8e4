/**
 * Whether a reading can be believed, and why not, in words. One rule a row, those that make a reading unusable first. Doubt never removes an alarm: it adds
 * words to a number, or says that there is none.
 */
import type { Reason, Standing } from '../protocol/board.ts';
import { compare } from '../quantity/canonical.ts';

/** All that a rule may look at. */
export type Evidence = {
  readonly channel: string;
  /** Canonical value; null: there is none. */
  readonly value: number | null;
  /** The value in words, for "14 %LEL or more". */
  readonly valueWords: string | null;
  readonly flag: 'warming' | 'over-range' | 'under-range' | 'fault' | 'off' | 'not-understood' | null;
  readonly stale: boolean;
  readonly offByMode: boolean;
  readonly sampled: boolean;
  readonly pump: 'running' | 'blocked' | 'off' | 'none' | null;
  readonly test: boolean;
  /** The same monitor's oxygen: its value, or why there is none. */
  readonly oxygen: { readonly value: number | null; readonly stale: boolean; readonly underRange: boolean } | null;
  readonly relayClockOff: boolean;
};

export type Rule = {
  readonly code: string;
  readonly standing: Exclude<Standing, 'good'>;
  /** Where the rule comes from. */
  readonly source: string;
  /** The reason in words, or null where the rule does not apply. */
  readonly reason: (evidence: Evidence) => string | null;
};

const COMMON = 'common practice, no source';
const FOUR_AGENCY = 'NIOSH/OSHA/USCG/EPA manual of 1985: combustible readings are not valid below 19.5 % oxygen';
const BEAD_FLOOR = 'a catalytic bead cannot burn the gas below about 10 to 12 % oxygen (from memory, to be verified)';

/** Oxygen under which a catalytic reading is doubted, and under which it is not used. */
export const THIN_OXYGEN = 19.5;
export const OXYGEN_FLOOR = 12;

export const RULES: readonly Rule[] = [
  {
    code: 'not-understood',
    standing: 'unusable',
    source: COMMON,
    reason: (e) =>
      e.flag === 'not-understood' ? 'not understood: sent without a number or unit that can be read' : null,
  },
  {
    code: 'off-by-mode',
    standing: 'unusable',
    source: COMMON,
    reason: (e) => (e.offByMode ? 'not being watched: switched off by the mode' : null),
  },
  {
    code: 'off',
    standing: 'unusable',
    source: COMMON,
    reason: (e) => (e.flag === 'off' && !e.offByMode ? 'switched off' : null),
  },
  {
    code: 'fault',
    standing: 'unusable',
    source: COMMON,
    reason: (e) => (e.flag === 'fault' ? 'sensor fault' : null),
  },
  {
    code: 'warming',
    standing: 'unusable',
    source: COMMON,
    reason: (e) => (e.flag === 'warming' ? 'warming up: not to be used yet' : null),
  },
  {
    code: 'over-range',
    standing: 'unusable',
    source: 'over-range is a status and no number; a bead past its range can fall back towards 0',
    reason: (e) => (e.flag === 'over-range' ? 'over range: more than the sensor can show' : null),
  },
  {
    code: 'under-range',
    standing: 'unusable',
    source: COMMON,
    reason: (e) => (e.flag === 'under-range' ? 'under range: less than the sensor can show' : null),
  },
  {
    code: 'pump-blocked',
    standing: 'unusable',
    source: COMMON,
    reason: (e) =>
      e.sampled && !e.offByMode && e.pump === 'blocked' ? 'pump blocked: this is not the air at the inlet' : null,
  },
  {
    code: 'stale',
    standing: 'unusable',
    source: COMMON,
    reason: (e) => (e.stale ? 'old: not heard since' : null),
  },
  {
    code: 'oxygen-too-thin',
    standing: 'unusable',
    source: BEAD_FLOOR,
    reason: (e) => (thinness(e) === 'floor' ? `${orMore(e)}: too little oxygen for this sensor` : null),
  },
  {
    code: 'pump-off',
    standing: 'doubtful',
    source: COMMON,
    reason: (e) => (e.sampled && !e.offByMode && e.pump === 'off' ? 'pump off: only air that drifts in' : null),
  },
  {
    code: 'oxygen-thin',
    standing: 'doubtful',
    source: FOUR_AGENCY,
    reason: (e) => (thinness(e) === 'thin' ? `${orMore(e)}: oxygen is thin` : null),
  },
  {
    code: 'oxygen-unknown',
    standing: 'doubtful',
    source: FOUR_AGENCY,
    reason: (e) => (thinness(e) === 'unknown' ? `${orMore(e)}: oxygen is not known here` : null),
  },
  {
    code: 'negative',
    standing: 'doubtful',
    source: 'a negative reading is evidence of a zero taken in dirty air',
    reason: (e) => (isNegative(e) ? 'below zero: zeroed in dirty air, or drift' : null),
  },
  {
    code: 'test',
    standing: 'doubtful',
    source: COMMON,
    reason: (e) => (e.test ? 'horn and lights are being tested' : null),
  },
];

function thinness(e: Evidence): 'floor' | 'thin' | 'unknown' | null {
  if (e.channel !== 'lel' || e.value === null || e.offByMode) return null;
  if (e.oxygen === null || e.oxygen.stale) return 'unknown';
  if (e.oxygen.underRange) return 'floor';
  if (e.oxygen.value === null) return 'unknown';
  if (compare(e.oxygen.value, OXYGEN_FLOOR) < 0) return 'floor';
  return compare(e.oxygen.value, THIN_OXYGEN) < 0 ? 'thin' : null;
}

function orMore(e: Evidence): string {
  return `${e.valueWords ?? 'no number'} or more`;
}

/** Beyond the flicker around zero: two per cent of the lowest usual level, by channel; ours. */
const NEGATIVE_NOISE: Readonly<Record<string, number>> = { lel: 1, co: 2, h2s: 0.5, voc: 0.05 };

function isNegative(e: Evidence): boolean {
  if (e.value === null || e.channel === 'o2') return false;
  return e.value < -(NEGATIVE_NOISE[e.channel] ?? 0);
}

/** Standing of a reading with every reason that applies, the gravest first. */
export function standingOf(evidence: Evidence): { standing: Standing; reasons: Reason[] } {
  let standing: Standing = 'good';
  const reasons: Reason[] = [];
  for (const rule of RULES) {
    const words = rule.reason(evidence);
    if (words === null) continue;
    reasons.push({ code: rule.code, words });
    if (standing !== 'unusable') standing = rule.standing;
  }
  return { standing, reasons };
}
