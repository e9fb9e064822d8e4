/**
 * How long somebody may stay until a dose limit, with the dose of the way out already taken off. Never negative; at or
 * below background the dose rate is not what limits the stay.
 */
import { shiftDecimal } from './canonical.ts';
import { type Dose, type DoseRate, doseUnitText, inMilliRoentgen } from './dose.ts';
import { firstRefusal, type Input, outOfRange, type Refusal, type Spoken, type Worked, worked } from './worked.ts';

export type StayQuestion = {
  /** The agency's limit, above 0. */
  readonly limit: Dose;
  /** What this person has already taken, background included; 0 or more. */
  readonly accumulated: Dose;
  /** Where they stay; 0 or more. */
  readonly rate: DoseRate;
  /** What the way out will cost; null where nobody said, which the answer then says. */
  readonly exitDose: Dose | null;
  readonly background: DoseRate;
};

const SOURCE = 'Arithmetic: what is left of the limit, divided by the rate';
const FORMULA = '(Limit − accumulated − dose of the way out) ÷ dose rate × 60';
const NO_EXIT = 'The way out is not in it: whoever leaves at this time goes over the limit on the way.';
const STEADY = 'At a steady rate. One step can change it: watch the rate and the dose as well as the clock.';
const LIMIT = 'The limit is your agency’s. It is not a dose that is safe to take.';

/**
 * Minutes until the way out must begin; 0 where the limit is used up; `not-limiting` in words at or below background.
 * Units may be mixed, by the field equivalence. Refused: anything negative or over 10^12, a limit of 0.
 */
export function stayTime(question: StayQuestion): Worked | Spoken | Refusal {
  const { limit, accumulated, rate, exitDose, background } = question;
  const exit = exitDose === null ? [] : [doseInput('Dose of the way out', exitDose)];
  const inputs = [
    doseInput('Limit', limit),
    doseInput('Accumulated', accumulated),
    doseInput('Dose rate', rate),
    ...exit,
    doseInput('Background', background),
  ];
  const refusal = firstRefusal(
    ...inputs.map((input) => outOfRange(input, { from: 0, to: 1e12, above: input.name === 'Limit' })),
  );
  if (refusal) return refusal;

  const left = inMilliRoentgen(limit) - inMilliRoentgen(accumulated) - (exitDose ? inMilliRoentgen(exitDose) : 0);
  const working = { formula: FORMULA, inputs, source: SOURCE, sourceTag: 'calc' } as const;
  const cautions = [...(exitDose === null ? [NO_EXIT] : []), STEADY, LIMIT];
  // Before the rate is looked at: a limit that is used up governs even at background.
  if (left <= 0) {
    return worked({
      value: 0,
      unit: 'min',
      ...working,
      cautions: ['The limit is used up: no time is left.', ...cautions],
    });
  }
  if (inMilliRoentgen(rate) <= inMilliRoentgen(background)) {
    const words = 'Not limiting: the dose rate is at or below background. Something else governs the stay.';
    return { ok: true, value: null, code: 'not-limiting', words, ...working, cautions: [LIMIT] };
  }
  const value = (left / inMilliRoentgen(rate)) * 60;
  return worked({ value, unit: 'min', rounding: { figures: 3, towards: 'down' }, ...working, cautions });
}

/** Dose of a way out of `minutes` (0 to 1,440) at a mean rate, in mR by the field equivalence; for `StayQuestion`. */
export function wayOutDose({ meanRate, minutes }: { meanRate: DoseRate; minutes: number }): Dose | Refusal {
  const refusal = firstRefusal(
    outOfRange(doseInput('Mean rate on the way out', meanRate), { from: 0, to: 1e12 }),
    outOfRange({ name: 'Way out', value: minutes, unit: 'min' }, { from: 0, to: 1440 }),
  );
  if (refusal) return refusal;
  const micro = (shiftDecimal(inMilliRoentgen(meanRate), 3) * minutes) / 60;
  return { value: shiftDecimal(micro, -3), unit: 'mR' };
}

function doseInput(name: string, { value, unit }: Dose | DoseRate): Input {
  return { name, value, unit: doseUnitText(unit) };
}
