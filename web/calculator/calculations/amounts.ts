import { AMOUNT_UNITS, convertAmount } from '../../../shared/quantity/amount.ts';
import { unitText } from '../../../shared/quantity/display.ts';
import { type Calculation, oneOf } from '../calculation.ts';
import { substanceFor } from '../substance-choice.ts';

export const AMOUNT_OPTIONS = AMOUNT_UNITS.map((value) => ({ value, label: unitText(value) }));

export const amounts: Calculation = {
  id: 'amounts',
  name: 'Amounts in air',
  words: 'Percent by volume, parts per million and per billion, and milligrams in a cubic metre.',
  fields: [
    { kind: 'number', name: 'amount', label: 'Amount', unit: AMOUNT_OPTIONS, initialUnit: 'ppm' },
    substanceFor('molarMass', (substance) => substance.molarMass),
    {
      kind: 'number',
      name: 'molarMass',
      label: 'Molar mass',
      unit: 'g/mol',
      optional: true,
      hint: 'Needed for mg/m³ alone.',
    },
    { kind: 'number', name: 'temperature', label: 'Temperature', unit: '°C', initial: '25' },
    {
      kind: 'number',
      name: 'pressure',
      label: 'Air pressure at the place',
      unit: 'kPa',
      initial: '101.325',
      hint: 'Not brought to sea level. 1013 hPa is 101.3 kPa.',
    },
    {
      kind: 'choice',
      name: 'basis',
      label: 'Molar volume',
      initial: 'exact',
      options: [
        { value: 'exact', label: 'Exact, R·T/P' },
        { value: 'convention', label: 'Convention of exposure limits, 24.45 L/mol at 25 °C' },
      ],
    },
  ],
  answer(entered) {
    const from = oneOf(AMOUNT_UNITS, entered.choice('amountUnit'));
    const air = {
      temperatureC: entered.number('temperature'),
      pressureKPa: entered.number('pressure'),
      basis: oneOf(['exact', 'convention'], entered.choice('basis')),
    };
    return AMOUNT_UNITS.filter((to) => to !== from).map((to) => ({
      label: `In ${unitText(to)}`,
      answer: convertAmount({
        value: entered.number('amount'),
        from,
        to,
        molarMass: entered.optional('molarMass'),
        air,
      }),
    }));
  },
};
