/** The parts of the page of alarms and which alarm stands in which; it holds still while somebody is in it. */
import type { AlarmView } from '../../shared/protocol/board.ts';

export const SECTIONS = ['waiting', 'answered', 'latched', 'shelved', 'suppressed', 'out-of-service'] as const;
export type Section = (typeof SECTIONS)[number];

export const SECTION_TITLES: Readonly<Record<Section, string>> = {
  waiting: 'Wait for an answer',
  answered: 'Answered, still there',
  shelved: 'Shelved',
  suppressed: 'Suppressed by design',
  'out-of-service': 'Out of service',
  latched: 'Held, wait for a reset',
};

/** Where an alarm belongs as it stands now. */
export function sectionOf(alarm: Pick<AlarmView, 'state'>): Section {
  switch (alarm.state) {
    case 'shelved':
    case 'suppressed':
    case 'out-of-service':
      return alarm.state;
    case 'latched-acknowledged':
      return 'latched';
    case 'unacknowledged':
    case 'returned-unacknowledged':
    case 'latched-unacknowledged':
      return 'waiting';
    case 'acknowledged':
    case 'normal':
      return 'answered';
  }
}

export type PlacedCard = {
  readonly alarm: AlarmView;
  readonly section: Section;
  /** Over since the page holds still. */
  readonly ended: boolean;
  /** It belongs elsewhere by now, and moves when nobody is on the page. */
  readonly moved: boolean;
};

/**
 * Cards in the order in which they are drawn, within each section as `now` has them: danger before caution, oldest
 * first. With `shown`, each card that is there keeps its place, and what is new joins the end of its own section.
 */
export function placeCards(shown: readonly PlacedCard[], now: readonly AlarmView[]): PlacedCard[] {
  const byId = new Map(now.map((alarm) => [alarm.id, alarm]));
  const kept = shown.map((card): PlacedCard => {
    const alarm = byId.get(card.alarm.id);
    byId.delete(card.alarm.id);
    if (alarm === undefined) return { ...card, ended: true, moved: true };
    return { alarm, section: card.section, ended: false, moved: sectionOf(alarm) !== card.section };
  });
  const fresh = [...byId.values()].map(
    (alarm): PlacedCard => ({ alarm, section: sectionOf(alarm), ended: false, moved: false }),
  );
  return SECTIONS.flatMap((section) => [...kept, ...fresh].filter((card) => card.section === section));
}
