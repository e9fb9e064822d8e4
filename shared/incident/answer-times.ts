/** What happens when nobody answers: an alarm sounds again, and a danger escalates. Set times of this post. */
import { cancelDeadline, setDeadline } from './deadlines.ts';
import type { AlarmRecord, IncidentState } from './state.ts';
import { MINUTE, SECOND } from './time.ts';

/** Common practice, no source. */
export const SOUND_AGAIN_US = 60 * SECOND;
export const ESCALATE_US = 30 * SECOND;
/** After that many times it sounds again ten times as seldom: a night without anybody fills no journal. */
const OFTEN = 10;
const SELDOM_US = 10 * MINUTE;

const soundKey = (alarm: AlarmRecord) => `sound-again ${alarm.id}`;
const escalateKey = (alarm: AlarmRecord) => `escalate ${alarm.id}`;

/** It waits for an answer from now on. */
export function awaitAnswer(state: IncidentState, alarm: AlarmRecord): void {
  alarm.sounded = 0;
  awaitNextSound(state, alarm);
  // A danger that already waits escalates at the time that it began to.
  if (alarm.priority !== 'danger' || alarm.escalated || state.deadlines.byKey.has(escalateKey(alarm))) return;
  setDeadline(state.deadlines, {
    key: escalateKey(alarm),
    kind: 'escalate',
    monitor: alarm.monitor,
    of: alarm.id,
    at: state.now + ESCALATE_US,
  });
}

/** Sets when it sounds next. */
export function awaitNextSound(state: IncidentState, alarm: AlarmRecord): void {
  cancelDeadline(state.deadlines, soundKey(alarm));
  setDeadline(state.deadlines, {
    key: soundKey(alarm),
    kind: 'sound-again',
    monitor: alarm.monitor,
    of: alarm.id,
    at: state.now + (alarm.sounded < OFTEN ? SOUND_AGAIN_US : SELDOM_US),
  });
}

/** It was answered, put aside, or is gone. */
export function stopAwaiting(state: IncidentState, alarm: AlarmRecord): void {
  cancelDeadline(state.deadlines, soundKey(alarm));
  cancelDeadline(state.deadlines, escalateKey(alarm));
}
