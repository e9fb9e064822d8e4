import { DOSE_UNITS, type Dose, type DoseRate, RATE_UNITS } from '../../../shared/quantity/dose.ts';
import { stayTime, wayOutDose } from '../../../shared/quantity/stay-time.ts';
import { type Refusal, refuse } from '../../../shared/quantity/worked.ts';
import { type Calculation, type Entered, oneOf, type Result } from '../calculation.ts';
import { rounded } from '../figures.ts';
import { DOSE_OPTIONS, enteredRate, RATE_OPTIONS } from './radiation.ts';

export const stay: Calculation = {
  id: 'stay',
  name: 'Stay time',
  words: 'Minutes until the way out must begin, so that a dose limit is kept.',
  fields: [
    { kind: 'number', name: 'limit', label: 'Dose limit of your agency', unit: DOSE_OPTIONS, initialUnit: 'rem' },
    {
      kind: 'number',
      name: 'accumulated',
      label: 'Dose taken so far',
      unit: DOSE_OPTIONS,
      initialUnit: 'mrem',
      hint: 'Background counts too.',
    },
    { kind: 'number', name: 'rate', label: 'Dose rate where they are', unit: RATE_OPTIONS, initialUnit: 'mR/h' },
    { kind: 'number', name: 'exitMinutes', label: 'Way out', unit: 'min', optional: true },
    {
      kind: 'number',
      name: 'exitRate',
      label: 'Mean dose rate on the way out',
      unit: RATE_OPTIONS,
      initialUnit: 'mR/h',
      optional: true,
    },
    {
      kind: 'number',
      name: 'background',
      label: 'Background',
      unit: RATE_OPTIONS,
      initialUnit: 'uR/h',
      initial: '7',
      hint: '7 µR/h is assumed until it was taken here: common practice, no source.',
    },
  ],
  answer(entered): readonly Result[] {
    const exit = exitOf(entered);
    if (exit !== null && 'ok' in exit) return [{ label: 'Stay time', answer: exit }];
    const answer = stayTime({
      limit: enteredDose(entered, 'limit'),
      accumulated: enteredDose(entered, 'accumulated'),
      rate: enteredRate(entered, 'rate'),
      exitDose: exit,
      background: enteredRate(entered, 'background'),
    });
    const beside = answer.ok && answer.value !== null ? minuteWords(rounded(answer.value, answer.rounding)) : null;
    return [{ label: 'Leave within', answer, ...(beside === null ? {} : { beside }) }];
  },
};

function enteredDose(entered: Entered, name: string): Dose {
  return { value: entered.number(name), unit: oneOf(DOSE_UNITS, entered.choice(`${name}Unit`)) };
}

/** Half of a way out is no way out: both its fields, or neither. */
function exitOf(entered: Entered): Dose | Refusal | null {
  const minutes = entered.optional('exitMinutes');
  const value = entered.optional('exitRate');
  if (minutes === null && value === null) return null;
  if (minutes === null) return refuse('missing', 'The way out needs its minutes as well as its dose rate.');
  if (value === null) return refuse('missing', 'The way out needs its mean dose rate as well as its minutes.');
  const meanRate: DoseRate = { value, unit: oneOf(RATE_UNITS, entered.choice('exitRateUnit')) };
  return wayOutDose({ meanRate, minutes });
}

/** "4 h 10 min" from an hour on; null below, where the minutes already say it; LEAVE NOW at none. */
export function minuteWords(minutes: number): string | null {
  if (minutes < 1) return 'LEAVE NOW';
  if (minutes < 60) return null;
  return `${Math.floor(minutes / 60)} h ${Math.floor(minutes % 60)} min`;
}
