/**
 * Headroom: the share of the way from normal to the channel's withdrawal level that is still left. 1 at normal, 0
 * at or beyond the level; a worse value never has more. Two-sided for oxygen. None where there is no number.
 */
import { compare } from '../quantity/canonical.ts';
import { isRising } from './compile.ts';
import type { SetPoint } from './set-point.ts';

export type Headroom = { readonly left: number; readonly ticks: readonly number[] };

/** Level of a set-point as a value of the channel, or null where it is no single value (off the background). */
function levelOf(point: SetPoint, background: number): number | null {
  switch (point.compare) {
    case 'value':
      return point.value;
    case 'above-background':
      return background + point.value;
    case 'times-background':
      return background * point.value;
    default:
      return null;
  }
}

/**
 * @param value canonical value.
 * @param background what the channel reads where there is nothing, in the same unit.
 * @returns null where no withdrawal level is set, or where the background is itself beyond the one on this side.
 */
export function headroom(points: readonly SetPoint[], value: number, background: number): Headroom | null {
  const rising = value >= background;
  const limit = nearest(points, background, rising);
  // Also where the background lies beyond that level itself, so that it is none of this side's way.
  const beyond = points.some((point) => isBeyond(point, value, background));
  if (limit === null) {
    if (beyond) return { left: 0, ticks: [] };
    // No level on this side (a toxic gas reads a little below zero): all of the way is left.
    const levelHere = points.some((point) => point.withdraw && isRising(point) === rising);
    return levelHere || nearest(points, background, !rising) === null ? null : { left: 1, ticks: [] };
  }
  const way = limit - background;
  const ticks = ticksOf(points, background, way, rising);
  return { left: beyond ? 0 : Math.min(1, Math.max(0, (limit - value) / way)), ticks };
}

/** At or past a withdrawal level. */
function isBeyond(point: SetPoint, value: number, background: number): boolean {
  const level = levelOf(point, background);
  if (!point.withdraw || level === null) return false;
  return compare(value, level) !== (isRising(point) ? -1 : 1);
}

function nearest(points: readonly SetPoint[], background: number, rising: boolean): number | null {
  let found: number | null = null;
  for (const point of points) {
    const level = levelOf(point, background);
    if (!point.withdraw || level === null || isRising(point) !== rising) continue;
    if (rising ? level <= background : level >= background) continue;
    if (found === null || (rising ? level < found : level > found)) found = level;
  }
  return found;
}

function ticksOf(points: readonly SetPoint[], background: number, way: number, rising: boolean): number[] {
  const ticks: number[] = [];
  for (const point of points) {
    if (point.withdraw) continue;
    const level =
      point.compare === 'off-background'
        ? background + (rising ? point.value : -point.value)
        : levelOf(point, background);
    if (level === null || (point.compare !== 'off-background' && isRising(point) !== rising)) continue;
    const left = 1 - (level - background) / way;
    if (left > 0 && left < 1) ticks.push(left);
  }
  return ticks.sort((a, b) => b - a);
}
