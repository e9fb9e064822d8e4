/** The alarm list while it holds still: no card moves or vanishes under a hand. */
import type { AlarmView } from '../../shared/protocol/board.ts';
import { isWaiting } from '../feed/alarm-order.ts';
import { isAside } from '../words/alarm-states.ts';

export type HeldCard = {
  readonly alarm: AlarmView;
  /** Over since the list holds still; its card stays, and says so. */
  readonly ended: boolean;
  /** Came while the list holds still. */
  readonly fresh: boolean;
};

/** Waiting, answered, put aside: the order of the list's parts. */
function partOf(alarm: AlarmView): number {
  return isWaiting(alarm) ? 0 : isAside(alarm) ? 2 : 1;
}

/** `shown` brought up to date by `now`; an empty `shown` means: in order, the waiting ones first, put aside last. */
export function heldCards(shown: readonly HeldCard[], now: readonly AlarmView[]): HeldCard[] {
  if (shown.length === 0) {
    const inOrder = [0, 1, 2].flatMap((part) => now.filter((alarm) => partOf(alarm) === part));
    return inOrder.map((alarm) => ({ alarm, ended: false, fresh: false }));
  }
  const byId = new Map(now.map((alarm) => [alarm.id, alarm]));
  const kept = shown.map((card) => {
    const alarm = byId.get(card.alarm.id);
    byId.delete(card.alarm.id);
    return alarm ? { ...card, alarm, ended: false } : { ...card, ended: true };
  });
  return [...kept, ...[...byId.values()].map((alarm) => ({ alarm, ended: false, fresh: true }))];
}
