/** What a calculation of the calculator is: its fields, and what it answers to what was typed. Nothing here draws. */
import type { Refusal, Spoken, Worked } from '../../shared/quantity/worked.ts';
import { readNumber } from './read-number.ts';

export type Option = { readonly value: string; readonly label: string };

/** A value that a choice fills into a field, and where it comes from. */
export type Filling = { readonly field: string; readonly text: string; readonly origin: string };

type Named = {
  readonly name: string;
  readonly label: string;
  readonly hint?: string;
  /** Absent: always. A field that holds something must stay shown, or it would count without being seen. */
  readonly shownWhen?: (values: Values) => boolean;
};
export type NumberField = Named & {
  readonly kind: 'number';
  /** Written beside the field; or a choice of its own, which the field `name` + "Unit" holds. */
  readonly unit: string | readonly Option[];
  readonly initial?: string;
  readonly initialUnit?: string;
  /** May be left empty; it then counts as not given, never as 0. */
  readonly optional?: true;
};
export type ChoiceField = Named & {
  readonly kind: 'choice';
  readonly options: readonly Option[];
  readonly initial: string;
  /** What choosing `value` fills in. */
  readonly fill?: (value: string) => readonly Filling[];
};
export type Field = NumberField | ChoiceField;

export type Result = {
  readonly label: string;
  readonly answer: Worked | Spoken | Refusal;
  /** The same answer in other words, beside it. */
  readonly beside?: string;
};

/** What was typed, read; asking for a field that the calculation does not have is a mistake of the program. */
export type Entered = {
  number(name: string): number;
  optional(name: string): number | null;
  choice(name: string): string;
};

export type Calculation = {
  readonly id: string;
  readonly name: string;
  readonly words: string;
  readonly fields: readonly Field[];
  readonly answer: (entered: Entered) => readonly Result[];
};

/** Text of every field and unit, by name. */
export type Values = Readonly<Record<string, string>>;

export type Solved = {
  readonly results: readonly Result[];
  /** Labels of the fields that are still empty. */
  readonly waiting: readonly string[];
  /** What is wrong with a field, by its name. */
  readonly wrong: Readonly<Record<string, string>>;
};

/** The fields as they stand before anybody types. */
export function initialValues(calculation: Calculation): Values {
  const values: Record<string, string> = {};
  for (const field of calculation.fields) {
    values[field.name] = field.initial ?? '';
    if (field.kind === 'number' && typeof field.unit !== 'string') {
      values[unitName(field)] = field.initialUnit ?? field.unit[0]?.value ?? '';
    }
  }
  return values;
}

/** Name under which a field's chosen unit is kept. */
export function unitName(field: Pick<Field, 'name'>): string {
  return `${field.name}Unit`;
}

/** Answers once every field that is needed holds a number; before that, what is missing or wrong. */
export function solve(calculation: Calculation, values: Values): Solved {
  const numbers = new Map<string, number>();
  const waiting: string[] = [];
  const wrong: Record<string, string> = {};
  for (const field of calculation.fields) {
    if (field.kind !== 'number') continue;
    const read = readNumber(values[field.name] ?? '');
    if (read.ok) numbers.set(field.name, read.value);
    else if (read.code !== 'empty') wrong[field.name] = read.message;
    else if (!field.optional) waiting.push(field.label);
  }
  if (waiting.length > 0 || Object.keys(wrong).length > 0) return { results: [], waiting, wrong };
  return { results: calculation.answer(enteredOf(calculation, numbers, values)), waiting, wrong };
}

function enteredOf(calculation: Calculation, numbers: ReadonlyMap<string, number>, values: Values): Entered {
  const unknown = (name: string) => new Error(`${calculation.id} has no field ${name}`);
  return {
    number(name) {
      const value = numbers.get(name);
      if (value === undefined) throw unknown(name);
      return value;
    },
    optional: (name) => numbers.get(name) ?? null,
    choice(name) {
      const value = values[name];
      if (value === undefined) throw unknown(name);
      return value;
    },
  };
}

/** The member of `all` that `text` is; the page offers no other, so another is a mistake of the program. */
export function oneOf<T extends string>(all: readonly T[], text: string): T {
  const found = all.find((one) => one === text);
  if (found === undefined) throw new Error(`${text} is not one of ${all.join(', ')}`);
  return found;
}
