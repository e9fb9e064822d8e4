/**
 * A photo-ionisation detector in a mixture of vapours: its correction factor, its limit, and the set-point in isobutylene
 * units at which the mixture is at that limit. Instrument left at CF 1.0.
 */
import { factorInput, factorRefusal, OF_THE_MAKE } from './pid.ts';
import { type Answer, firstRefusal, type Input, outOfRange, type Refusal, refuse, worked } from './worked.ts';

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
