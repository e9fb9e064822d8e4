/** One alarm of the page of alarms: the card of the board, with all that can be done, and its own story. */
import type { Signal } from '@preact/signals';
import { AlarmCard } from '../board/alarm-card.tsx';
import type { Store } from '../feed/store.ts';
import { monitorPath } from '../shell/routes.ts';
import { CardActs } from './card-acts.tsx';
import { HistoryPart } from './history-part.tsx';
import { cardKey } from './keys.ts';
import { type PlacedCard, SECTION_TITLES, sectionOf } from './sections.ts';

type Props = {
  store: Store;
  card: PlacedCard;
  zone: string;
  acts: boolean;
  reviewed: boolean;
  covered: boolean;
  /** Ids of the cards that were opened: one that moves to another part stays open. */
  opened: Signal<ReadonlySet<string>>;
};

export function PageCard({ store, card, zone, acts, reviewed, covered, opened }: Props) {
  const { alarm, ended, moved } = card;
  const open = opened.value.has(alarm.id);
  const toggle = () => {
    const next = new Set(opened.peek());
    if (!next.delete(alarm.id)) next.add(alarm.id);
    opened.value = next;
  };
  return (
    <AlarmCard
      store={store}
      alarm={alarm}
      ended={ended}
      zone={zone}
      acts={acts}
      reviewed={reviewed}
      covered={covered}
      onKey={(event) => cardKey(event, toggle)}
    >
      <div class="card-more">
        {moved && !ended && <p class="note">now under “{SECTION_TITLES[sectionOf(alarm)]}”</p>}
        <div class="card-buttons">
          <button type="button" class="button" aria-expanded={open} onClick={toggle}>
            {open ? 'Less' : acts && !alarm.protected ? 'More: shelve, history' : 'More: history'}
          </button>
          {alarm.monitor !== '' && (
            <a class="button" href={monitorPath(alarm.monitor)}>
              {alarm.monitor}
            </a>
          )}
        </div>
        {open && acts && !ended && <CardActs alarm={alarm} zone={zone} />}
        {open && <HistoryPart store={store} zone={zone} alarm={alarm.id} />}
      </div>
    </AlarmCard>
  );
}
