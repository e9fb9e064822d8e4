import { type SparkPoint, sparkPath } from './spark-path.ts';

const WIDTH = 64;
const HEIGHT = 20;

/** The last five minutes of one value, for a glance; the figures beside it are what counts. */
export function Spark({ points, quietSpan }: { points: readonly SparkPoint[]; quietSpan: number }) {
  const { lines, dots } = sparkPath(points, quietSpan, WIDTH, HEIGHT);
  return (
    <svg class="spark" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} preserveAspectRatio="none" aria-hidden="true">
      <path d={lines} />
      {dots.map(([x, y]) => (
        <path key={`${x}`} d={`M${x} ${y}h0.01`} class="dot" />
      ))}
    </svg>
  );
}
