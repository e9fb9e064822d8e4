import type { FeedPhase } from './store.ts';

/** True while no value may be shown, because nothing says that it still holds. */
export function isCovered(phase: FeedPhase): boolean {
  return phase === 'connecting' || phase === 'covered' || phase === 'gone';
}
