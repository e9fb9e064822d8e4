/** What waits for an answer, then what was answered and is still there. It holds still while somebody points at it. */
import { useComputed, useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import type { AlarmView } from '../../shared/protocol/board.ts';
import { mayNow, session } from '../access/session.ts';
import { isWaiting } from '../feed/alarm-order.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';
import { isAside } from '../words/alarm-states.ts';
import { Shape } from '../words/shapes.tsx';
import { AlarmCard } from './alarm-card.tsx';
import { type HeldCard, heldCards } from './held-alarms.ts';
import { useHold } from './hold.ts';

type Props = { store: Store; zone: string; canAct: boolean };

export function AlarmList({ store, zone, canAct }: Props) {
  const { ref, held } = useHold<HTMLElement>();
  const open = useSignal(false);
  const sorted = useSignal(0);
  const last = useRef<readonly HeldCard[]>([]);
  const cards = useComputed(() => {
    void sorted.value;
    last.current = heldCards(held.value ? last.current : [], store.alarms.value);
    return last.current;
  }).value;
  const covered = useComputed(() => isCovered(store.feed.value.phase)).value;
  const acts = canAct && session.value !== null && mayNow('command') && !covered;
  const waiting = cards.filter((card) => !card.ended && isWaiting(card.alarm));
  const fresh = cards.filter((card) => card.fresh && !card.ended);
  const firstAnswered = cards.findLastIndex((card) => !card.ended && isWaiting(card.alarm)) + 1;
  const firstAside = cards.findLastIndex((card) => !card.ended && !isAside(card.alarm)) + 1;
  const reviewed = store.head.value?.setPoints.reviewed ?? false;

  return (
    <aside
      class={`alarms${open.value ? ' open' : ''}${cards.length === 0 ? ' empty' : ''}`}
      ref={ref}
      aria-label="Alarms"
    >
      <div class="alarms-head">
        <h2>
          {waiting.length === 0 ? 'No alarm waits' : 'Wait for an answer'}
          {waiting.length > 1 && <span class="soft small"> danger first, oldest first</span>}
        </h2>
        <button
          type="button"
          class="button drawer"
          aria-expanded={open.value}
          onClick={() => {
            open.value = !open.value;
          }}
        >
          {open.value ? 'Less' : 'More'}
        </button>
      </div>
      <Flood store={store} alarms={store.alarms.value} />
      {held.value && fresh.length > 0 && (
        <div class={`hold-note ${fresh[0]?.alarm.priority ?? ''}`}>
          <span>
            <Shape of={fresh[0]?.alarm.priority ?? 'notice'} />
            {fresh.length} new below; order on hold while you are here.
          </span>
          <button
            type="button"
            class="button"
            onClick={() => {
              last.current = [];
              sorted.value += 1;
            }}
          >
            Sort now
          </button>
        </div>
      )}
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard */}
      <section class="alarms-scroll" tabIndex={0} aria-label="Alarm list">
        {cards.length === 0 && <p class="nothing small soft">{emptyWords(covered, store.ids.value.length)}</p>}
        {cards.map((card, i) => (
          <div key={card.alarm.id}>
            {i === firstAnswered && i !== firstAside && <h3 class="answered-head">Answered, still there</h3>}
            {i === firstAside && <h3 class="answered-head">Put aside: does not sound</h3>}
            <AlarmCard
              store={store}
              alarm={card.alarm}
              ended={card.ended}
              zone={zone}
              acts={acts}
              reviewed={reviewed}
              covered={covered}
            />
          </div>
        ))}
      </section>
    </aside>
  );
}

function emptyWords(covered: boolean, monitors: number): string {
  if (covered) return 'Nothing is known of alarms now.';
  if (monitors === 0) return 'No monitor has been heard: nothing is being watched.';
  return 'Nothing is past a level that this post knows. That is not an all-clear.';
}

function Flood({ store, alarms }: { store: Store; alarms: readonly AlarmView[] }) {
  const figures = useComputed(() => store.head.value?.figures).value;
  if (!figures?.flood) return null;
  const first = alarms.find((alarm) => alarm.firstOut);
  const people = new Set(alarms.map((alarm) => alarm.entrant ?? alarm.monitor)).size;
  return (
    <p class="flood">
      <b>Alarm flood:</b> more than ten sounded within ten minutes; {alarms.length} on the list, at {people}{' '}
      {people === 1 ? 'place' : 'places'}.{first && ` It began with ${first.entrant ?? first.monitor}: ${first.words}.`}
    </p>
  );
}
