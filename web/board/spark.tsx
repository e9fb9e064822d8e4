import { computed, type ReadonlySignal } from '@preact/signals';
import { useMemo } from 'preact/hooks';
import { type SparkPoint, sparkPath } from './spark-path.ts';

const WIDTH = 64;
const HEIGHT = 20;

type Props = { points: ReadonlySignal<readonly SparkPoint[]>; quietSpan: number };

/** The last five minutes of one value, for a glance; the figures beside it are what counts. */
export function Spark({ points, quietSpan }: Props) {
  const { lines, dots } = useMemo(() => {
    const shape = computed(() => sparkPath(points.value, quietSpan, WIDTH, HEIGHT));
    return {
      lines: computed(() => shape.value.lines),
      dots: computed(() => shape.value.dots.map(([x, y]) => `M${x} ${y}h0.01`).join('')),
    };
  }, [points, quietSpan]);
  return (
    <svg class="spark" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} preserveAspectRatio="none" aria-hidden="true">
      <path d={lines} />
      <path d={dots} class="dot" />
    </svg>
  );
}
