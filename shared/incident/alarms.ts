/**
 * The life of an alarm, by the states of IEC 62682 as publicly restated: an acknowledgement never ends a
 * condition, a condition that ended never acknowledges, and a latched alarm needs both and a reset.
 */
import type { Priority } from '../alarm/set-point.ts';
import {
  alarmStateOf,
  anyWaits,
  dropIfNormal,
  isAside,
  isWaiting,
  listedAlarm,
  relayIsLost,
  relayWords,
} from './alarm-list.ts';
import { annunciate, tell } from './alarm-telling.ts';
import type { Changes } from './changes.ts';
import type { AlarmKind } from './events.ts';
import { outOfServiceReason } from './out-of-service.ts';
import { holderOf } from './people.ts';
import { isProtected } from './protection.ts';
import type { AlarmRecord, IncidentState } from './state.ts';
import { isTesting } from './testing.ts';
import type { PostTime } from './time.ts';

export { acknowledge, reset } from './alarm-answers.ts';
export {
  alarmStateOf,
  baseOf,
  isAside,
  isWaiting,
  listedAlarm,
  relayBase,
  relayIsLost,
  relayWords,
  shelfKey,
} from './alarm-list.ts';
export { tell, tellCarried } from './alarm-telling.ts';

export type Occasion = {
  readonly monitor: string;
  readonly kind: AlarmKind;
  readonly sensor: string | null;
  readonly setPoint: string | null;
  readonly priority: Priority;
  readonly latched: boolean;
  readonly since: PostTime;
  readonly value: number | null;
  readonly late: boolean;
  readonly whileDown: boolean;
  readonly words: string;
  readonly action: string;
  readonly source: string;
  /** Never put aside; false where it is left out. */
  readonly protected?: boolean;
  /** The person it is about, where that is not whoever holds the monitor. */
  readonly entrant?: string;
  readonly relay?: string;
};

/** Raises an alarm, or lets a listed one sound again. */
export function raise(state: IncidentState, changes: Changes, base: string, occasion: Occasion): AlarmRecord {
  const listed = listedAlarm(state, base);
  if (listed !== undefined) {
    raiseAgain(state, changes, listed, occasion);
    return listed;
  }
  const occurrence = (state.occurrences.get(base) ?? 0) + 1;
  state.occurrences.set(base, occurrence);
  const aside = asideOf(state, occasion);
  const announced = aside.suppressed === null && aside.outOfService === null;
  const alarm: AlarmRecord = {
    id: `${base}~${occurrence}`,
    base,
    occurrence,
    condition: true,
    acknowledged: null,
    raisedAt: state.now,
    worseCursor: state.cursor,
    worst: occasion.value,
    told: occasion.value,
    firstOut: announced && !anyWaits(state),
    shelved: null,
    ...aside,
    announced,
    escalated: false,
    sounded: 0,
    ...occasion,
    protected: occasion.protected === true,
    entrant: occasion.entrant ?? holderOf(state, occasion.monitor)?.name ?? null,
    relay: occasion.relay ?? null,
  };
  state.alarms.set(alarm.id, alarm);
  state.listed.set(base, alarm.id);
  tell(changes, state, alarm, 'raised');
  if (announced) annunciate(state, changes, alarm);
  return alarm;
}

/** What puts an alarm of that kind aside from the start. */
function asideOf(state: IncidentState, occasion: Occasion): { suppressed: string | null; outOfService: string | null } {
  const subject = { ...occasion, protected: occasion.protected === true };
  if (isProtected(state, subject)) return { suppressed: null, outOfService: null };
  return { suppressed: suppressionOf(state, occasion), outOfService: outOfServiceReason(state, occasion) };
}

/** Why an alarm that comes up now is suppressed by design, or null. */
function suppressionOf(state: IncidentState, occasion: Occasion): string | null {
  const monitor = state.monitors.get(occasion.monitor);
  if (monitor === undefined) return null;
  if (occasion.kind === 'level' && !occasion.late && isTesting(state, monitor)) return TEST_WORDS;
  if (occasion.kind === 'silent' && relayIsLost(state, monitor.relay)) return relayWords(monitor.relay);
  return null;
}

export const TEST_WORDS = 'horn and lights are being tested';

function raiseAgain(state: IncidentState, changes: Changes, alarm: AlarmRecord, occasion: Occasion): void {
  if (alarm.condition) return;
  const waited = alarm.acknowledged === null;
  alarm.condition = true;
  alarm.words = occasion.words;
  alarm.value = occasion.value;
  alarm.since = occasion.since;
  alarm.late = occasion.late;
  alarm.whileDown = occasion.whileDown;
  alarm.told = occasion.value;
  if (!waited) alarm.escalated = false;
  if (!waited && !isAside(alarm)) alarm.firstOut = !anyWaits(state);
  alarm.acknowledged = null;
  alarm.priority = occasion.priority;
  alarm.protected = occasion.protected === true;
  alarm.action = occasion.action;
  alarm.source = occasion.source;
  // A peak that only came to light late sounds, but an answer on its way to an alarm that still waits stays good.
  if (!occasion.late || !waited) {
    alarm.occurrence += 1;
    state.occurrences.set(alarm.base, alarm.occurrence);
    alarm.worseCursor = state.cursor;
  }
  tell(changes, state, alarm, 'again');
  if (isAside(alarm)) return;
  alarm.announced = true;
  annunciate(state, changes, alarm);
}

/** The condition ended. The alarm stays until it is answered, and when latched until it is reset. */
export function conditionEnded(state: IncidentState, changes: Changes, alarm: AlarmRecord): void {
  if (!alarm.condition) return;
  alarm.condition = false;
  tell(changes, state, alarm, alarmStateOf(alarm) === 'normal' ? 'cleared' : 'returned');
  dropIfNormal(state, alarm);
}

/**
 * It got worse since it was raised or answered. With `askAgain`, or at another priority, the answer that was given
 * for what it was is asked for again.
 */
export function gotWorse(
  state: IncidentState,
  changes: Changes,
  alarm: AlarmRecord,
  now: { readonly words: string; readonly priority?: Priority; readonly askAgain?: boolean },
): void {
  alarm.words = now.words;
  alarm.told = alarm.value;
  alarm.worseCursor = state.cursor;
  const priority = now.priority ?? alarm.priority;
  if (now.askAgain === true || priority !== alarm.priority) {
    const answered = alarm.acknowledged !== null;
    if (answered) alarm.escalated = false;
    if (answered && !isAside(alarm)) alarm.firstOut = !anyWaits(state);
    alarm.priority = priority;
    alarm.acknowledged = null;
    tell(changes, state, alarm, 'worse');
    if (!isAside(alarm)) annunciate(state, changes, alarm);
    return;
  }
  tell(changes, state, alarm, 'worse');
}

/**
 * What it was put aside for is over, `change` says which. It stands as its condition says: unacknowledged where the
 * condition holds, whoever answered it before.
 */
export function settle(
  state: IncidentState,
  changes: Changes,
  alarm: AlarmRecord,
  change: 'unshelved' | 'unsuppressed' | 'in-service',
  why: { readonly by?: string | undefined; readonly reason?: string | undefined; readonly whileDown?: boolean } = {},
): void {
  if (isAside(alarm) || !alarm.condition) {
    tell(changes, state, alarm, change, why);
    dropIfNormal(state, alarm);
    if (!isAside(alarm) && state.alarms.has(alarm.id) && isWaiting(alarm)) annunciate(state, changes, alarm);
    return;
  }
  alarm.firstOut = !anyWaits(state);
  alarm.acknowledged = null;
  alarm.announced = true;
  alarm.escalated = false;
  alarm.worseCursor = state.cursor;
  tell(changes, state, alarm, change, why);
  annunciate(state, changes, alarm);
}

/**
 * Its set-point changed or went: what it said is over, and whoever answered it has to see that. It stays until it is
 * answered again.
 */
export function settleChanged(state: IncidentState, changes: Changes, alarm: AlarmRecord, why: string): void {
  const held = alarm.condition;
  if (!held && alarm.acknowledged !== null) return;
  alarm.condition = false;
  alarm.words = `${alarm.words} (${why})`;
  alarm.worseCursor = state.cursor;
  if (held && alarm.acknowledged !== null) {
    alarm.acknowledged = null;
    alarm.escalated = false;
    if (!isAside(alarm)) alarm.firstOut = !anyWaits(state);
  }
  tell(changes, state, alarm, 'set-point-changed');
  dropIfNormal(state, alarm);
  if (held && state.alarms.has(alarm.id) && isWaiting(alarm)) annunciate(state, changes, alarm);
}
