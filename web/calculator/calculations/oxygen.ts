import { dampAirOxygen, displacedAmount, oxygenLeft } from '../../../shared/quantity/displacement.ts';
import type { Calculation } from '../calculation.ts';

export const oxygen: Calculation = {
  id: 'oxygen',
  name: 'Oxygen displaced',
  words: 'How much of something else may be in the air when oxygen is low. An estimate: other causes look the same.',
  fields: [
    { kind: 'number', name: 'oxygen', label: 'Oxygen', unit: '%vol' },
    {
      kind: 'number',
      name: 'baseline',
      label: 'Oxygen in clean air',
      unit: '%vol',
      initial: '20.9',
      hint: 'What this monitor showed in clean air; 20.9 is common practice, dry air has 20.946.',
    },
  ],
  answer: (entered) => [
    {
      label: 'Displacing gas',
      answer: displacedAmount({ oxygen: entered.number('oxygen'), baseline: entered.number('baseline') }),
      beside: 'if displaced; warm damp air alone can do this',
    },
  ],
};

export const oxygenRemaining: Calculation = {
  id: 'oxygen-left',
  name: 'Oxygen left',
  words: 'What is left of the oxygen where a gas without oxygen takes part of the air.',
  fields: [
    { kind: 'number', name: 'gas', label: 'Displacing gas', unit: 'ppm' },
    { kind: 'number', name: 'baseline', label: 'Oxygen in clean air', unit: '%vol', initial: '20.9' },
  ],
  answer: (entered) => [
    {
      label: 'Oxygen left',
      answer: oxygenLeft({ displacing: entered.number('gas'), baseline: entered.number('baseline') }),
    },
  ],
};

export const dampAir: Calculation = {
  id: 'damp-air',
  name: 'Oxygen in damp air',
  words: 'What clean air holds of oxygen once water vapour has its share: a drop without any other gas.',
  fields: [
    { kind: 'number', name: 'temperature', label: 'Temperature', unit: '°C', initial: '30' },
    { kind: 'number', name: 'humidity', label: 'Relative humidity', unit: '%', initial: '100' },
    { kind: 'number', name: 'pressure', label: 'Air pressure at the place', unit: 'kPa', initial: '101.325' },
  ],
  answer: (entered) => [
    {
      label: 'Oxygen in clean damp air',
      answer: dampAirOxygen({
        temperatureC: entered.number('temperature'),
        humidity: entered.number('humidity'),
        pressureKPa: entered.number('pressure'),
      }),
    },
  ],
};
