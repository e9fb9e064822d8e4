/** A value that stays the same object as long as it says the same: what is drawn from it is then drawn once. */
import { computed, type ReadonlySignal } from '@preact/signals';

/** Like `computed`, for plain data that can be compared as JSON. */
export function kept<T>(make: () => T): ReadonlySignal<T> {
  let last: { readonly key: string | undefined; readonly value: T } | null = null;
  return computed(() => {
    const value = make();
    const key = JSON.stringify(value);
    if (last === null || last.key !== key) last = { key, value };
    return last.value;
  });
}
