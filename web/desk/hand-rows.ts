/** Which monitors there are to hand out, and who has each. Pure. */
import type { BoardHead } from '../../shared/protocol/board.ts';

export type Person = BoardHead['people'][number];
export type HandRow = { readonly id: string; readonly heard: boolean; readonly holder: Person | null };

const byName = new Intl.Collator('en', { numeric: true, sensitivity: 'base' }).compare;

/** Heard ones and those that were handed out without having been heard, by id: a row never moves by itself. */
export function handRows(heard: readonly string[], people: readonly Person[]): HandRow[] {
  const holders = new Map<string, Person>();
  for (const person of people) if (person.monitor !== undefined) holders.set(person.monitor, person);
  const ids = new Set([...heard, ...holders.keys()]);
  const known = new Set(heard);
  return [...ids]
    .sort((a, b) => byName(a, b) || (a < b ? -1 : 1))
    .map((id) => ({ id, heard: known.has(id), holder: holders.get(id) ?? null }));
}

const ROLE_ORDER = ['entry', 'backup', 'decontamination', 'perimeter'];

/** Entry before backup, decontamination and perimeter, as on the board; within, by team and call sign. */
export function inTeamOrder(people: readonly Person[]): Person[] {
  const rank = ({ role }: Person) => {
    const at = role === undefined ? -1 : ROLE_ORDER.indexOf(role);
    return at === -1 ? ROLE_ORDER.length : at;
  };
  return [...people].sort((a, b) => rank(a) - rank(b) || byName(a.team ?? '', b.team ?? '') || byName(a.name, b.name));
}

/** "E1-A, Entry 1, entry". */
export function personWords(person: Person): string {
  return [person.name, person.team, person.role].filter((word) => word !== undefined).join(', ');
}

/** What handing `monitor` to `entrant` would take from whom; empty where it takes nothing. */
export function handOverTakes(people: readonly Person[], monitor: string, entrant: string): string {
  const words: string[] = [];
  const before = people.find((person) => person.monitor === monitor);
  if (before !== undefined && before.name !== entrant) {
    words.push(
      `${before.name} (${before.zone === undefined ? 'zone not known' : `${before.zone} zone`}) will have no monitor.`,
    );
  }
  const other = people.find((person) => person.name === entrant)?.monitor;
  if (entrant !== '' && other !== undefined && other !== monitor) {
    words.push(`${entrant} has ${other} now: it counts as handed back.`);
  }
  return words.join(' ');
}

/** Whoever is past the control line, as last told. */
export function pastControlLine(people: readonly Person[]): Person[] {
  return inTeamOrder(people).filter((person) => person.zone === 'warm' || person.zone === 'hot');
}
