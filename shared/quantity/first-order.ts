/**
 * How late a reading is: a sensor's first-order response by its T90, and the time that air takes through a sampling line.
 * shown = truth × (1 − e^(−t/τ)), τ = T90 ÷ ln 10.
 */
import { type Answer, firstRefusal, type Input, outOfRange, worked } from './worked.ts';

/** Time constant in seconds of a sensor that shows 90 % after `t90S` (above 0 to 3600 s). Source: first-order response. */
export function timeConstant({ t90S }: { t90S: number }): Answer {
  const input = t90Input(t90S);
  const refusal = t90Refusal(input);
  if (refusal) return refusal;
  return worked({
    value: t90S / Math.LN10,
    unit: 's',
    formula: 'T90 ÷ ln 10',
    inputs: [input],
    source: 'First-order response',
    sourceTag: 'calc',
  });
}

/** Share of the truth in % that is shown `elapsedS` (0 to 86,400 s) after the air changed. `t90S` above 0 to 3600. */
export function shareShown({ t90S, elapsedS }: { t90S: number; elapsedS: number }): Answer {
  const inputs = [t90Input(t90S), { name: 'Time in this air', value: elapsedS, unit: 's' }] as const;
  const refusal = firstRefusal(t90Refusal(inputs[0]), outOfRange(inputs[1], { from: 0, to: 86_400 }));
  if (refusal) return refusal;
  return worked({
    // −expm1 keeps the small shares exact; the power of ten is the same as e^(−t/τ).
    value: -100 * Math.expm1((-elapsedS * Math.LN10) / t90S),
    unit: '% of the truth',
    estimate: true,
    rounding: { figures: 2, towards: 'down' },
    formula: '100 × (1 − e^(−time in this air × ln 10 ÷ T90))',
    inputs,
    source: 'First-order response to a step, T90 as the instrument’s papers give it',
    sourceTag: 'calc',
    cautions: [
      'A T90 is measured warm and clean; cold, a wet filter or an old sensor is slower.',
      'Do not divide a short reading by this share: stay until it stands still.',
    ],
  });
}

export type Line = {
  /** Inner diameter, mm, above 0 to 50. */
  readonly diameterMm: number;
  /** m, 0 to 500. */
  readonly lengthM: number;
  /** mL/min, above 0 to 100,000. */
  readonly flowMlPerMin: number;
};

/** Seconds that air takes through a sampling line: volume ÷ flow. Refused outside the ranges of `Line`. */
export function lineLag({ diameterMm, lengthM, flowMlPerMin }: Line): Answer {
  const inputs = [
    { name: 'Inner diameter', value: diameterMm, unit: 'mm' },
    { name: 'Length', value: lengthM, unit: 'm' },
    { name: 'Flow', value: flowMlPerMin, unit: 'mL/min' },
  ] as const;
  const refusal = firstRefusal(
    outOfRange(inputs[0], { from: 0, to: 50, above: true }),
    outOfRange(inputs[1], { from: 0, to: 500 }),
    outOfRange(inputs[2], { from: 0, to: 100_000, above: true }),
  );
  if (refusal) return refusal;
  // mm² × m is mL.
  const volumeMl = (Math.PI * diameterMm ** 2 * lengthM) / 4;
  return worked({
    value: (volumeMl / flowMlPerMin) * 60,
    unit: 's',
    rounding: { figures: 3, towards: 'up' },
    formula: 'π × diameter² × length ÷ 4 ÷ flow',
    inputs: [...inputs, { name: 'Volume of the line', value: volumeMl, unit: 'mL' }],
    source: 'Volume of a cylinder, plug flow',
    sourceTag: 'calc',
    cautions: [
      'What is read now entered the line this long ago, where its end was then.',
      'Sticky vapours and water in the line take longer; a kinked line may give nothing.',
    ],
  });
}

/** Seconds to wait at one place for 99 %: line lag + 2 × T90. `lagS` 0 to 86,400, `t90S` above 0 to 3600. */
export function waitFor99({ lagS, t90S }: { lagS: number; t90S: number }): Answer {
  const inputs = [{ name: 'Line lag', value: lagS, unit: 's' }, t90Input(t90S)] as const;
  const refusal = firstRefusal(outOfRange(inputs[0], { from: 0, to: 86_400 }), t90Refusal(inputs[1]));
  if (refusal) return refusal;
  return worked({
    value: lagS + 2 * t90S,
    unit: 's',
    rounding: { figures: 3, towards: 'up' },
    formula: 'Line lag + 2 × T90',
    inputs,
    source: 'First-order response: twice T90 shows 99 %',
    sourceTag: 'calc',
    cautions: ['At least: no reading counts as settled before.'],
  });
}

function t90Input(t90S: number): Input {
  return { name: 'T90', value: t90S, unit: 's' };
}

function t90Refusal(input: Input) {
  return outOfRange(input, { from: 0, to: 3600, above: true });
}
