/**
 * Combustible gas: share of the lower explosive limit (LEL) against the amount in air. A %LEL means nothing without the
 * LEL it is a share of, and lists differ: methane is 5.0 %vol in NFPA 497:2008 and 4.4 %vol in IEC 60079-20-1:2010 (both
 * seen in a copy), so that the same gas reads 13.6 % higher on the second.
 */
import type { PartsUnit } from './amount.ts';
import { shiftDecimal } from './canonical.ts';
import { type Answer, firstRefusal, type Input, outOfRange, worked } from './worked.ts';

const TO_VOL_POWER: Readonly<Record<PartsUnit, number>> = { '%vol': 0, ppm: -4, ppb: -7 };

const NOT_AN_ALL_CLEAR = 'A low %LEL is no clearance for poison: 10 %LEL of a toxic gas is far above what poisons.';
const BASIS_MATTERS = 'Only on this basis. A monitor set to another LEL shows another %LEL for the same air.';
const OVER = 'Over 100 %LEL: the air is at or over the lower limit. A bead sensor can fall back towards 0 in such air.';

export type LelQuestion = {
  /** Amount of the combustible gas, 0 to the whole of the air. */
  readonly value: number;
  readonly unit: PartsUnit;
  /** %vol at the lower explosive limit, above 0 to 100. */
  readonly lelVolPercent: number;
};

/** %LEL of an amount: 100 × %vol ÷ LEL. May be over 100. Source: definition, on the stated basis. */
export function percentLel({ value, unit, lelVolPercent }: LelQuestion): Answer {
  const amount: Input = { name: 'Amount', value, unit };
  const refusal = firstRefusal(
    outOfRange(amount, { from: 0, to: shiftDecimal(100, -TO_VOL_POWER[unit]) }),
    basisRefusal(lelVolPercent),
  );
  if (refusal) return refusal;
  const percent = (100 * shiftDecimal(value, TO_VOL_POWER[unit])) / lelVolPercent;
  return worked({
    value: percent,
    unit: '%LEL',
    formula: '100 × amount in %vol ÷ LEL in %vol',
    inputs: [amount, basisInput(lelVolPercent)],
    source: 'Definition of %LEL, on the LEL put in',
    sourceTag: 'calc',
    cautions: percent > 100 ? [OVER, BASIS_MATTERS] : [NOT_AN_ALL_CLEAR, BASIS_MATTERS],
  });
}

/**
 * Amount at a %LEL, in %vol, ppm or ppb: %LEL ÷ 100 × LEL. `percent` 0 to 1000 (a rich mixture is over 100), and never
 * more than the whole of the air. Source: definition, on the stated basis.
 */
export function amountAtLel(question: { percent: number; to: PartsUnit; lelVolPercent: number }): Answer {
  const { percent, to, lelVolPercent } = question;
  const share: Input = { name: 'Reading', value: percent, unit: '%LEL' };
  const refusal = firstRefusal(
    basisRefusal(lelVolPercent),
    outOfRange(share, { from: 0, to: Math.min(1000, 10_000 / lelVolPercent) }),
  );
  if (refusal) return refusal;
  return worked({
    value: shiftDecimal((percent * lelVolPercent) / 100, -TO_VOL_POWER[to]),
    unit: to,
    formula: to === '%vol' ? 'Reading ÷ 100 × LEL' : 'Reading ÷ 100 × LEL in %vol, 1 %vol = 10,000 ppm',
    inputs: [share, basisInput(lelVolPercent)],
    source: 'Definition of %LEL, on the LEL put in',
    sourceTag: 'calc',
    cautions: percent > 100 ? [OVER, BASIS_MATTERS] : [NOT_AN_ALL_CLEAR, BASIS_MATTERS],
  });
}

/**
 * What a combustible reading means for another gas than the one the sensor was calibrated to: reading × factor.
 * `reading` 0 to 100 %LEL, `factor` above 0 to 20 from the sensor's own list. Source: common form of such lists.
 */
export function combustibleInGas({ reading, factor }: { reading: number; factor: number }): Answer {
  const shown: Input = { name: 'Reading', value: reading, unit: '%LEL' };
  const correction: Input = { name: 'Correction factor', value: factor, unit: '' };
  const refusal = firstRefusal(
    outOfRange(shown, { from: 0, to: 100 }),
    outOfRange(correction, { from: 0, to: 20, above: true }),
  );
  if (refusal) return refusal;
  return worked({
    value: reading * factor,
    unit: '%LEL',
    estimate: true,
    rounding: { figures: 2, towards: 'up' },
    formula: 'Reading × correction factor',
    inputs: [shown, correction],
    source: 'Correction factors of combustible sensors; the factor is of the sensor, its age and its calibration gas',
    sourceTag: 'common practice',
    cautions: ['Not valid below 19.5 %vol oxygen, nor where a sensor may be poisoned.', BASIS_MATTERS],
  });
}

function basisInput(lelVolPercent: number): Input {
  return { name: 'LEL', value: lelVolPercent, unit: '%vol' };
}

function basisRefusal(lelVolPercent: number) {
  return outOfRange(basisInput(lelVolPercent), { from: 0, to: 100, above: true });
}
