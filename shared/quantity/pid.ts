/**
 * Photo-ionisation detectors: correction factor (CF) of a substance, and whether a lamp can ionise it at all. A factor is of the substance, the lamp and the
 * make of instrument. amount = reading × CF, with the reading in isobutylene units (instrument set to 1.0).
 */
import { type Answer, firstRefusal, type Input, outOfRange, type Refusal, type Spoken, worked } from './worked.ts';

/** Who has turned isobutylene units into the substance: nobody yet, or the instrument itself. */
export type AppliedBy = 'nobody' | 'instrument';

const CF_SOURCE = 'Definition of the correction factor: amount = reading in isobutylene units × CF';
export const OF_THE_MAKE = 'Only for the substance, lamp and make that the factor was measured for.';
const UNIDENTIFIED = 'It does not identify anything: other vapours count in the same reading. Damp air lowers it.';

export type PidQuestion = {
  /** As the instrument shows it, 0 to 1,000,000 ppm. */
  readonly reading: number;
  /** Above 0 to 100. */
  readonly factor: number;
  readonly appliedBy: AppliedBy;
};

/**
 * ppm of a substance from a reading; the factor is applied once and never again where the instrument has applied it.
 * Refused outside the ranges of `PidQuestion`.
 */
export function pidAmount({ reading, factor, appliedBy }: PidQuestion): Answer {
  const unit = appliedBy === 'instrument' ? 'ppm' : 'ppm isobutylene';
  const inputs = [{ name: 'Reading', value: reading, unit }, factorInput(factor)] as const;
  const refusal = firstRefusal(outOfRange(inputs[0], { from: 0, to: 1e6 }), factorRefusal(inputs[1]));
  if (refusal) return refusal;
  const given = { unit: 'ppm', inputs, source: CF_SOURCE, sourceTag: 'calc', estimate: true } as const;
  const rounding = { figures: 3, towards: 'nearest' } as const;
  if (appliedBy === 'instrument') {
    const once = 'The instrument has applied a factor already. It is not applied again.';
    const formula = 'Reading, as it stands';
    return worked({ ...given, rounding, value: reading, formula, cautions: [once, OF_THE_MAKE, UNIDENTIFIED] });
  }
  const formula = 'Reading × correction factor';
  return worked({ ...given, rounding, value: reading * factor, formula, cautions: [OF_THE_MAKE, UNIDENTIFIED] });
}

/** Lamps in use, eV, nominal (from memory). */
export const LAMPS_EV = [9.8, 10.6, 11.7] as const;
/** As near as this below the lamp's energy the response is weak, and tables of energies differ by as much. */
const MARGINAL_EV = 0.1;

/**
 * Whether a lamp of `lampEv` can ionise a substance of ionisation energy `ionisationEv` (both eV, 5 to 30): `code` is
 * `yes`, `marginal` (under by 0.1 eV or less) or `no`. Source: general physics; the 0.1 eV is ours, common practice.
 */
export function lampSees({ ionisationEv, lampEv }: { ionisationEv: number; lampEv: number }): Spoken | Refusal {
  const inputs = [
    { name: 'Ionisation energy', value: ionisationEv, unit: 'eV' },
    { name: 'Lamp', value: lampEv, unit: 'eV' },
  ] as const;
  const refusal = firstRefusal(...inputs.map((input) => outOfRange(input, { from: 5, to: 30 })));
  if (refusal) return refusal;
  const code = ionisationEv >= lampEv ? 'no' : lampEv - ionisationEv > MARGINAL_EV + 1e-9 ? 'yes' : 'marginal';
  return {
    ok: true,
    value: null,
    code,
    words: LAMP_WORDS[code],
    formula: 'Ionisation energy less than the lamp’s energy',
    inputs,
    source: 'Photo-ionisation needs at least the ionisation energy; lamp energies are nominal',
    sourceTag: 'memory',
    cautions: code === 'yes' ? ['Able to, not how strongly: that is the correction factor.'] : [BLIND],
  };
}

const LAMP_WORDS = {
  yes: 'This lamp can ionise it.',
  marginal: 'Barely, if at all: too near the lamp’s energy to rely on.',
  no: 'This lamp cannot ionise it. The detector is blind to it.',
} as const;
const BLIND = 'A reading of 0 says nothing about this substance.';

/** A correction factor among the numbers put in. */
export function factorInput(value: number): Input {
  return { name: 'Correction factor', value, unit: '' };
}

/** Null for a factor above 0 to 100. */
export function factorRefusal(input: Input): Refusal | null {
  return outOfRange(input, { from: 0, to: 100, above: true });
}
