/** The choice of a substance that fills in what is known of it, with where that comes from. */
import { type Fact, findSubstance, SUBSTANCES, type Substance } from '../../shared/quantity/substances.ts';
import type { SourceTag } from '../../shared/quantity/worked.ts';
import type { ChoiceField, Filling } from './calculation.ts';

const NONE = { value: '', label: 'None: type the values' };

const TAG_WORDS: Readonly<Record<SourceTag, string>> = {
  seen: 'seen in the source',
  'seen-copy': 'seen in a copy',
  calc: 'calculated',
  memory: 'from memory: verify before use',
  'common practice': 'common practice, no source',
};

/** How sure a source is, in words. */
export function tagWords(tag: SourceTag): string {
  return TAG_WORDS[tag];
}

/** "NIOSH Pocket Guide (seen in the source)". */
export function originWords({ source, tag }: Pick<Fact, 'source' | 'tag'>): string {
  return `${source} (${tagWords(tag)})`;
}

/** A substance that fills one fact of its own into `field`; those without it are not offered. */
export function substanceFor(field: string, of: (substance: Substance) => Fact | undefined): ChoiceField {
  const known = SUBSTANCES.filter((substance) => of(substance) !== undefined);
  return {
    kind: 'choice',
    name: 'substance',
    label: 'Substance',
    initial: '',
    options: [NONE, ...known.map(({ name }) => ({ value: name, label: name }))],
    fill(value) {
      const substance = findSubstance(value);
      const fact = substance === null ? undefined : of(substance);
      return fact === undefined ? [] : [filling(field, fact)];
    },
  };
}

/** A substance on each of the lower explosive limits that lists give it, which fills the limit into `field`. */
export function substanceOnLel(field: string): ChoiceField {
  const options = SUBSTANCES.flatMap(({ name, lel }) =>
    lel.map(({ value, basis }, index) => ({ value: `${name}/${index}`, label: `${name}, ${value} %vol (${basis})` })),
  );
  return {
    kind: 'choice',
    name: 'substance',
    label: 'Substance and list',
    initial: '',
    options: [NONE, ...options],
    fill(value) {
      const chosen = chosenLel(value);
      return chosen === null ? [] : [filling(field, chosen.fact)];
    },
  };
}

/** What a value of `substanceOnLel` stands for, or null for none. */
export function chosenLel(value: string): { substance: Substance; fact: Substance['lel'][number] } | null {
  const [name = '', index = ''] = value.split('/');
  const substance = findSubstance(name);
  const fact = substance?.lel[Number(index)];
  return substance && fact ? { substance, fact } : null;
}

function filling(field: string, fact: Fact): Filling {
  return { field, text: String(fact.value), origin: originWords(fact) };
}
