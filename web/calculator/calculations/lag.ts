import { lineLag, shareShown, waitFor99 } from '../../../shared/quantity/first-order.ts';
import type { Calculation } from '../calculation.ts';

export const sensorLag: Calculation = {
  id: 'sensor-lag',
  name: 'How much a sensor shows yet',
  words: 'The share of the truth that a sensor shows some seconds after the air changed.',
  fields: [
    { kind: 'number', name: 't90', label: 'T90 of the sensor', unit: 's', initial: '30' },
    { kind: 'number', name: 'elapsed', label: 'Time in this air', unit: 's' },
  ],
  answer: (entered) => [
    {
      label: 'Shown so far',
      answer: shareShown({ t90S: entered.number('t90'), elapsedS: entered.number('elapsed') }),
    },
  ],
};

export const line: Calculation = {
  id: 'line',
  name: 'Sampling line',
  words: 'How long air takes through a line, and how long to wait at one place.',
  fields: [
    { kind: 'number', name: 'diameter', label: 'Inner diameter', unit: 'mm' },
    { kind: 'number', name: 'length', label: 'Length', unit: 'm' },
    { kind: 'number', name: 'flow', label: 'Flow of the pump', unit: 'mL/min' },
    { kind: 'number', name: 't90', label: 'T90 of the sensor', unit: 's', initial: '30', optional: true },
  ],
  answer(entered) {
    const lag = lineLag({
      diameterMm: entered.number('diameter'),
      lengthM: entered.number('length'),
      flowMlPerMin: entered.number('flow'),
    });
    const t90S = entered.optional('t90');
    return [
      { label: 'Line lag', answer: lag },
      ...(lag.ok && t90S !== null
        ? [{ label: 'Wait at one place at least', answer: waitFor99({ lagS: lag.value, t90S }) }]
        : []),
    ];
  },
};
