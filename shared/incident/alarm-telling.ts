/** What is told of an alarm: its events, in the state's time, and that it sounds and waits for an answer. */
import { alarmStateOf } from './alarm-list.ts';
import { awaitAnswer } from './answer-times.ts';
import type { Changes } from './changes.ts';
import type { AlarmEvent } from './events.ts';
import { countAnnunciated, countTransition } from './figures.ts';
import type { AlarmRecord, IncidentState } from './state.ts';

/** It sounds from now on, and waits for an answer. */
export function annunciate(state: IncidentState, changes: Changes, alarm: AlarmRecord): void {
  awaitAnswer(state, alarm);
  countAnnunciated(state, changes);
}

/** A new file says which alarms it took over, so that it can be read without the one before. */
export function tellCarried(state: IncidentState, changes: Changes, alarm: AlarmRecord): void {
  tell(changes, state, alarm, 'carried');
}

const TRANSITIONS: ReadonlySet<AlarmEvent['change']> = new Set(['raised', 'again', 'returned', 'cleared']);

/** Derives one event of an alarm at the state's time. */
export function tell(
  changes: Changes,
  state: IncidentState,
  alarm: AlarmRecord,
  change: AlarmEvent['change'],
  why: { readonly by?: string | undefined; readonly reason?: string | undefined; readonly whileDown?: boolean } = {},
): void {
  if (TRANSITIONS.has(change)) countTransition(state, changes, alarm.base);
  const by = why.by ?? (change === 'acknowledged' ? alarm.acknowledged?.by : undefined);
  state.events += 1;
  changes.alarms.add(alarm.id);
  if (alarm.monitor !== '') changes.monitors.add(alarm.monitor);
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
    ...(why.reason === undefined ? {} : { reason: why.reason }),
    words: alarm.words,
    ...((why.whileDown ?? alarm.whileDown) ? { whileDown: true } : {}),
  });
}
