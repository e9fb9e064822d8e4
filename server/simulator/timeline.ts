/** Values that a scenario gives at moments, and what holds between them. Times are seconds into the scenario. */

/** The value between two moments by straight line; before the first and after the last, theirs. */
export function onRamp(points: readonly (readonly [number, number])[], atS: number): number {
  const next = points.findIndex(([s]) => s > atS);
  const after = points[next === -1 ? points.length - 1 : next];
  if (after === undefined) throw new RangeError('a timeline needs at least one point');
  const before = points[(next === -1 ? points.length : next) - 1];
  if (next === -1 || before === undefined) return after[1];
  return before[1] + ((after[1] - before[1]) * (atS - before[0])) / (after[0] - before[0]);
}

/** Where somebody is who walks from waypoint to waypoint (seconds, metres east, metres north) at an even pace. */
export function onWalk(
  walk: readonly (readonly [number, number, number])[],
  atS: number,
): { eastM: number; northM: number } {
  return {
    eastM: onRamp(
      walk.map(([s, east]) => [s, east] as const),
      atS,
    ),
    northM: onRamp(
      walk.map(([s, , north]) => [s, north] as const),
      atS,
    ),
  };
}

/** True from `fromS` up to, not including, `toS`. */
export function isWithin(span: { readonly fromS: number; readonly toS: number }, atS: number): boolean {
  return atS >= span.fromS && atS < span.toS;
}
