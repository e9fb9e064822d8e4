/** Which alarms call for a burst, and when. Knows nothing of how it is played. */
import type { AlarmEvent, BoardEvent } from '../../shared/incident/events.ts';
import type { AlarmView } from '../../shared/protocol/board.ts';
import { isWaiting } from '../feed/alarm-order.ts';

type Priority = AlarmView['priority'];
export const BY_RANK = ['danger', 'caution', 'notice'] as const satisfies readonly Priority[];
export const rankOf = (priority: Priority): number => BY_RANK.indexOf(priority);

/** An alarm that nobody answers calls again. */
export const AGAIN_AFTER_MS = 60_000;
/** A danger that was escalated does not let go. */
export const ESCALATED_EVERY_MS = 5_000;
export const NOT_LIVE_EVERY_MS = 15_000;
/** The event and the changed alarm are two pieces of the same news. */
const SAME_NEWS_MS = 3_000;

/** Changes of an alarm upon which it is heard, while nobody has answered it. */
const HEARD = new Set<AlarmEvent['change']>(['raised', 'again', 'worse', 'sounds-again', 'escalated']);

type Known = {
  occurrence: number;
  priority: Priority;
  waits: boolean;
  returned: boolean;
  escalated: boolean;
  calledAt: number;
};

export type Calls = {
  /** The alarms as they stand now. */
  see(alarms: readonly AlarmView[], nowMs: number): void;
  /** Something happened, maybe before `see` shows it. */
  hear(event: AlarmEvent | BoardEvent, nowMs: number): void;
  /** Time went on; `covered`: nothing says any more that the page is live. */
  tick(nowMs: number, covered: boolean): void;
  /** The highest priority that calls for a burst. */
  next(): Priority | null;
  /** A burst of it begins. */
  took(priority: Priority): void;
  /** Something of that priority still wants to be heard: a burst of it may go on. */
  isWanted(priority: Priority): boolean;
};

/** Without anything known: what waits when it first sees the alarms calls at once. All times are monotonic ms. */
export function createCalls(): Calls {
  const known = new Map<string, Known>();
  const pending = new Set<Priority>();
  let coveredCalledAt: number | null = null;

  function call(alarm: Known, nowMs: number): void {
    alarm.calledAt = nowMs;
    pending.add(alarm.priority);
  }

  const waiting = (priority: Priority): boolean => {
    for (const alarm of known.values()) if (alarm.waits && alarm.priority === priority) return true;
    return false;
  };

  function isWanted(priority: Priority): boolean {
    if (priority === 'notice') return true; // so short that it is let end
    return waiting(priority) || (priority === 'caution' && coveredCalledAt !== null);
  }

  function see(alarms: readonly AlarmView[], nowMs: number): void {
    const listed = new Set(alarms.map((alarm) => alarm.id));
    for (const id of known.keys()) if (!listed.has(id)) known.delete(id);
    for (const view of alarms) {
      const before = known.get(view.id);
      const returned = view.state === 'returned-unacknowledged';
      const waits = isWaiting(view) && !returned;
      const now: Known = {
        occurrence: view.occurrence,
        priority: view.priority,
        waits,
        returned,
        escalated: waits && (view.escalated ?? (before?.escalated === true && before.occurrence === view.occurrence)),
        calledAt: before?.calledAt ?? Number.NEGATIVE_INFINITY,
      };
      known.set(view.id, now);
      if (returned && before?.returned !== true) pending.add('notice');
      if (!waits) continue;
      const higher = before !== undefined && rankOf(view.priority) < rankOf(before.priority);
      const again = before?.occurrence !== view.occurrence && nowMs - now.calledAt >= SAME_NEWS_MS;
      if (!before?.waits || higher || again) call(now, nowMs);
    }
    for (const priority of pending) if (!isWanted(priority)) pending.delete(priority);
  }

  function hear(event: AlarmEvent | BoardEvent, nowMs: number): void {
    if (event.type !== 'alarm' || !HEARD.has(event.change)) return;
    const alarm = known.get(event.alarm);
    // One that is not listed yet is heard as soon as the list has it, which is in the next frame.
    if (!alarm?.waits) return;
    if (event.change === 'escalated') alarm.escalated = true;
    if (nowMs - alarm.calledAt >= SAME_NEWS_MS) call(alarm, nowMs);
  }

  function tick(nowMs: number, covered: boolean): void {
    for (const alarm of known.values()) {
      if (!alarm.waits) continue;
      const every = alarm.escalated && alarm.priority === 'danger' ? ESCALATED_EVERY_MS : AGAIN_AFTER_MS;
      if (nowMs - alarm.calledAt >= every) call(alarm, nowMs);
    }
    if (!covered) coveredCalledAt = null;
    else if (coveredCalledAt === null || nowMs - coveredCalledAt >= NOT_LIVE_EVERY_MS) {
      coveredCalledAt = nowMs;
      pending.add('caution');
    }
  }

  return {
    see,
    hear,
    tick,
    next: () => BY_RANK.find((priority) => pending.has(priority)) ?? null,
    took: (priority) => void pending.delete(priority),
    isWanted,
  };
}
