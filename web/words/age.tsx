/** Words that grow older by themselves, each redrawing alone once a second. */
import type { Store } from '../feed/store.ts';
import { ageWords, secondsSince } from './times.ts';

/** "8 s" since `at`, by the post's clock. */
export function Age({ store, at }: { store: Store; at: string }) {
  return <>{ageWords(secondsSince(at, store.nowMs.value))}</>;
}
