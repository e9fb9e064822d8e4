/** What stands in a form, and where a value that was filled in comes from. */
import type { ChoiceField, Values } from './calculation.ts';

export type Sheet = {
  readonly values: Values;
  /** By field, for those that a choice filled in and nobody has typed over. */
  readonly origins: Readonly<Record<string, string>>;
};

export function startSheet(values: Values): Sheet {
  return { values, origins: {} };
}

/** Somebody types: the value is theirs now, and what stood beside it no longer says where it comes from. */
export function typeInto(sheet: Sheet, name: string, text: string): Sheet {
  const { [name]: _gone, ...origins } = sheet.origins;
  return { values: { ...sheet.values, [name]: text }, origins };
}

/**
 * Somebody chooses. What the choice knows is filled in; what an earlier choice filled in goes, so that no value of one
 * substance stays beside the name of another.
 */
export function chooseIn(sheet: Sheet, field: ChoiceField, value: string): Sheet {
  const values: Record<string, string> = { ...sheet.values, [field.name]: value };
  if (!field.fill) return { ...sheet, values };
  for (const name of Object.keys(sheet.origins)) values[name] = '';
  const origins: Record<string, string> = {};
  for (const filling of field.fill(value)) {
    values[filling.field] = filling.text;
    origins[filling.field] = filling.origin;
  }
  return { values, origins };
}
