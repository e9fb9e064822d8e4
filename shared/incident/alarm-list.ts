/**
 * Which alarms are listed, and where each stands by the states of IEC 62682 as publicly restated. Nothing here changes
 * what an alarm says; one that is normal leaves the list.
 */
import { stopAwaiting } from './answer-times.ts';
import { cancelDeadline } from './deadlines.ts';
import type { AlarmState } from './events.ts';
import type { AlarmRecord, IncidentState } from './state.ts';

/** Where an alarm stands; `normal` means that it leaves the list. */
export function alarmStateOf(alarm: AlarmRecord): AlarmState {
  const within = stateWithin(alarm);
  // A shelved one stays listed until its time is up, so that what comes up meanwhile is shelved too.
  if (within === 'normal') return alarm.shelved === null ? 'normal' : 'shelved';
  if (alarm.outOfService !== null) return 'out-of-service';
  if (alarm.suppressed !== null) return 'suppressed';
  return alarm.shelved === null ? within : 'shelved';
}

/** Where it would stand if it were not put aside. */
function stateWithin(alarm: AlarmRecord): AlarmState {
  const answered = alarm.acknowledged !== null;
  if (alarm.condition) return answered ? 'acknowledged' : 'unacknowledged';
  const waits = !answered && alarm.announced;
  if (alarm.latched) return waits ? 'latched-unacknowledged' : 'latched-acknowledged';
  return waits ? 'returned-unacknowledged' : 'normal';
}

/** Shelved, suppressed or out of service: it is evaluated and recorded, and does not sound. */
export function isAside(alarm: AlarmRecord): boolean {
  return alarm.shelved !== null || alarm.suppressed !== null || alarm.outOfService !== null;
}

/** Nobody has answered it, and it is not put aside. */
export function isWaiting(alarm: AlarmRecord): boolean {
  return alarm.acknowledged === null && alarm.announced && !isAside(alarm);
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

/** Whether anybody is being asked for an answer. */
export function anyWaits(state: IncidentState): boolean {
  for (const alarm of state.alarms.values()) if (isWaiting(alarm)) return true;
  return false;
}

/** Whether everything that this relay heard last is quiet, and an alarm says so. */
export function relayIsLost(state: IncidentState, relay: string): boolean {
  return listedAlarm(state, relayBase(relay))?.condition === true;
}

export function relayBase(relay: string): string {
  return baseOf(`relay ${relay}`, null, 'relay-lost');
}

export function relayWords(relay: string): string {
  return `the whole of relay ${relay} is silent: see its alarm`;
}

/** Lets it go where nothing keeps it on the list. */
export function dropIfNormal(state: IncidentState, alarm: AlarmRecord): void {
  if (alarmStateOf(alarm) === 'normal') remove(state, alarm);
}

const MOST_ANSWERED = 1_000;

/** Takes it off the list; who answered it is kept for a screen that answers later. */
export function remove(state: IncidentState, alarm: AlarmRecord): void {
  state.alarms.delete(alarm.id);
  state.listed.delete(alarm.base);
  stopAwaiting(state, alarm);
  cancelDeadline(state.deadlines, shelfKey(alarm));
  if (alarm.acknowledged === null) return;
  const { by, at } = alarm.acknowledged;
  state.answered.set(alarm.id, { occurrence: alarm.occurrence, by, at });
  for (const oldest of state.answered.keys()) {
    if (state.answered.size <= MOST_ANSWERED) break;
    state.answered.delete(oldest);
  }
}

/** The deadline at which it comes off the shelf. */
export function shelfKey(alarm: AlarmRecord): string {
  return `shelf-end ${alarm.id}`;
}
