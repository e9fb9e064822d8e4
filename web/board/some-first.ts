/** Builds a long table a few rows a frame, from the top, so that the page answers from the first moment on. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { Group } from './order.ts';

const FIRST = 16;
const EACH_TIME = 10;

export type Part = { readonly group: Group; readonly ids: readonly string[] };

/** The groups with as many of their rows as are built so far; in a moment all of them. */
export function useSomeFirst(groups: readonly Group[]): readonly Part[] {
  const built = useSignal(FIRST);
  const all = groups.reduce((sum, group) => sum + group.ids.length, 0);
  const now = built.value;
  useEffect(() => {
    if (now >= all) return;
    const timer = setTimeout(() => {
      built.value = now + EACH_TIME;
    }, 0);
    return () => clearTimeout(timer);
  }, [now, all, built]);
  let left = now;
  return groups.flatMap((group) => {
    if (left <= 0) return [];
    const ids = group.ids.slice(0, left);
    left -= ids.length;
    return [{ group, ids }];
  });
}
