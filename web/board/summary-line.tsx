import { untracked, useComputed } from '@preact/signals';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';
import { sound } from '../sound/sound.ts';
import { soundItem } from '../sound/sound-words.ts';
import { Shape } from '../words/shapes.tsx';
import { clockTime, isKnownZone } from '../words/times.ts';
import {
  asideItem,
  floodItem,
  motionItem,
  relayItem,
  type SummaryItem,
  silentItem,
  standingItems,
  waitingItem,
} from './summary.ts';

type Lines = { readonly items: readonly SummaryItem[]; readonly standing: readonly SummaryItem[] };

/** One line that answers first questions: who waits, who does not move, who is silent, and whether this is live. */
export function SummaryLine({ store }: { store: Store }) {
  const { items, standing } = useComputed((): Lines => {
    const head = store.head.value;
    if (!head) return { items: [], standing: [] };
    const now = store.nowMs.value;
    // Once a second is enough: what cannot wait that long is an alarm.
    const views = untracked(() => store.ids.value.flatMap((id) => store.monitor(id).value ?? []));
    const relay = relayItem(head, now, views);
    const silence = soundItem(sound.state.value, head.sounding);
    return {
      items: [waitingItem(store.alarms.value, now), motionItem(views, store.alarms.value, now), silentItem(views, now)],
      standing: [
        floodItem(head),
        asideItem(head, store.alarms.value, now),
        relay,
        ...standingItems(head, views),
        silence,
      ].filter((item) => item !== null),
    };
  }).value;
  const covered = useComputed(() => isCovered(store.feed.value.phase)).value;
  return (
    <section class="summary" aria-label="Summary">
      <div class={covered ? 'summary-items covered' : 'summary-items'}>
        {items.map((item) => (
          <div key={item.key} class={`item ${item.level ?? ''} ${item.key}`}>
            <p class="head">
              {item.level && <Shape of={item.level} />}
              {item.head}
            </p>
            <p class="detail">{item.detail}</p>
          </div>
        ))}
        {standing.length > 0 && (
          <ul class="standing">
            {standing.map((item) => (
              <li key={item.key}>
                <Shape of="caution" />
                <b>{item.head}</b> {item.detail}
              </li>
            ))}
          </ul>
        )}
      </div>
      <Clock store={store} covered={covered} />
    </section>
  );
}

function Clock({ store, covered }: { store: Store; covered: boolean }) {
  const zone = useComputed(() => store.head.value?.journal.zone ?? 'UTC').value;
  const now = store.nowMs.value;
  if (now === 0) return null;
  const age = Math.max(0, performance.now() - store.feed.peek().lastFrameAt) / 1000;
  return (
    <div class="item clock">
      <p class="head">{clockTime(now, zone)}</p>
      <p class="detail">
        {isKnownZone(zone) ? '' : 'UTC, '}
        {covered ? 'not live' : `live, ${age.toFixed(1)} s ago`}
      </p>
    </div>
  );
}
