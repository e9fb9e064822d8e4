/** Words that grow older by themselves, each drawing its own text alone, and only when it says something else. */
import { computed, type ReadonlySignal } from '@preact/signals';
import { useMemo } from 'preact/hooks';
import type { Store } from '../feed/store.ts';
import { ageWords, secondsSince } from './times.ts';

/** "8 s" since `at`, by the post's clock. */
export function Age({ store, at }: { store: Store; at: string | ReadonlySignal<string> }) {
  const words = useMemo(() => {
    const fixedMs = typeof at === 'string' ? Date.parse(at) : null;
    return computed(() =>
      ageWords(secondsSince(fixedMs ?? (typeof at === 'string' ? at : at.value), store.nowMs.value)),
    );
  }, [store, at]);
  return <>{words}</>;
}
