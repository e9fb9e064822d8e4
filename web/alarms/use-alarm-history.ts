/** What happened to the alarms, asked of the post anew whenever something happens to one, page by page into the past. */
import { type ReadonlySignal, useSignal } from '@preact/signals';
import { useEffect, useMemo } from 'preact/hooks';
import { type AlarmHistory, type AlarmHistoryEntry, alarmHistory } from '../../shared/protocol/alarm-history.ts';
import { ask } from '../access/post.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';

export type HistoryState =
  | { readonly phase: 'asking' }
  | { readonly phase: 'failed'; readonly message: string }
  | { readonly phase: 'here'; readonly history: AlarmHistory };

const PAGE = 50;
/** News come in bursts; one question answers them all. */
const AFTER_NEWS_MS = 250;

/** The history of all alarms, or of one; `more` asks for the page before. */
export function useAlarmHistory(store: Store, alarm?: string): { state: ReadonlySignal<HistoryState>; more(): void } {
  const state = useSignal<HistoryState>({ phase: 'asking' });
  const more = useMemo(
    () => () => {
      const now = state.peek();
      if (now.phase !== 'here' || now.history.next === null) return;
      void load(alarm, now.history.next).then((answer) => {
        if (answer.phase === 'here') state.value = { phase: 'here', history: joined(state.peek(), answer.history) };
      });
    },
    [state, alarm],
  );
  useEffect(() => {
    let wanted = true;
    let timer: ReturnType<typeof setTimeout> | undefined;
    const refresh = async () => {
      const answer = await load(alarm);
      if (!wanted) return;
      // What is known of the past stays true when the post does not answer.
      if (answer.phase === 'here') state.value = { phase: 'here', history: renewed(state.peek(), answer.history) };
      else if (state.peek().phase !== 'here') state.value = answer;
    };
    const later = () => {
      clearTimeout(timer);
      timer = setTimeout(() => void refresh(), AFTER_NEWS_MS);
    };
    void refresh();
    let last = store.events.peek();
    const stopEvents = store.events.subscribe((events) => {
      if (events === last) return;
      last = events;
      if (events.at(-1)?.type === 'alarm') later();
    });
    let wasCovered = false;
    const stopFeed = store.feed.subscribe(({ phase }) => {
      if (wasCovered && !isCovered(phase)) later();
      wasCovered = isCovered(phase);
    });
    return () => {
      wanted = false;
      clearTimeout(timer);
      stopEvents();
      stopFeed();
    };
  }, [store, alarm, state]);
  return { state, more };
}

async function load(alarm?: string, before?: number): Promise<HistoryState> {
  const query = new URLSearchParams({ limit: String(PAGE) });
  if (alarm !== undefined) query.set('alarm', alarm);
  if (before !== undefined) query.set('before', String(before));
  const answer = await ask('GET', `/api/v1/alarms/history?${query}`, undefined, alarmHistory);
  return answer.ok ? { phase: 'here', history: answer.value } : { phase: 'failed', message: answer.message };
}

/** The newest page in front of what was known before, as far as both touch. */
export function renewed(before: HistoryState, newest: AlarmHistory): AlarmHistory {
  if (before.phase !== 'here' || before.history.epoch !== newest.epoch) return newest;
  const oldest = newest.events.at(-1)?.number;
  const known = before.history.events;
  if (oldest === undefined || !known.some(({ number }) => number >= oldest)) return newest;
  const older = known.filter(({ number }) => number < oldest);
  if (older.length === 0) return newest;
  return { ...newest, events: [...newest.events, ...older], next: before.history.next, cut: before.history.cut };
}

/** An older page behind what is shown. */
export function joined(before: HistoryState, older: AlarmHistory): AlarmHistory {
  if (before.phase !== 'here' || before.history.epoch !== older.epoch) return older;
  const known = new Set(before.history.events.map(({ number }) => number));
  const fresh: AlarmHistoryEntry[] = older.events.filter(({ number }) => !known.has(number));
  return { ...older, events: [...before.history.events, ...fresh] };
}
