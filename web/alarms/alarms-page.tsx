/** All alarms in every state of their life, what can be done with each, and what happened to them. */
import { type Signal, useComputed, useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import { mayNow, session } from '../access/session.ts';
import { useHold } from '../board/hold.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';
import { FiguresPart } from './figures-part.tsx';
import { HistoryPart } from './history-part.tsx';
import { setSingleKeys, singleKeys } from './keys.ts';
import { PageCard } from './page-card.tsx';
import { type PlacedCard, placeCards, SECTION_TITLES, SECTIONS, type Section } from './sections.ts';
import { ServicePart } from './service-part.tsx';
import '../styles/board.css';
import '../styles/alarms.css';
import './alarms.css';

export function AlarmsPage({ store }: { store: Store }) {
  const zone = useComputed(() => store.head.value?.journal.zone ?? 'UTC').value;
  const covered = useComputed(() => isCovered(store.feed.value.phase)).value;
  const figures = useComputed(() => store.head.value?.figures).value;
  const reviewed = useComputed(() => store.head.value?.setPoints.reviewed ?? false).value;
  const { ref, held } = useHold<HTMLDivElement>();
  const { cards, moved, sortNow } = useCards(store, held);
  const acts = session.value !== null && mayNow('command') && !covered;
  const opened = useSignal<ReadonlySet<string>>(new Set());
  const common = { store, zone, acts, reviewed, covered, opened };
  return (
    <main class="alarms-page">
      <header class="alarms-page-head">
        <h1>Alarms</h1>
        {acts && <Keys />}
      </header>
      <FiguresPart figures={figures} alarms={store.alarms.value} covered={covered} />
      <div class="alarm-sections" ref={ref}>
        {moved > 0 && (
          <div class="hold-note">
            <span>
              Order on hold while you are here: {moved} {moved === 1 ? 'card' : 'cards'} would move.
            </span>
            <button type="button" class="button" onClick={sortNow}>
              Sort now
            </button>
          </div>
        )}
        {SECTIONS.map((section) => (
          <SectionPart
            key={section}
            section={section}
            cards={cards.filter((card) => card.section === section)}
            monitors={store.ids.value.length}
            {...common}
          />
        ))}
      </div>
      <section class="alarm-section history" aria-labelledby="alarm-history">
        <h2 id="alarm-history">What happened, newest first</h2>
        <HistoryPart store={store} zone={zone} />
      </section>
    </main>
  );
}

function useCards(store: Store, held: { readonly value: boolean }) {
  const last = useRef<readonly PlacedCard[]>([]);
  const sorted = useSignal(0);
  const cards = useComputed(() => {
    void sorted.value;
    last.current = placeCards(held.value ? last.current : [], store.alarms.value);
    return last.current;
  }).value;
  return {
    cards,
    moved: cards.filter((card) => card.moved).length,
    sortNow: () => {
      last.current = [];
      sorted.value += 1;
    },
  };
}

type SectionProps = {
  section: Section;
  cards: readonly PlacedCard[];
  monitors: number;
  store: Store;
  zone: string;
  acts: boolean;
  reviewed: boolean;
  covered: boolean;
  opened: Signal<ReadonlySet<string>>;
};

/** A part with nothing in it is left out, but for those that a person looks for. */
function SectionPart({ section, cards, monitors, ...common }: SectionProps) {
  const { store, zone, acts, covered } = common;
  const out = useComputed(() => store.head.value?.outOfService?.length ?? 0).value;
  const isService = section === 'out-of-service';
  const looked = section === 'waiting' || section === 'shelved' || (isService && (acts || out > 0));
  if (cards.length === 0 && !looked) return null;
  const id = `alarms-${section}`;
  return (
    <section class={`alarm-section ${section}`} aria-labelledby={id}>
      <h2 id={id}>
        {SECTION_TITLES[section]} <span class="soft">{isService ? `${cards.length} alarms` : cards.length}</span>
      </h2>
      {cards.length === 0 && !isService && <p class="soft">{emptyWords(section, covered, monitors)}</p>}
      {isService && <ServicePart store={store} zone={zone} acts={acts} />}
      <div class="alarm-cards">
        {cards.map((card) => (
          <PageCard key={card.alarm.id} card={card} {...common} />
        ))}
      </div>
    </section>
  );
}

function emptyWords(section: Section, covered: boolean, monitors: number): string {
  if (covered) return 'Nothing is known of alarms now.';
  if (section === 'shelved') return 'Nothing is shelved.';
  if (monitors === 0) return 'No monitor has been heard: nothing is being watched.';
  return 'No alarm waits. That is not an all-clear.';
}

function Keys() {
  return (
    <div class="alarm-keys">
      <p class="soft small">
        On a card: <kbd>Enter</kbd> opens it, arrows go on{singleKeys.value ? ', ' : '. '}
        {singleKeys.value && (
          <>
            <kbd>a</kbd> begins its acknowledgement; <kbd>Enter</kbd> then confirms.
          </>
        )}
      </p>
      <label class="check">
        <input
          type="checkbox"
          checked={singleKeys.value}
          onChange={(event) => setSingleKeys(event.currentTarget.checked)}
        />
        The letter a acknowledges
      </label>
    </div>
  );
}
