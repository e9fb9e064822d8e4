/**
 * Units of dose and dose rate for gamma. Roentgen is brought to rem, rad, sievert and gray by the field equivalence
 * 1 R = 1 rad = 1 rem, 1 Sv = 100 rem, 1 Gy = 100 rad (REMM, zones of radiological response: 10 mR/h = 0.1 mSv/h, seen).
 * It is a convention: physically 1 R is 8.76 mGy of air kerma, so it holds within about ±12 %, not always on the safe side.
 */
import { shiftDecimal } from './canonical.ts';
import { type Answer, firstRefusal, type Input, outOfRange, refuse, worked } from './worked.ts';

export const DOSE_UNITS = [
  'uR',
  'mR',
  'R',
  'urem',
  'mrem',
  'rem',
  'mrad',
  'rad',
  'uSv',
  'mSv',
  'Sv',
  'uGy',
  'mGy',
  'Gy',
] as const;
export type DoseUnit = (typeof DOSE_UNITS)[number];
export type RateUnit = `${DoseUnit}/h`;
export const RATE_UNITS: readonly RateUnit[] = DOSE_UNITS.map((unit) => `${unit}/h` as const);

export type Dose = { readonly value: number; readonly unit: DoseUnit };
export type DoseRate = { readonly value: number; readonly unit: RateUnit };

type Family = 'R' | 'rem' | 'rad' | 'Sv' | 'Gy';
const PREFIX_POWER: Readonly<Record<string, number>> = { u: -6, m: -3, '': 0 };
const FAMILY_POWER: Readonly<Record<Family, number>> = { R: 0, rem: 0, rad: 0, Sv: 2, Gy: 2 };

/** Exposure of 1 R in C/kg (exact by definition) × mean energy per ion pair over charge in air, 33.97 J/C. */
export const AIR_KERMA_GY_PER_R = 2.58e-4 * 33.97;

const FIELD_SOURCE = 'Field equivalence 1 R = 1 rad = 1 rem = 10 mSv for gamma; REMM, zones: 10 mR/h = 0.1 mSv/h';
const WITHIN = 'Field equivalence: holds within about ±12 %, and not always on the safe side.';

/** A unit as people write it: "µR/h". */
export function doseUnitText(unit: DoseUnit | RateUnit): string {
  return unit.replace(/^u/, 'µ');
}

function isRate(unit: DoseUnit | RateUnit): unit is RateUnit {
  return unit.endsWith('/h');
}

function unitParts(unit: DoseUnit | RateUnit): { family: Family; power: number } {
  const base = unit.replace('/h', '');
  const family = (Object.keys(FAMILY_POWER) as Family[]).find((one) => base.endsWith(one)) ?? 'R';
  const prefix = base.slice(0, base.length - family.length);
  return { family, power: (PREFIX_POWER[prefix] ?? 0) + FAMILY_POWER[family] };
}

/** By the field equivalence, in mR or mR/h: the scale on which doses of different units are added. */
export function inMilliRoentgen({ value, unit }: Dose | DoseRate): number {
  return shiftDecimal(value, unitParts(unit).power + 3);
}

/**
 * A dose or a dose rate in another unit, exact in decimal. `value` 0 to 10^12. Refused as different-quantity between a
 * dose and a dose rate. Source: prefixes and 1 Sv = 100 rem, 1 Gy = 100 rad by definition; the rest by field equivalence.
 */
export function fieldEquivalent(question: {
  value: number;
  from: DoseUnit | RateUnit;
  to: DoseUnit | RateUnit;
}): Answer {
  const { value, from, to } = question;
  const input: Input = { name: isRate(from) ? 'Dose rate' : 'Dose', value, unit: doseUnitText(from) };
  const refusal = outOfRange(input, { from: 0, to: 1e12 });
  if (refusal) return refusal;
  if (isRate(from) !== isRate(to)) {
    return refuse('different-quantity', 'A dose and a dose rate cannot be converted into one another without a time.');
  }
  const [had, wanted] = [unitParts(from), unitParts(to)];
  const byDefinition = had.family === wanted.family || pairedByDefinition(had.family, wanted.family);
  return worked({
    value: shiftDecimal(value, had.power - wanted.power),
    unit: doseUnitText(to),
    rounding: { figures: 12, towards: 'nearest' },
    formula: byDefinition
      ? '1 Sv = 100 rem, 1 Gy = 100 rad, and powers of ten'
      : '1 R = 1 rad = 1 rem = 0.01 Sv = 0.01 Gy',
    inputs: [input],
    source: byDefinition ? 'Definition of the units' : FIELD_SOURCE,
    sourceTag: byDefinition ? 'calc' : 'seen',
    cautions: byDefinition ? [] : [WITHIN],
  });
}

function pairedByDefinition(a: Family, b: Family): boolean {
  return ['rem Sv', 'Sv rem', 'rad Gy', 'Gy rad'].includes(`${a} ${b}`);
}

/**
 * The physical figure beside the equivalence: air kerma of an exposure, in mGy or mGy/h. `value` 0 to 10^12 in µR, mR or R
 * (or one of them an hour); other units are refused as different-quantity, because what they are in the air depends on
 * the energy. Source: 2.58 × 10⁻⁴ C/kg × 33.97 J/C.
 */
export function airKerma({ value, from }: { value: number; from: DoseUnit | RateUnit }): Answer {
  const input: Input = { name: isRate(from) ? 'Exposure rate' : 'Exposure', value, unit: doseUnitText(from) };
  const refusal = outOfRange(input, { from: 0, to: 1e12 });
  if (refusal) return refusal;
  const { family, power } = unitParts(from);
  if (family !== 'R') {
    return refuse(
      'different-quantity',
      'The physical figure is known for an exposure in R alone: else it depends on the energy.',
    );
  }
  return worked({
    value: shiftDecimal(value, power + 3) * AIR_KERMA_GY_PER_R,
    unit: isRate(from) ? 'mGy/h' : 'mGy',
    formula: 'Exposure in R × 2.58 × 10⁻⁴ C/kg × 33.97 J/C',
    inputs: [input],
    source: 'Definition of the roentgen and mean energy per ion pair in air: 1 R = 8.76 mGy air kerma',
    sourceTag: 'calc',
    cautions: ['The dose equivalent depends on the energy; for caesium-137 about 1.05 rem per R (from memory).'],
  });
}

/** Dose taken in `minutes` (0 to 525,600, a year) at a steady rate, in the rate's own unit without "/h". */
export function doseOverTime({ rate, minutes }: { rate: DoseRate; minutes: number }): Answer {
  const inputs = [
    { name: 'Dose rate', value: rate.value, unit: doseUnitText(rate.unit) },
    { name: 'Time', value: minutes, unit: 'min' },
  ] as const;
  const refusal = firstRefusal(
    outOfRange(inputs[0], { from: 0, to: 1e12 }),
    outOfRange(inputs[1], { from: 0, to: 525_600 }),
  );
  if (refusal) return refusal;
  return worked({
    value: (rate.value * minutes) / 60,
    unit: doseUnitText(rate.unit).replace('/h', ''),
    rounding: { figures: 3, towards: 'up' },
    formula: 'Dose rate × time ÷ 60',
    inputs,
    source: 'Arithmetic',
    sourceTag: 'calc',
    cautions: ['At a steady rate. People move: what counts is the dosimeter.'],
  });
}
