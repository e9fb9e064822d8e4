/** One alarm of the page of alarms: the card of the board, with all that can be done, and its own story. */
import { useSignal } from '@preact/signals';
import { AlarmCard } from '../board/alarm-card.tsx';
import type { Store } from '../feed/store.ts';
import { monitorPath } from '../shell/routes.ts';
import { CardActs } from './card-acts.tsx';
import { HistoryPart } from './history-part.tsx';
import { cardKey } from './keys.ts';
import { type PlacedCard, SECTION_TITLES, sectionOf } from './sections.ts';

type Props = { store: Store; card: PlacedCard; zone: string; acts: boolean; reviewed: boolean; covered: boolean };

export function PageCard({ store, card, zone, acts, reviewed, covered }: Props) {
  const { alarm, ended, moved } = card;
  const open = useSignal(false);
  const toggle = () => {
    open.value = !open.value;
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
          <button type="button" class="button" aria-expanded={open.value} onClick={toggle}>
            {open.value ? 'Less' : acts ? 'More: shelve, history' : 'More: history'}
          </button>
          {alarm.monitor !== '' && (
            <a class="button" href={monitorPath(alarm.monitor)}>
              {alarm.monitor}
            </a>
          )}
        </div>
        {open.value && acts && !ended && <CardActs alarm={alarm} zone={zone} />}
        {open.value && <HistoryPart store={store} zone={zone} alarm={alarm.id} />}
      </div>
    </AlarmCard>
  );
}
