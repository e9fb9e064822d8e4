/**
 * Oxygen against what may have taken its place. Well mixed, at constant pressure, by a gas without oxygen:
 * oxygen = baseline × (1 − share of the gas). Oxygen that was burnt or rusted away is not displaced.
 */
import { shiftDecimal } from './canonical.ts';
import { type Answer, firstRefusal, type Input, outOfRange, refuse, worked } from './worked.ts';

/** %vol in dry standard air. A monitor's 20.9 is common practice; its own clean-air value is the better baseline. */
export const DRY_AIR_OXYGEN = 20.946;

const SOURCE = 'Mixing at constant pressure; with 20.9 also in public confined-space guides';
const OTHER_CAUSES =
  'If displaced. Warm damp air alone can do this, and so can height, a cold sensor, fire or rust that used oxygen up.';
const BLIND = 'No other channel need see it: a PID and the gas cells are blind to many gases.';

/**
 * ppm of a gas without oxygen that would bring `baseline` down to `oxygen` (both %vol: baseline 19 to 21, oxygen 0 to the
 * baseline). Refused as inconsistent where oxygen is over the baseline: nothing is displaced.
 */
export function displacedAmount({ oxygen, baseline }: { oxygen: number; baseline: number }): Answer {
  const now: Input = { name: 'Oxygen', value: oxygen, unit: '%vol' };
  const refusal = firstRefusal(outOfRange(now, { from: 0, to: 100 }), baselineRefusal(baseline));
  if (refusal) return refusal;
  if (oxygen > baseline) {
    return refuse(
      'inconsistent',
      'Oxygen is over the baseline: nothing is displaced. Look for an oxygen leak or a bad zero.',
    );
  }
  return worked({
    value: ((baseline - oxygen) / baseline) * 1e6,
    unit: 'ppm',
    estimate: true,
    rounding: { figures: 2, towards: 'nearest' },
    formula: '(Baseline − oxygen) ÷ baseline × 1,000,000',
    inputs: [now, baselineInput(baseline)],
    source: SOURCE,
    sourceTag: 'calc',
    cautions: [OTHER_CAUSES, BLIND],
  });
}

/**
 * %vol of oxygen left where a gas without oxygen takes `displacing` ppm (0 to 1,000,000) of the air.
 * `baseline` %vol, 19 to 21.
 */
export function oxygenLeft({ displacing, baseline }: { displacing: number; baseline: number }): Answer {
  const gas: Input = { name: 'Displacing gas', value: displacing, unit: 'ppm' };
  const refusal = firstRefusal(outOfRange(gas, { from: 0, to: 1e6 }), baselineRefusal(baseline));
  if (refusal) return refusal;
  return worked({
    value: baseline * (1 - shiftDecimal(displacing, -6)),
    unit: '%vol',
    estimate: true,
    rounding: { figures: 4, towards: 'nearest' },
    formula: 'Baseline × (1 − displacing gas ÷ 1,000,000)',
    inputs: [gas, baselineInput(baseline)],
    source: SOURCE,
    sourceTag: 'calc',
    cautions: ['Where it is mixed. Near a leak, low or in a corner it can be far lower.'],
  });
}

export type DampAir = {
  /** °C, −20 to 60. */
  readonly temperatureC: number;
  /** % RH, 0 to 100. */
  readonly humidity: number;
  /** kPa at the place, 30 to 120. */
  readonly pressureKPa: number;
};

/** Vapour pressure of water in kPa at saturation: Magnus form over water, WMO No. 8 (coefficients from memory). */
export function saturationPressureKPa(temperatureC: number): number {
  return 0.6112 * Math.exp((17.62 * temperatureC) / (243.12 + temperatureC));
}

/** %vol of oxygen in clean damp air: 20.946 × (1 − water vapour's pressure ÷ air pressure). Refused outside `DampAir`. */
export function dampAirOxygen({ temperatureC, humidity, pressureKPa }: DampAir): Answer {
  const inputs = [
    { name: 'Temperature', value: temperatureC, unit: '°C' },
    { name: 'Relative humidity', value: humidity, unit: '%' },
    { name: 'Pressure', value: pressureKPa, unit: 'kPa' },
  ] as const;
  const refusal = firstRefusal(
    outOfRange(inputs[0], { from: -20, to: 60 }),
    outOfRange(inputs[1], { from: 0, to: 100 }),
    outOfRange(inputs[2], { from: 30, to: 120 }),
  );
  if (refusal) return refusal;
  const water = (saturationPressureKPa(temperatureC) * humidity) / 100;
  return worked({
    value: DRY_AIR_OXYGEN * (1 - water / pressureKPa),
    unit: '%vol',
    estimate: true,
    formula: '20.946 × (1 − water vapour ÷ pressure); water vapour = relative humidity × saturation at the temperature',
    inputs: [...inputs, { name: 'Water vapour', value: water, unit: 'kPa' }],
    source: 'Partial pressures; saturation by the Magnus form over water, WMO No. 8',
    sourceTag: 'memory',
    cautions: [
      'Clean air, nothing else in it. Many sensors answer to the oxygen pressure and read lower still at height.',
    ],
  });
}

function baselineInput(baseline: number): Input {
  return { name: 'Baseline', value: baseline, unit: '%vol' };
}

function baselineRefusal(baseline: number) {
  return outOfRange(baselineInput(baseline), { from: 19, to: 21 });
}
