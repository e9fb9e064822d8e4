import {
  airKerma,
  DOSE_UNITS,
  type DoseRate,
  type DoseUnit,
  doseOverTime,
  doseUnitText,
  fieldEquivalent,
  RATE_UNITS,
  type RateUnit,
} from '../../../shared/quantity/dose.ts';
import { distanceToRate, rateAtDistance } from '../../../shared/quantity/point-source.ts';
import { type Calculation, type Entered, oneOf } from '../calculation.ts';

export const DOSE_OPTIONS = DOSE_UNITS.map((value) => ({ value, label: doseUnitText(value) }));
export const RATE_OPTIONS = RATE_UNITS.map((value) => ({ value, label: doseUnitText(value) }));
const ANY_UNITS = [...RATE_UNITS, ...DOSE_UNITS];

/** A dose rate that was typed with its unit. */
export function enteredRate(entered: Entered, name: string): DoseRate {
  return { value: entered.number(name), unit: oneOf(RATE_UNITS, entered.choice(`${name}Unit`)) };
}

/** The units a value is shown in beside the one that was typed: of the same size, so that none is a row of noughts. */
const SIZED: Readonly<Record<'u' | 'm' | '', readonly DoseUnit[]>> = {
  u: ['uR', 'urem', 'uSv', 'uGy'],
  m: ['mR', 'mrem', 'mSv', 'mGy'],
  '': ['R', 'rem', 'Sv', 'Gy'],
};

function besideUnits(from: DoseUnit | RateUnit): (DoseUnit | RateUnit)[] {
  const prefix = from.startsWith('u') ? 'u' : from.startsWith('m') ? 'm' : '';
  const units = SIZED[prefix].map((unit) => (from.endsWith('/h') ? (`${unit}/h` as const) : unit));
  return units.filter((unit) => unit !== from);
}

export const doseUnits: Calculation = {
  id: 'dose-units',
  name: 'Units of dose and dose rate',
  words: 'Roentgen, rem, sievert and gray by the equivalence used in the field, and the physical figure beside it.',
  fields: [
    {
      kind: 'number',
      name: 'dose',
      label: 'Dose or dose rate',
      unit: ANY_UNITS.map((value) => ({ value, label: doseUnitText(value) })),
      initialUnit: 'mR/h',
    },
  ],
  answer(entered) {
    const value = entered.number('dose');
    const from = oneOf(ANY_UNITS, entered.choice('doseUnit'));
    const equivalents = besideUnits(from).map((to) => ({
      label: `In ${doseUnitText(to)}`,
      answer: fieldEquivalent({ value, from, to }),
    }));
    const physical = airKerma({ value, from });
    const shown = physical.ok || physical.code !== 'different-quantity';
    return shown ? [...equivalents, { label: 'Physical: air kerma', answer: physical }] : equivalents;
  },
};

export const doseTaken: Calculation = {
  id: 'dose-taken',
  name: 'Dose over a time',
  words: 'The dose of a steady rate.',
  fields: [
    { kind: 'number', name: 'rate', label: 'Dose rate', unit: RATE_OPTIONS, initialUnit: 'mR/h' },
    { kind: 'number', name: 'minutes', label: 'Time', unit: 'min' },
  ],
  answer: (entered) => [
    {
      label: 'Dose',
      answer: doseOverTime({ rate: enteredRate(entered, 'rate'), minutes: entered.number('minutes') }),
    },
  ],
};

const MEASURED = [
  { kind: 'number', name: 'rate', label: 'Dose rate', unit: RATE_OPTIONS, initialUnit: 'mR/h' },
  { kind: 'number', name: 'at', label: 'Measured at a distance of', unit: 'm' },
] as const;

export const atDistance: Calculation = {
  id: 'at-distance',
  name: 'Dose rate at a distance',
  words: 'Inverse square, for a small source with nothing between. Not for a plume, fallout or a spill.',
  fields: [...MEASURED, { kind: 'number', name: 'to', label: 'Wanted at a distance of', unit: 'm' }],
  answer: (entered) => [
    {
      label: 'Dose rate there',
      answer: rateAtDistance({
        rate: enteredRate(entered, 'rate'),
        atMetres: entered.number('at'),
        toMetres: entered.number('to'),
      }),
    },
  ],
};

export const distanceTo: Calculation = {
  id: 'distance-to',
  name: 'Distance to a dose rate',
  words: 'How far from a small source a dose rate is reached. Not for a plume, fallout or a spill.',
  fields: [
    ...MEASURED,
    {
      kind: 'number',
      name: 'wanted',
      label: 'Dose rate wanted',
      unit: RATE_OPTIONS,
      initialUnit: 'mR/h',
      initial: '10',
      hint: '10 mR/h is the outer line of REMM’s zones of radiological response.',
    },
  ],
  answer: (entered) => [
    {
      label: 'Distance from the source',
      answer: distanceToRate({
        rate: enteredRate(entered, 'rate'),
        atMetres: entered.number('at'),
        wanted: enteredRate(entered, 'wanted'),
      }),
    },
  ],
};
