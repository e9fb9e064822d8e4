/**
 * Photo-ionisation detectors: correction factor (CF) of a substance and of a mixture, a mixture's limit and its set-point
 * in isobutylene units, and whether a lamp can ionise a substance at all. A factor is of the substance, the lamp and the
 * make of instrument. amount = reading × CF, with the reading in isobutylene units (instrument set to 1.0).
 */
import {
  type Answer,
  firstRefusal,
  type Input,
  outOfRange,
  type Refusal,
  refuse,
  type Spoken,
  worked,
} from './worked.ts';

/** Who has turned isobutylene units into the substance: nobody yet, or the instrument itself. */
export type AppliedBy = 'nobody' | 'instrument';

const CF_SOURCE = 'Definition of the correction factor: amount = reading in isobutylene units × CF';
const OF_THE_MAKE = 'Only for the substance, lamp and make that the factor was measured for.';
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

/** One part of a vapour mixture. */
export type MixturePart = {
  /** Mole fraction of the vapour (not of the liquid), above 0 to 1; all of them add up to 1. */
  readonly fraction: number;
  /** Above 0 to 100. */
  readonly factor: number;
  /** ppm, above 0 to 1,000,000. */
  readonly limit: number;
};

/** CF of a mixture: 1 ÷ Σ(fraction ÷ CF). Refused without parts, or where the fractions do not add up to 1 (± 0.001). */
export function mixtureFactor(parts: readonly Pick<MixturePart, 'fraction' | 'factor'>[]): Answer {
  const refusal = firstRefusal(
    fractionsRefusal(parts),
    ...parts.map(({ factor }) => factorRefusal(factorInput(factor))),
  );
  if (refusal) return refusal;
  return worked({
    value: 1 / parts.reduce((sum, { fraction, factor }) => sum + fraction / factor, 0),
    unit: '',
    formula: '1 ÷ Σ (fraction ÷ correction factor)',
    inputs: parts.flatMap(({ fraction, factor }, index) => [
      fractionInput(fraction, index),
      { name: `Correction factor ${index + 1}`, value: factor, unit: '' },
    ]),
    source: 'Responses add up: each part gives amount ÷ CF',
    sourceTag: 'calc',
    cautions: ['Not the average of the factors: that is too high.', OF_THE_MAKE],
  });
}

/** Limit in ppm of the whole mixture, effects added: 1 ÷ Σ(fraction ÷ limit). Source: form of 29 CFR 1910.1000(d)(2). */
export function mixtureLimit(parts: readonly Pick<MixturePart, 'fraction' | 'limit'>[]): Answer {
  const limits = parts.map(({ limit }, index) => ({ name: `Limit ${index + 1}`, value: limit, unit: 'ppm' }));
  const refusal = firstRefusal(
    fractionsRefusal(parts),
    ...limits.map((input) => outOfRange(input, { from: 0, to: 1e6, above: true })),
  );
  if (refusal) return refusal;
  return worked({
    value: 1 / parts.reduce((sum, { fraction, limit }) => sum + fraction / limit, 0),
    unit: 'ppm',
    rounding: { figures: 3, towards: 'down' },
    formula: '1 ÷ Σ (fraction ÷ limit)',
    inputs: parts.flatMap(({ fraction }, index) => [fractionInput(fraction, index), ...limits.slice(index, index + 1)]),
    source: '29 CFR 1910.1000(d)(2), mixture formula',
    sourceTag: 'seen',
    cautions: [
      'Additive: as if all parts acted alike. The parts evaporate at different speeds and the mixture changes.',
    ],
  });
}

/** Set-point in isobutylene units (ppm) at which the mixture is at its limit: mixture limit ÷ mixture CF. */
export function mixtureSetPoint(parts: readonly MixturePart[]): Answer {
  const limit = mixtureLimit(parts);
  if (!limit.ok) return limit;
  const factor = mixtureFactor(parts);
  if (!factor.ok) return factor;
  return worked({
    value: limit.value / factor.value,
    unit: 'ppm isobutylene',
    rounding: { figures: 3, towards: 'down' },
    formula: 'Limit of the mixture ÷ correction factor of the mixture',
    inputs: [
      { name: 'Limit of the mixture', value: limit.value, unit: 'ppm' },
      { name: 'Correction factor of the mixture', value: factor.value, unit: '' },
    ],
    source: 'Definition of the correction factor, and the mixture formula of 29 CFR 1910.1000(d)(2)',
    sourceTag: 'calc',
    cautions: ['Only with the instrument left at CF 1.0, and only while the mixture stays as put in.'],
  });
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

function factorInput(value: number): Input {
  return { name: 'Correction factor', value, unit: '' };
}

function factorRefusal(input: Input): Refusal | null {
  return outOfRange(input, { from: 0, to: 100, above: true });
}

function fractionInput(value: number, index: number): Input {
  return { name: `Fraction ${index + 1}`, value, unit: 'of the vapour' };
}

function fractionsRefusal(parts: readonly { readonly fraction: number }[]): Refusal | null {
  if (parts.length === 0) return refuse('missing', 'A mixture has at least one part.');
  const each = parts.map(({ fraction }, index) =>
    outOfRange(fractionInput(fraction, index), { from: 0, to: 1, above: true }),
  );
  const sum = parts.reduce((total, { fraction }) => total + fraction, 0);
  const off = Math.abs(sum - 1) > 0.001 + 1e-9;
  return firstRefusal(
    ...each,
    off ? refuse('inconsistent', `The fractions add up to ${Number(sum.toFixed(4))} and must add up to 1.`) : null,
  );
}
