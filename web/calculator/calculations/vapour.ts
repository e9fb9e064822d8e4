import { LAMPS_EV, lampSees, pidAmount } from '../../../shared/quantity/pid.ts';
import {
  type MixturePart,
  mixtureFactor,
  mixtureLimit,
  mixtureSetPoint,
} from '../../../shared/quantity/pid-mixture.ts';
import { refuse } from '../../../shared/quantity/worked.ts';
import { type Calculation, type Entered, type Field, oneOf, type Result, type Values } from '../calculation.ts';
import { substanceFor } from '../substance-choice.ts';

export const pidReading: Calculation = {
  id: 'pid-reading',
  name: 'PID reading of a known vapour',
  words: 'A photo-ionisation reading in isobutylene units, turned into the substance. The factor is applied once.',
  fields: [
    {
      kind: 'number',
      name: 'reading',
      label: 'Reading',
      unit: [
        { value: 'ppm', label: 'ppm' },
        { value: 'ppb', label: 'ppb' },
      ],
    },
    {
      kind: 'number',
      name: 'factor',
      label: 'Correction factor',
      unit: 'no unit',
      hint: 'From the instrument’s own list, for its lamp.',
    },
    {
      kind: 'choice',
      name: 'appliedBy',
      label: 'What the instrument is set to',
      initial: 'nobody',
      options: [
        { value: 'nobody', label: 'Isobutylene: no factor applied yet' },
        { value: 'instrument', label: 'This substance: the factor is applied already' },
      ],
    },
  ],
  answer(entered) {
    const reading = entered.number('reading') / (entered.choice('readingUnit') === 'ppb' ? 1000 : 1);
    const appliedBy = oneOf(['nobody', 'instrument'], entered.choice('appliedBy'));
    return [
      { label: 'Amount of the substance', answer: pidAmount({ reading, factor: entered.number('factor'), appliedBy }) },
    ];
  },
};

const PARTS = [1, 2, 3, 4] as const;

function partFields(part: number): Field[] {
  const needed = part === 1 ? {} : { optional: true as const };
  const shownWhen = (values: Values) => part <= 2 || begun(values, part) || begun(values, part - 1);
  return [
    {
      kind: 'number',
      name: `fraction${part}`,
      label: `Part ${part}: fraction`,
      unit: 'of the vapour',
      ...needed,
      shownWhen,
    },
    {
      kind: 'number',
      name: `factor${part}`,
      label: `Part ${part}: correction factor`,
      unit: 'no unit',
      ...needed,
      shownWhen,
    },
    { kind: 'number', name: `limit${part}`, label: `Part ${part}: limit`, unit: 'ppm', optional: true, shownWhen },
  ];
}

/** A further part is offered once the one before it is begun: four at once are a wall of empty fields. */
function begun(values: Values, part: number): boolean {
  return [`fraction${part}`, `factor${part}`, `limit${part}`].some((name) => (values[name] ?? '') !== '');
}

export const mixture: Calculation = {
  id: 'mixture',
  name: 'PID and a mixture',
  words: 'Factor, limit and set-point of a mixture of up to four vapours. Fractions of the vapour add up to 1.',
  fields: [
    { kind: 'number', name: 'reading', label: 'Reading', unit: 'ppm isobutylene', optional: true },
    ...PARTS.flatMap(partFields),
  ],
  answer(entered): readonly Result[] {
    const parts: Pick<MixturePart, 'fraction' | 'factor'>[] = [];
    const limited: MixturePart[] = [];
    for (const number of PARTS) {
      const part = partOf(entered, number);
      if (part === null) continue;
      if (part === 'half') {
        const message = `Part ${number} needs both a fraction and a correction factor.`;
        return [{ label: 'Mixture', answer: refuse('missing', message) }];
      }
      parts.push(part);
      if (part.limit !== null) limited.push({ ...part, limit: part.limit });
    }
    const factor = mixtureFactor(parts);
    const reading = entered.optional('reading');
    return [
      { label: 'Correction factor of the mixture', answer: factor },
      ...(factor.ok && reading !== null
        ? [{ label: 'All vapours together', answer: pidAmount({ reading, factor: factor.value, appliedBy: 'nobody' }) }]
        : []),
      ...limitResults(parts.length, limited),
    ];
  },
};

/** A part left out altogether is none; a limit left out of one part leaves the mixture without a limit. */
function limitResults(count: number, limited: readonly MixturePart[]): Result[] {
  if (limited.length === 0) return [];
  if (limited.length < count) {
    return [{ label: 'Limit of the mixture', answer: refuse('missing', 'A limit is needed for every part.') }];
  }
  return [
    { label: 'Limit of the mixture', answer: mixtureLimit(limited) },
    { label: 'Set-point in isobutylene units', answer: mixtureSetPoint(limited) },
  ];
}

function partOf(entered: Entered, number: number) {
  const fraction = entered.optional(`fraction${number}`);
  const factor = entered.optional(`factor${number}`);
  const limit = entered.optional(`limit${number}`);
  if (fraction === null && factor === null && limit === null) return null;
  if (fraction === null || factor === null) return 'half' as const;
  return { fraction, factor, limit };
}

export const lamp: Calculation = {
  id: 'lamp',
  name: 'PID lamp and substance',
  words: 'Whether a lamp can ionise a substance at all. Where it cannot, a reading of 0 means nothing.',
  fields: [
    substanceFor('ionisation', (substance) => substance.ionisationEv),
    { kind: 'number', name: 'ionisation', label: 'Ionisation energy', unit: 'eV' },
    {
      kind: 'choice',
      name: 'lamp',
      label: 'Lamp',
      initial: '10.6',
      options: LAMPS_EV.map((energy) => ({ value: String(energy), label: `${energy} eV` })),
    },
  ],
  answer: (entered) => [
    {
      label: 'Can it be detected?',
      answer: lampSees({ ionisationEv: entered.number('ionisation'), lampEv: Number(entered.choice('lamp')) }),
    },
  ],
};
