/** Geometry of a small trace. Silence stays empty: no line is ever drawn across it. */
export type SparkPoint = readonly [secondsBefore: number, value: number | null];

/** Two samples further apart than this are not joined, whatever lies between them. */
const JOIN_WITHIN_S = 20;
const WINDOW_S = 300;

export type SparkShape = { readonly lines: string; readonly dots: readonly (readonly [number, number])[] };

/**
 * Path data and lone dots for a box of `width` × `height`, five minutes wide, newest at the right. `quietSpan` is
 * the smallest range of values that fills the height, so that noise stays small.
 */
export function sparkPath(points: readonly SparkPoint[], quietSpan: number, width: number, height: number): SparkShape {
  const known = points.flatMap(([, value]) => (value === null ? [] : [value]));
  if (known.length === 0) return { lines: '', dots: [] };
  const low = Math.min(...known);
  const high = Math.max(...known);
  const middle = (low + high) / 2;
  const span = Math.max(high - low, quietSpan, Number.EPSILON);
  const place = (secondsBefore: number, value: number): readonly [number, number] => [
    round(width * (1 - secondsBefore / WINDOW_S)),
    round(height / 2 - ((value - middle) / span) * (height - 2)),
  ];

  const runs: (readonly [number, number])[][] = [];
  let last: number | null = null;
  for (const [secondsBefore, value] of points) {
    if (value === null || secondsBefore > WINDOW_S || secondsBefore < 0) {
      last = null;
      continue;
    }
    if (last === null || last - secondsBefore > JOIN_WITHIN_S) runs.push([]);
    runs.at(-1)?.push(place(secondsBefore, value));
    last = secondsBefore;
  }
  const lines = runs
    .filter((run) => run.length > 1)
    .map((run) => `M${run.map(([x, y]) => `${x} ${y}`).join('L')}`)
    .join('');
  return { lines, dots: runs.flatMap((run) => (run.length === 1 ? run : [])) };
}

function round(value: number): number {
  return Math.round(value * 10) / 10;
}
