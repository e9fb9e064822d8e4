/**
 * Inverse square: the dose rate of a small source falls with the square of the distance. A point source with nothing
 * between; not for plumes, fallout, spills, pipes or ground that is contaminated.
 */
import { type DoseRate, doseUnitText, inMilliRoentgen } from './dose.ts';
import { type Answer, firstRefusal, type Input, outOfRange, worked } from './worked.ts';

const SOURCE = 'Inverse square of the distance from a point source';
const ONLY_POINT =
  'A small source in one place, nothing between, nothing scattered. Not for a plume, fallout, a spill or a pipe.';
const MEASURE = 'Measure on the way: what the instrument reads there governs.';
const NEAR = 'So near, no source is a point, and hands and body are nearer than the instrument.';
const NEAR_M = 0.3;

/** Rate at `toMetres`, in the unit of `rate`. Rate 0 to 10^12, distances above 0 to 10,000 m. */
export function rateAtDistance(question: { rate: DoseRate; atMetres: number; toMetres: number }): Answer {
  const { rate, atMetres, toMetres } = question;
  const inputs = [
    rateInput('Dose rate', rate),
    metres('Measured at', atMetres),
    metres('Wanted at', toMetres),
  ] as const;
  const refusal = firstRefusal(
    outOfRange(inputs[0], { from: 0, to: 1e12 }),
    distanceRefusal(inputs[1]),
    distanceRefusal(inputs[2]),
  );
  if (refusal) return refusal;
  return worked({
    value: rate.value * (atMetres / toMetres) ** 2,
    unit: doseUnitText(rate.unit),
    estimate: true,
    rounding: { figures: 2, towards: 'up' },
    formula: 'Dose rate × (measured at ÷ wanted at)²',
    inputs,
    source: SOURCE,
    sourceTag: 'calc',
    cautions: [...(Math.min(atMetres, toMetres) < NEAR_M ? [NEAR] : []), ONLY_POINT, MEASURE],
  });
}

/** Distance in metres at which the rate has fallen, or risen, to `wanted`. Rates above 0 to 10^12, in any rate unit. */
export function distanceToRate(question: { rate: DoseRate; atMetres: number; wanted: DoseRate }): Answer {
  const { rate, atMetres, wanted } = question;
  const inputs = [rateInput('Dose rate', rate), metres('Measured at', atMetres), rateInput('Wanted', wanted)] as const;
  const refusal = firstRefusal(
    outOfRange(inputs[0], { from: 0, to: 1e12, above: true }),
    distanceRefusal(inputs[1]),
    outOfRange(inputs[2], { from: 0, to: 1e12, above: true }),
  );
  if (refusal) return refusal;
  const distance = atMetres * Math.sqrt(inMilliRoentgen(rate) / inMilliRoentgen(wanted));
  return worked({
    value: distance,
    unit: 'm',
    estimate: true,
    rounding: { figures: 2, towards: 'up' },
    formula: 'Measured at × √(dose rate ÷ wanted)',
    inputs,
    source: SOURCE,
    sourceTag: 'calc',
    cautions: [...(Math.min(distance, atMetres) < NEAR_M ? [NEAR] : []), ONLY_POINT, MEASURE],
  });
}

function rateInput(name: string, { value, unit }: DoseRate): Input {
  return { name, value, unit: doseUnitText(unit) };
}

function metres(name: string, value: number): Input {
  return { name, value, unit: 'm' };
}

function distanceRefusal(input: Input) {
  return outOfRange(input, { from: 0, to: 10_000, above: true });
}
