import { PARTS_UNITS } from '../../../shared/quantity/amount.ts';
import { amountAtLel, combustibleInGas, percentLel } from '../../../shared/quantity/combustible.ts';
import type { Answer } from '../../../shared/quantity/worked.ts';
import { type Calculation, oneOf, type Result } from '../calculation.ts';
import { figures, rounded } from '../figures.ts';
import { chosenLel, substanceOnLel, tagWords } from '../substance-choice.ts';

const UNITS = ['%LEL', ...PARTS_UNITS] as const;

export const explosiveLimit: Calculation = {
  id: 'explosive-limit',
  name: 'Share of the explosive limit',
  words: '%LEL against the amount in air, on a stated lower explosive limit.',
  fields: [
    {
      kind: 'number',
      name: 'amount',
      label: 'Reading or amount',
      unit: UNITS.map((value) => ({ value, label: value })),
    },
    substanceOnLel('lel'),
    {
      kind: 'number',
      name: 'lel',
      label: 'Lower explosive limit',
      unit: '%vol',
      hint: 'The one that the monitor is set to. Lists differ.',
    },
  ],
  answer(entered) {
    const value = entered.number('amount');
    const from = oneOf(UNITS, entered.choice('amountUnit'));
    const lelVolPercent = entered.number('lel');
    const chosen = entered.choice('substance');
    const share: Answer =
      from === '%LEL'
        ? amountAtLel({ percent: value, to: '%vol', lelVolPercent })
        : percentLel({ value, unit: from, lelVolPercent });
    if (!share.ok) return [{ label: 'Answer', answer: share }];
    const percent = from === '%LEL' ? value : share.value;
    const amountIn = (to: 'ppm' | '%vol') => amountAtLel({ percent, to, lelVolPercent });
    return [
      ...(from === '%LEL' ? [] : [{ label: 'Share of the explosive limit', answer: share }]),
      ...(from === '%vol' ? [] : [{ label: 'In %vol', answer: amountIn('%vol') }]),
      ...(from === 'ppm' ? [] : [{ label: 'In ppm', answer: amountIn('ppm') }]),
      ...otherBases(chosen, (percent * lelVolPercent) / 100, lelVolPercent),
    ].map((result) => ({ ...result, ...idlhBeside(chosen, result.answer) }));
  },
};

/** The same air on the other limits that lists give this substance. */
function otherBases(chosen: string, volPercent: number, lelVolPercent: number): Result[] {
  const lists = chosenLel(chosen)?.substance.lel ?? [];
  return lists
    .filter(({ value }) => value !== lelVolPercent)
    .map(({ value, basis }) => ({
      label: `The same air on ${value} %vol (${basis})`,
      answer: percentLel({ value: volPercent, unit: '%vol', lelVolPercent: value }),
    }));
}

/** A low share of the explosive limit may be far over what is dangerous to breathe: said where it is known. */
function idlhBeside(chosen: string, answer: Result['answer']): Pick<Result, 'beside'> {
  const idlh = chosenLel(chosen)?.substance.idlh[0];
  if (!idlh || !answer.ok || answer.value === null) return {};
  if (answer.unit !== 'ppm' || answer.value <= idlh.value) return {};
  const times = figures(rounded(answer.value / idlh.value, { figures: 2, towards: 'nearest' }));
  return { beside: `about ${times} × its IDLH of ${figures(idlh.value)} ppm (${tagWords(idlh.tag)})` };
}

export const otherGas: Calculation = {
  id: 'other-gas',
  name: 'Combustible reading in another gas',
  words: 'A sensor calibrated to one gas and held in another, by the factor from the sensor’s own list.',
  fields: [
    { kind: 'number', name: 'reading', label: 'Reading', unit: '%LEL' },
    {
      kind: 'number',
      name: 'factor',
      label: 'Correction factor',
      unit: 'no unit',
      hint: 'Of this sensor and this gas.',
    },
  ],
  answer: (entered) => [
    {
      label: 'In the other gas',
      answer: combustibleInGas({ reading: entered.number('reading'), factor: entered.number('factor') }),
    },
  ],
};
