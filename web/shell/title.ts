/** The tab's own words, for when another tab is in front: what waits, or that nothing here is live. */
import { effect } from '@preact/signals';
import { isWaiting } from '../feed/alarm-order.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';

/** Keeps the page's title; returns how to stop. */
export function keepTitle(store: Store): () => void {
  const stop = effect(() => {
    const waiting = store.alarms.value.filter(isWaiting).length;
    const words = isCovered(store.feed.value.phase) ? 'NOT LIVE' : waiting > 0 ? `${waiting} wait` : '';
    document.title = words === '' ? 'Upwind' : `${words} · Upwind`;
  });
  return () => {
    stop();
    document.title = 'Upwind';
  };
}
