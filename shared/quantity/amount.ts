/**
 * Amounts of gas in air: parts by volume, and mass in a volume of air at a stated temperature and pressure.
 * 1 %vol = 10,000 ppm, 1 ppm = 1,000 ppb (definition); mg/m³ = ppm × molar mass / molar volume.
 */
import { compare, shiftDecimal } from './canonical.ts';
import { unitText } from './display.ts';
import { type Answer, firstRefusal, type Input, outOfRange, type Refusal, refuse, worked } from './worked.ts';

export const PARTS_UNITS = ['%vol', 'ppm', 'ppb'] as const;
export type PartsUnit = (typeof PARTS_UNITS)[number];
export const AMOUNT_UNITS = [...PARTS_UNITS, 'mg/m3'] as const;
export type AmountUnit = (typeof AMOUNT_UNITS)[number];

/** Power of ten to ppm. */
const PPM_POWER: Readonly<Record<PartsUnit, number>> = { '%vol': 4, ppm: 0, ppb: -3 };

/** Molar gas constant in J/(mol·K): Boltzmann × Avogadro, both exact in the SI since 2019; here to ten figures. */
export const MOLAR_GAS_CONSTANT = 8.314462618;
/** L/mol at 25 °C and 760 mmHg as exposure limits are converted: 29 CFR 1910.1000 Table Z-1 footnote (seen in a copy). */
export const CONVENTIONAL_MOLAR_VOLUME = 24.45;
export const STANDARD_ATMOSPHERE_KPA = 101.325;
const ZERO_CELSIUS_K = 273.15;

/** `exact` is R·T/P; `convention` is 24.45 L/mol, brought to the temperature and pressure in the same proportion. */
export type MolarVolumeBasis = 'exact' | 'convention';

export type Air = {
  /** °C, −60 to 100. */
  readonly temperatureC: number;
  /** kPa as measured at the place, not brought to sea level; 30 to 120. */
  readonly pressureKPa: number;
  readonly basis: MolarVolumeBasis;
};

const EXACT_SOURCE = 'Ideal gas: R·T/P with R = 8.314462618 J/(mol·K)';
const CONVENTION_SOURCE = '29 CFR 1910.1000 Table Z-1 footnote, ppm by volume at 25 °C and 760 torr: 24.45 L/mol';

/** Litres that one mole of gas takes up in `air`, in L/mol. Refused outside the ranges of `Air`. */
export function molarVolume(air: Air): Answer {
  const inputs = airInputs(air);
  const refusal = airRefusal(air);
  if (refusal) return refusal;
  const kelvin = air.temperatureC + ZERO_CELSIUS_K;
  if (air.basis === 'exact') {
    return worked({
      value: (MOLAR_GAS_CONSTANT * kelvin) / air.pressureKPa,
      unit: 'L/mol',
      rounding: { figures: 6, towards: 'nearest' },
      formula: 'R × (temperature + 273.15) ÷ pressure',
      inputs,
      source: EXACT_SOURCE,
      sourceTag: 'calc',
    });
  }
  return worked({
    value: CONVENTIONAL_MOLAR_VOLUME * (kelvin / 298.15) * (STANDARD_ATMOSPHERE_KPA / air.pressureKPa),
    unit: 'L/mol',
    rounding: { figures: 6, towards: 'nearest' },
    formula: '24.45 × (temperature + 273.15) ÷ 298.15 × 101.325 ÷ pressure',
    inputs,
    source: CONVENTION_SOURCE,
    sourceTag: 'seen-copy',
  });
}

export type AmountQuestion = {
  /** 0 or more; at most the whole of the air. */
  readonly value: number;
  readonly from: AmountUnit;
  readonly to: AmountUnit;
  /** g/mol, 1 to 1000; needed between parts and mg/m³. */
  readonly molarMass: number | null;
  /** Needed between parts and mg/m³. */
  readonly air: Air | null;
};

/**
 * An amount in another unit. Refused: negative (the sign of a zero taken in dirty air, which has no amount), more than
 * the whole of the air, or mg/m³ without a molar mass and the air's temperature and pressure.
 * Source: definition of parts by volume; mass by the molar volume of `air`.
 */
export function convertAmount(question: AmountQuestion): Answer {
  const { value, from, to } = question;
  const amount: Input = { name: 'Amount', value, unit: unitText(from) };
  const refusal = outOfRange(amount, { from: 0, to: from === 'mg/m3' ? 1e8 : shiftDecimal(1e6, -PPM_POWER[from]) });
  if (refusal) return refusal;
  if (from === 'mg/m3' || to === 'mg/m3') return from === to ? same(amount) : byMass(question, amount);
  return worked({
    value: shiftDecimal(value, PPM_POWER[from] - PPM_POWER[to]),
    unit: to,
    rounding: { figures: 12, towards: 'nearest' },
    formula: '1 %vol = 10,000 ppm; 1 ppm = 1,000 ppb',
    inputs: [amount],
    source: 'Definition of parts by volume',
    sourceTag: 'calc',
  });
}

function byMass({ value, from, to, molarMass, air }: AmountQuestion, amount: Input): Answer {
  if (molarMass === null) return refuse('missing', 'Between parts and mg/m³ the molar mass is needed.');
  if (air === null) return refuse('missing', 'Between parts and mg/m³ the temperature and the pressure are needed.');
  const mass: Input = { name: 'Molar mass', value: molarMass, unit: 'g/mol' };
  const refusal = outOfRange(mass, { from: 1, to: 1000 });
  if (refusal) return refusal;
  const volume = molarVolume(air);
  if (!volume.ok) return volume;
  const inputs = [amount, mass, ...airInputs(air), { name: 'Molar volume', value: volume.value, unit: 'L/mol' }];
  const shared = { inputs, source: volume.source, sourceTag: volume.sourceTag, cautions: massCautions(air) };
  if (from !== 'mg/m3') {
    const ppm = shiftDecimal(value, PPM_POWER[from]);
    const formula = 'Amount in ppm × molar mass ÷ molar volume';
    return worked({ value: (ppm * molarMass) / volume.value, unit: unitText(to), formula, ...shared });
  }
  const ppm = (value * volume.value) / molarMass;
  if (compare(ppm, 1e6) > 0) return refuse('inconsistent', 'That is more of this gas than the whole of the air.');
  const formula = 'Amount in mg/m³ × molar volume ÷ molar mass, in ppm';
  const parts = to === 'mg/m3' ? ppm : shiftDecimal(ppm, -PPM_POWER[to]);
  return worked({ value: parts, unit: unitText(to), formula, ...shared });
}

function same(amount: Input): Answer {
  return worked({
    ...amount,
    formula: 'The same unit',
    inputs: [amount],
    source: 'Nothing to convert',
    sourceTag: 'calc',
  });
}

function airInputs({ temperatureC, pressureKPa }: Air): readonly [Input, Input] {
  return [
    { name: 'Temperature', value: temperatureC, unit: '°C' },
    { name: 'Pressure', value: pressureKPa, unit: 'kPa' },
  ];
}

function airRefusal(air: Air): Refusal | null {
  const [temperature, pressure] = airInputs(air);
  return firstRefusal(outOfRange(temperature, { from: -60, to: 100 }), outOfRange(pressure, { from: 30, to: 120 }));
}

function massCautions({ temperatureC, pressureKPa }: Air): string[] {
  const cautions = ['ppm does not change with temperature and pressure, mg/m³ does. Compare limits in ppm.'];
  if (temperatureC === 25 && pressureKPa === STANDARD_ATMOSPHERE_KPA) {
    cautions.push('Where it is colder or higher, mg/m³ differs: at −10 °C by 13 %, at 1,600 m by 18 %.');
  }
  return cautions;
}
