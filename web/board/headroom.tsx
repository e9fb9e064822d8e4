import { computed, type ReadonlySignal } from '@preact/signals';
import { useMemo } from 'preact/hooks';

type Text = string | ReadonlySignal<string>;

const wordsOf = (share: number): string => `${Math.round(share * 100)}`;
/** Finer than a screen can show, and coarse enough that noise draws nothing. */
const styleOf = (share: number): string => `width: ${(share * 100).toFixed(1)}%`;

/**
 * The share of the way from normal to the highest level that is left: full where all is normal, empty at that level
 * or beyond it, with a tick at each lower level.
 */
export function Headroom({ share, ticks }: { share: number; ticks: readonly number[] }) {
  return <Bar words={wordsOf(share)} style={styleOf(share)} ticks={ticks} />;
}

/** The same, moving by itself. */
export function LiveHeadroom({ share, ticks }: { share: ReadonlySignal<number>; ticks: readonly number[] }) {
  const { words, style } = useMemo(
    () => ({ words: computed(() => wordsOf(share.value)), style: computed(() => styleOf(share.value)) }),
    [share],
  );
  return <Bar words={words} style={style} ticks={ticks} />;
}

function Bar({ words, style, ticks }: { words: Text; style: Text; ticks: readonly number[] }) {
  return (
    <div class="headroom">
      <span class="unseen">headroom {words} per cent</span>
      <div class="left" style={style} />
      {ticks
        .filter((tick) => tick > 0 && tick < 1)
        .map((tick) => (
          <div class="tick" key={tick} style={{ left: `${tick * 100}%` }} />
        ))}
    </div>
  );
}
