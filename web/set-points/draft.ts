/**
 * A table that an officer is writing: the fields as typed, so that a half-typed number is neither lost nor taken for
 * another one. Nothing here is in force until it was adopted.
 */
import { checkTable, type TableProblem } from '../../shared/alarm/check-table.ts';
import { type SetPoint, type SetPointTable, setPoint } from '../../shared/alarm/set-point.ts';
import { shiftDecimal } from '../../shared/quantity/canonical.ts';
import { readNumber } from '../calculator/read-number.ts';
import { unitOf } from './level-words.ts';

/** A set-point whose numbers are as typed; delays in seconds. */
export type DraftPoint = Omit<SetPoint, 'value' | 'deadband' | 'onDelayMs' | 'offDelayMs'> & {
  /** Of this page alone: which line it is while its short name may still change. */
  readonly key: number;
  readonly value: string;
  readonly deadband: string;
  readonly onDelayS: string;
  readonly offDelayS: string;
  /** As it is in force; null: new. */
  readonly was: SetPoint | null;
};

export type Draft = {
  readonly name: string;
  readonly version: string;
  readonly points: readonly DraftPoint[];
  /** The table in force when the draft was begun. */
  readonly base: SetPointTable;
  readonly nextKey: number;
};

export type DraftRead = {
  /** Null where a field is not readable, or an error keeps it from being adopted. */
  readonly table: SetPointTable | null;
  readonly problems: readonly TableProblem[];
};

/** A number as one types it: no groups, no exponent. */
export function typedNumber(value: number): string {
  const text = String(value);
  const [mantissa = '', exponent] = text.split('e');
  if (exponent === undefined) return text;
  const [whole = '', part = ''] = mantissa.replace('-', '').split('.');
  const places = Number(exponent);
  const sign = value < 0 ? '-' : '';
  if (places < 0) return `${sign}0.${'0'.repeat(-places - 1)}${whole}${part}`;
  return `${sign}${whole}${part.padEnd(places, '0')}`;
}

function draftPoint(point: SetPoint, key: number, was: SetPoint | null): DraftPoint {
  const { value, deadband, onDelayMs, offDelayMs, ...rest } = point;
  return {
    ...rest,
    key,
    was,
    value: typedNumber(value),
    deadband: typedNumber(deadband),
    onDelayS: typedNumber(shiftDecimal(onDelayMs, -3)),
    offDelayS: typedNumber(shiftDecimal(offDelayMs, -3)),
  };
}

/** A draft that holds `table`, to be compared with the one in force. */
export function draftOf(table: SetPointTable, inForce: SetPointTable): Draft {
  const before = new Map(inForce.setPoints.map((point) => [point.id, point]));
  return {
    name: table.name,
    version: String(table === inForce ? table.version + 1 : table.version),
    points: table.setPoints.map((point, key) => draftPoint(point, key, before.get(point.id) ?? null)),
    base: inForce,
    nextKey: table.setPoints.length,
  };
}

/** Changes fields of one set-point. A unit that follows from what is compared follows at once. */
export function changePoint(draft: Draft, key: number, fields: Partial<DraftPoint>): Draft {
  return {
    ...draft,
    points: draft.points.map((point) => {
      if (point.key !== key) return point;
      const changed = { ...point, ...fields };
      return { ...changed, unit: unitOf(changed.compare, changed.channel) ?? fittingUnit(changed.unit) };
    }),
  };
}

function fittingUnit(unit: SetPoint['unit']): SetPoint['unit'] {
  return unit === 'x' || unit === 'mR' ? 'ppm' : unit;
}

/** Adds an empty set-point on `channel`, behind the others of it. */
export function addPoint(draft: Draft, channel: string): Draft {
  const key = draft.nextKey;
  const added: DraftPoint = {
    key,
    was: null,
    id: '',
    channel,
    compare: 'value',
    direction: '>=',
    value: '',
    unit: unitOf('value', channel) ?? 'ppm',
    deadband: '',
    onDelayS: '0',
    offDelayS: '5',
    latched: false,
    priority: 'caution',
    withdraw: false,
    protected: false,
    action: '',
    source: '',
    sourceTag: 'memory',
  };
  return { ...draft, points: [...draft.points, added], nextKey: key + 1 };
}

export function removePoint(draft: Draft, key: number): Draft {
  return { ...draft, points: draft.points.filter((point) => point.key !== key) };
}

/** Puts back a set-point of the table in force that the draft has lost, at the end. */
export function putBack(draft: Draft, point: SetPoint): Draft {
  const key = draft.nextKey;
  return { ...draft, points: [...draft.points, draftPoint(point, key, point)], nextKey: key + 1 };
}

/** Set-points in force that the draft does not have any more. */
export function removedFrom(draft: Draft): SetPoint[] {
  return draft.base.setPoints.filter((point) => !draft.points.some((one) => one.id === point.id));
}

/** Fields that are not as they are in force, by their names in the table; empty for a new one. */
export function changedFields(point: DraftPoint): string[] {
  if (point.was === null) return [];
  const was = draftPoint(point.was, point.key, point.was);
  const names: Partial<Record<keyof DraftPoint, string>> = { onDelayS: 'onDelayMs', offDelayS: 'offDelayMs' };
  return (Object.keys(was) as (keyof DraftPoint)[])
    .filter((field) => field !== 'was' && field !== 'key' && was[field] !== point[field])
    .map((field) => names[field] ?? field);
}

/** Whether the draft says anything else than the table in force, its version aside. */
export function isChanged(draft: Draft): boolean {
  return (
    draft.name !== draft.base.name ||
    removedFrom(draft).length > 0 ||
    draft.points.some((point) => point.was === null || changedFields(point).length > 0)
  );
}

/** The table that the draft stands for, and all that is wrong with it, in its order. */
export function readDraft(draft: Draft): DraftRead {
  const unread: TableProblem[] = [];
  const say = (path: string, code: string, words: string) => void unread.push({ path, code, words, severity: 'error' });
  if (draft.name.trim() === '') say('name', 'no-name', 'it needs a name');
  const version = /^\d{1,9}$/.test(draft.version.trim()) ? Number(draft.version) : null;
  if (version === null) say('version', 'version-invalid', 'a whole number, and no more');
  const points = draft.points.map((point, index) => readPoint(point, index, say));
  const whole = points.filter((point) => point !== null);
  const table = { name: draft.name.trim(), version: version ?? 0, reviewedBy: null, setPoints: whole };
  // What is not readable is said by itself: the checks of the rest would point at the wrong lines.
  if (whole.length < points.length) return { table: null, problems: unread };
  const problems = [...unread, ...checkTable(table)];
  return { table: problems.some((problem) => problem.severity === 'error') ? null : table, problems };
}

/** The set-point that one line of the draft stands for, by itself; null where a field of it is not readable. */
export function pointOf(point: DraftPoint): SetPoint | null {
  return readPoint(point, 0, () => undefined);
}

type Say = (path: string, code: string, words: string) => void;

function readPoint(point: DraftPoint, index: number, say: Say): SetPoint | null {
  const path = `setPoints.${index}`;
  const { key: _key, was: _was, onDelayS, offDelayS, ...rest } = point;
  const number = (field: string, text: string): number | null => {
    const read = readNumber(text);
    if (read.ok) return read.value;
    say(`${path}.${field}`, 'number-invalid', read.code === 'empty' ? 'it is missing' : read.message);
    return null;
  };
  const notBelowZero = (field: string, text: string): number | null => {
    const value = number(field, text);
    if (value === null || value >= 0) return value;
    say(`${path}.${field}`, 'negative', 'it cannot be negative');
    return null;
  };
  const milliseconds = (field: string, text: string): number | null => {
    const seconds = notBelowZero(field, text);
    return seconds === null ? null : Math.round(shiftDecimal(seconds, 3));
  };
  if (!setPoint.shape.id.safeParse(point.id).success)
    say(`${path}.id`, 'id-invalid', 'small letters, figures and -, at most 48, and at least one');
  const read = setPoint.safeParse({
    ...rest,
    value: number('value', point.value),
    deadband: notBelowZero('deadband', point.deadband),
    onDelayMs: milliseconds('onDelayMs', onDelayS),
    offDelayMs: milliseconds('offDelayMs', offDelayS),
  });
  return read.success ? read.data : null;
}

/** Text by which two tables are told apart: what is adopted must be what was looked at. */
export function tableMark(table: SetPointTable): string {
  return JSON.stringify({ ...table, reviewedBy: null });
}
