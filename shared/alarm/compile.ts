/** A set-point table laid out for the fold: set-points by channel, in the table's order. */
import { compare } from '../quantity/canonical.ts';
import type { SetPoint, SetPointTable } from './set-point.ts';

const compiled = new WeakMap<SetPointTable, ReadonlyMap<string, readonly SetPoint[]>>();
const NONE: readonly SetPoint[] = [];

/** Set-points of `channel`. The answer for one table is always the same array. */
export function pointsOf(table: SetPointTable, channel: string): readonly SetPoint[] {
  let byChannel = compiled.get(table);
  if (byChannel === undefined) {
    const grouped = new Map<string, SetPoint[]>();
    for (const point of table.setPoints) {
      const list = grouped.get(point.channel);
      if (list === undefined) grouped.set(point.channel, [point]);
      else list.push(point);
    }
    byChannel = grouped;
    compiled.set(table, byChannel);
  }
  return byChannel.get(channel) ?? NONE;
}

/** What the set-point compares, from a canonical value and the background in force, in the set-point's unit. */
export function comparedValue(point: SetPoint, value: number, background: number): number {
  switch (point.compare) {
    case 'value':
      return value;
    case 'above-background':
      return value - background;
    case 'off-background':
      return Math.abs(value - background);
    case 'times-background':
      return background > 0 ? value / background : Number.POSITIVE_INFINITY;
  }
}

/** Whether the compared value meets the set-point. */
export function meets(point: SetPoint, compared: number): boolean {
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
export function isBack(point: SetPoint, compared: number): boolean {
  if (meets(point, compared)) return false;
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
