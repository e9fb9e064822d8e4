/** A set-point table laid out for the fold: set-points by channel, in the table's order. */
import { compare } from '../quantity/canonical.ts';
import type { SetPoint, SetPointTable } from './set-point.ts';

type Compiled = { readonly byChannel: ReadonlyMap<string, readonly SetPoint[]>; readonly sums: readonly SetPoint[] };

const compiled = new WeakMap<SetPointTable, Compiled>();
const NONE: readonly SetPoint[] = [];

/** Set-points of `channel` that a single reading is held against. The answer for one table is always the same array. */
export function pointsOf(table: SetPointTable, channel: string): readonly SetPoint[] {
  return compile(table).byChannel.get(channel) ?? NONE;
}

/** Set-points that a person's sums are held against: STEL, TWA, dose, mixture. */
export function sumPointsOf(table: SetPointTable): readonly SetPoint[] {
  return compile(table).sums;
}

/** Whether a set-point is of a person's sums, and not of a single reading. */
export function isOfSums(point: SetPoint): boolean {
  return point.compare === 'stel' || point.compare === 'twa' || point.compare === 'dose' || point.compare === 'mixture';
}

function compile(table: SetPointTable): Compiled {
  const known = compiled.get(table);
  if (known !== undefined) return known;
  const byChannel = new Map<string, SetPoint[]>();
  const sums: SetPoint[] = [];
  for (const point of table.setPoints) {
    const list = byChannel.get(point.channel);
    if (isOfSums(point)) sums.push(point);
    else if (list === undefined) byChannel.set(point.channel, [point]);
    else list.push(point);
  }
  const made = { byChannel, sums };
  compiled.set(table, made);
  return made;
}

/**
 * What the set-point compares, from a canonical value, the background in force and the rise a minute where it is
 * known, in the set-point's unit. Null where it cannot be compared: a rise that is not known yet.
 */
export function comparedValue(
  point: SetPoint,
  value: number,
  background: number,
  rise: number | null = null,
): number | null {
  switch (point.compare) {
    case 'value':
      return value;
    case 'above-background':
      return value - background;
    case 'off-background':
      return Math.abs(value - background);
    case 'times-background':
      return background > 0 ? value / background : Number.POSITIVE_INFINITY;
    case 'rise-per-minute':
      return rise;
    case 'stel':
    case 'twa':
    case 'dose':
    case 'mixture':
      return null;
  }
}

/** Whether the compared value meets the set-point; what cannot be compared does not. */
export function meets(point: SetPoint, compared: number | null): boolean {
  if (compared === null) return false;
  const order = compare(compared, point.value);
  switch (point.direction) {
    case '>=':
      return order >= 0;
    case '>':
      return order > 0;
    case '<=':
      return order <= 0;
    case '<':
      return order < 0;
  }
}

/** Whether the compared value is back past the deadband, so that the alarm can return. */
export function isBack(point: SetPoint, compared: number | null): boolean {
  if (compared === null || meets(point, compared)) return false;
  const rising = point.direction === '>=' || point.direction === '>';
  const edge = rising ? point.value - point.deadband : point.value + point.deadband;
  const order = compare(compared, edge);
  if (point.deadband === 0) return true;
  return rising ? order < 0 : order > 0;
}

/** True where a larger compared value is worse. */
export function isRising(point: SetPoint): boolean {
  return point.direction === '>=' || point.direction === '>';
}
