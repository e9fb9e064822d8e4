/** Fetches a monitor's history, goes on with what the live feed brings, and asks again after an interruption. */
import { batch, effect, type ReadonlySignal, useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { type HistoryChannel, history } from '../../shared/protocol/history.ts';
import { ask } from '../access/post.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';
import { staleAfterMs, withReading } from './history-data.ts';

export type Minutes = 15 | 60 | 360;
export type HistoryState =
  | { readonly phase: 'asking' }
  | { readonly phase: 'failed'; readonly message: string }
  | { readonly phase: 'here'; readonly channels: readonly HistoryChannel[] };

/** Late packets change the past: it is asked for anew from time to time. */
const AGAIN_MS = 60_000;

export function useHistory(store: Store, id: string, minutes: Minutes, attempt: number): ReadonlySignal<HistoryState> {
  const state = useSignal<HistoryState>({ phase: 'asking' });
  useEffect(() => {
    let current = true;
    state.value = { phase: 'asking' };
    const load = async () => {
      const path = `/api/v1/monitors/${encodeURIComponent(id)}/history?minutes=${minutes}`;
      const answer = await ask('GET', path, undefined, history);
      if (!current) return;
      // An old chart is worth more than an error in its place.
      if (answer.ok) state.value = { phase: 'here', channels: withNewest(store, id, answer.value.channels) };
      else if (state.value.phase !== 'here') state.value = { phase: 'failed', message: answer.message };
    };
    void load();
    const timer = setInterval(load, AGAIN_MS);
    let wasCovered = false;
    const stop = effect(() => {
      const covered = isCovered(store.feed.value.phase);
      if (wasCovered && !covered) void load();
      wasCovered = covered;
    });
    const follow = effect(() => {
      if (!store.monitor(id).value) return;
      batch(() => {
        const now = state.peek();
        if (now.phase === 'here') state.value = { phase: 'here', channels: withNewest(store, id, now.channels) };
      });
    });
    return () => {
      current = false;
      clearInterval(timer);
      stop();
      follow();
    };
  }, [store, id, minutes, attempt, state]);
  return state;
}

function withNewest(store: Store, id: string, channels: readonly HistoryChannel[]): readonly HistoryChannel[] {
  const view = store.monitor(id).peek();
  if (!view) return channels;
  const known = new Set(channels.map((channel) => channel.channel));
  const fresh = Object.keys(view.readings)
    .filter((channel) => !known.has(channel))
    .map((channel): HistoryChannel => ({ channel, unit: null, points: [], flags: [], levels: [] }));
  return [...channels, ...fresh].map((channel) => {
    const cell = view.readings[channel.channel];
    return cell ? withReading(channel, cell, staleAfterMs(view)) : channel;
  });
}
