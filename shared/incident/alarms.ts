/**
 * The life of an alarm, by the states of IEC 62682 as publicly restated: an acknowledgement never ends a
 * condition, a condition that ended never acknowledges, and a latched alarm needs both and a reset.
 */
import type { Priority } from '../alarm/set-point.ts';
import type { CommandAnswer } from '../protocol/commands.ts';
import type { Changes } from './changes.ts';
import type { AlarmEvent, AlarmKind, AlarmState } from './events.ts';
import { holderOf } from './people.ts';
import type { AlarmRecord, IncidentState } from './state.ts';
import { type PostTime, toIso } from './time.ts';

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
};

/** Where an alarm stands; `normal` means that it leaves the list. */
export function alarmStateOf(alarm: AlarmRecord): AlarmState {
  const answered = alarm.acknowledged !== null;
  if (alarm.condition) return answered ? 'acknowledged' : 'unacknowledged';
  if (alarm.latched) return answered ? 'latched-acknowledged' : 'latched-unacknowledged';
  return answered ? 'normal' : 'returned-unacknowledged';
}

/** What the occurrences of one alarm share. */
export function baseOf(monitor: string, sensor: string | null, setPoint: string): string {
  return `${monitor}~${sensor ?? '-'}~${setPoint}`;
}

/** The listed alarm of that base, if there is one. */
export function listedAlarm(state: IncidentState, base: string): AlarmRecord | undefined {
  const id = state.listed.get(base);
  return id === undefined ? undefined : state.alarms.get(id);
}

/** Raises an alarm, or lets a listed one sound again. */
export function raise(state: IncidentState, changes: Changes, base: string, occasion: Occasion): AlarmRecord {
  const listed = listedAlarm(state, base);
  if (listed !== undefined) {
    raiseAgain(state, changes, listed, occasion);
    return listed;
  }
  const occurrence = (state.occurrences.get(base) ?? 0) + 1;
  state.occurrences.set(base, occurrence);
  const alarm: AlarmRecord = {
    id: `${base}~${occurrence}`,
    base,
    occurrence,
    entrant: holderOf(state, occasion.monitor)?.name ?? null,
    condition: true,
    acknowledged: null,
    raisedAt: state.now,
    worseCursor: state.cursor,
    worst: occasion.value,
    told: occasion.value,
    firstOut: !anyWaits(state),
    ...occasion,
  };
  state.alarms.set(alarm.id, alarm);
  state.listed.set(base, alarm.id);
  tell(changes, state, alarm, 'raised');
  return alarm;
}

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
  alarm.acknowledged = null;
  alarm.priority = occasion.priority;
  // A peak that only came to light late sounds, but an answer on its way to an alarm that still waits stays good.
  if (!occasion.late || !waited) {
    alarm.occurrence += 1;
    state.occurrences.set(alarm.base, alarm.occurrence);
    alarm.worseCursor = state.cursor;
  }
  tell(changes, state, alarm, 'again');
}

function anyWaits(state: IncidentState): boolean {
  for (const alarm of state.alarms.values()) if (alarm.acknowledged === null) return true;
  return false;
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
    alarm.priority = priority;
    alarm.acknowledged = null;
  }
  tell(changes, state, alarm, 'worse');
}

export type Answerer = { readonly by: string; readonly at: PostTime };

/** Acknowledges what the screen had drawn, and only that. */
export function acknowledge(
  state: IncidentState,
  changes: Changes,
  who: Answerer,
  act: { alarm: string; occurrence: number; seenCursor: number; decision?: string | undefined },
): CommandAnswer {
  const alarm = state.alarms.get(act.alarm);
  if (alarm === undefined) {
    const gone = state.answered.get(act.alarm);
    if (gone !== undefined && gone.occurrence === act.occurrence) return already(state, gone);
    return { status: 'refused', code: 'no-such-alarm', message: 'This alarm is not on the list any more' };
  }
  if (alarm.occurrence !== act.occurrence || alarm.worseCursor > act.seenCursor) {
    return { status: 'changed', message: `It changed since your screen drew it: ${alarm.words}` };
  }
  if (alarm.acknowledged !== null) return already(state, alarm.acknowledged);
  alarm.acknowledged = { by: who.by, at: who.at, decision: act.decision ?? null };
  alarm.firstOut = false;
  tell(changes, state, alarm, 'acknowledged');
  dropIfNormal(state, alarm);
  return { status: 'done' };
}

function already(state: IncidentState, first: Answerer): CommandAnswer {
  const { by, at } = first;
  return { status: 'already', by, at: toIso(at, state.wallOffsetMs), message: `${by} acknowledged it first` };
}

/** Lets a latched alarm go; refused while its condition holds or nobody has acknowledged it. */
export function reset(state: IncidentState, changes: Changes, by: string, id: string): CommandAnswer {
  const alarm = state.alarms.get(id);
  if (alarm === undefined)
    return { status: 'refused', code: 'no-such-alarm', message: 'This alarm is not on the list any more' };
  if (!alarm.latched)
    return {
      status: 'refused',
      code: 'not-latched',
      message: 'This alarm ends by itself; there is nothing to reset',
    };
  if (alarm.condition)
    return { status: 'refused', code: 'condition-holds', message: `Not while it lasts: ${alarm.words}` };
  if (alarm.acknowledged === null)
    return { status: 'refused', code: 'not-acknowledged', message: 'Acknowledge it first' };
  tell(changes, state, alarm, 'reset', by);
  remove(state, alarm);
  return { status: 'done' };
}

function dropIfNormal(state: IncidentState, alarm: AlarmRecord): void {
  if (alarmStateOf(alarm) === 'normal') remove(state, alarm);
}

const MOST_ANSWERED = 1_000;

function remove(state: IncidentState, alarm: AlarmRecord): void {
  state.alarms.delete(alarm.id);
  state.listed.delete(alarm.base);
  if (alarm.acknowledged === null) return;
  const { by, at } = alarm.acknowledged;
  state.answered.set(alarm.id, { occurrence: alarm.occurrence, by, at });
  for (const oldest of state.answered.keys()) {
    if (state.answered.size <= MOST_ANSWERED) break;
    state.answered.delete(oldest);
  }
}

/** A new file says which alarms it took over, so that it can be read without the one before. */
export function tellCarried(state: IncidentState, changes: Changes, alarm: AlarmRecord): void {
  tell(changes, state, alarm, 'carried');
}

function tell(
  changes: Changes,
  state: IncidentState,
  alarm: AlarmRecord,
  change: AlarmEvent['change'],
  by = change === 'acknowledged' ? alarm.acknowledged?.by : undefined,
): void {
  state.events += 1;
  changes.alarms.add(alarm.id);
  changes.monitors.add(alarm.monitor);
  changes.events.push({
    type: 'alarm',
    at: state.now,
    change,
    alarm: alarm.id,
    occurrence: alarm.occurrence,
    monitor: alarm.monitor,
    ...(alarm.entrant === null ? {} : { entrant: alarm.entrant }),
    kind: alarm.kind,
    ...(alarm.sensor === null ? {} : { sensor: alarm.sensor }),
    ...(alarm.setPoint === null ? {} : { setPoint: alarm.setPoint }),
    priority: alarm.priority,
    state: change === 'reset' ? 'normal' : alarmStateOf(alarm),
    ...(alarm.value === null ? {} : { value: alarm.value }),
    ...(alarm.late ? { late: true } : {}),
    ...(by === undefined ? {} : { by }),
    ...(change === 'acknowledged' && alarm.acknowledged?.decision ? { decision: alarm.acknowledged.decision } : {}),
    words: alarm.words,
    ...(alarm.whileDown ? { whileDown: true } : {}),
  });
}
