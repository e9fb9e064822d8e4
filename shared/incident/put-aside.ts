/**
 * Putting alarms aside: shelved by a person for a limited time, suppressed by design, out of service. Each goes on
 * being evaluated and recorded, and comes back to what its condition implies then: unacknowledged where it holds
 * (IEC 62682 / ISA-18.2 as publicly restated). What is protected is never put aside.
 */
import type { CommandAnswer } from '../protocol/commands.ts';
import {
  alarmStateOf,
  isWaiting,
  listedAlarm,
  relayBase,
  relayIsLost,
  relayWords,
  settle,
  shelfKey,
  TEST_WORDS,
  tell,
} from './alarms.ts';
import { awaitNextSound, stopAwaiting } from './answer-times.ts';
import { tellBoard } from './board-events.ts';
import type { Changes } from './changes.ts';
import { cancelDeadline, type Deadline, setDeadline } from './deadlines.ts';
import { outOfServiceReason, serviceKey } from './out-of-service.ts';
import { isProtected } from './protection.ts';
import type { StaffAct } from './records.ts';
import type { AlarmRecord, IncidentState, MonitorState } from './state.ts';
import { isTesting, LONGEST_TEST_US } from './testing.ts';
import { MINUTE } from './time.ts';

type Act<T extends StaffAct['type']> = Extract<StaffAct, { type: T }>;

const NO_SUCH: CommandAnswer = {
  status: 'refused',
  code: 'no-such-alarm',
  message: 'This alarm is not on the list any more',
};

/** Shelves an alarm that stands, for 1 to 60 minutes. Shelving it again sets the time anew. */
export function shelve(state: IncidentState, changes: Changes, by: string, act: Act<'shelve'>): CommandAnswer {
  const alarm = state.alarms.get(act.alarm);
  if (alarm === undefined) return NO_SUCH;
  if (isProtected(state, alarm)) return refuseProtected('shelved');
  const until = state.now + act.minutes * MINUTE;
  alarm.shelved = { by, at: state.now, until, reason: act.reason };
  alarm.firstOut = false;
  alarm.escalated = false;
  stopAwaiting(state, alarm);
  cancelDeadline(state.deadlines, shelfKey(alarm));
  setDeadline(state.deadlines, {
    key: shelfKey(alarm),
    kind: 'shelf-end',
    monitor: alarm.monitor,
    of: alarm.id,
    at: until,
  });
  tell(changes, state, alarm, 'shelved', { by, reason: act.reason });
  return { status: 'done' };
}

/** Takes an alarm off the shelf before its time. */
export function unshelve(state: IncidentState, changes: Changes, by: string, id: string): CommandAnswer {
  const alarm = state.alarms.get(id);
  if (alarm === undefined) return NO_SUCH;
  if (alarm.shelved === null) return { status: 'refused', code: 'not-shelved', message: 'This alarm is not shelved' };
  offTheShelf(state, changes, alarm, { by });
  return { status: 'done' };
}

function offTheShelf(
  state: IncidentState,
  changes: Changes,
  alarm: AlarmRecord,
  why: { by?: string; reason?: string; whileDown?: boolean },
): void {
  alarm.shelved = null;
  cancelDeadline(state.deadlines, shelfKey(alarm));
  settle(state, changes, alarm, 'unshelved', why);
}

function refuseProtected(what: string): CommandAnswer {
  return {
    status: 'refused',
    code: 'protected',
    message: `This alarm is never ${what}: it says that somebody may be in danger now`,
  };
}

/** Puts a monitor, a sensor or a set-point out of service, or back. What is protected goes on sounding. */
export function changeService(
  state: IncidentState,
  changes: Changes,
  by: string,
  act: Act<'out-of-service'>,
): CommandAnswer {
  const { monitor, sensor, setPoint, reason } = act;
  if (!state.monitors.has(monitor)) {
    return { status: 'refused', code: 'no-such-monitor', message: `${monitor} was never heard` };
  }
  const key = serviceKey(monitor, sensor, setPoint);
  if (act.out === state.outOfService.has(key)) {
    const is = act.out ? 'is out of service already' : 'is not out of service';
    return { status: 'refused', code: act.out ? 'is-out' : 'is-in', message: `${monitor} ${is}` };
  }
  if (act.out && setPoint !== undefined && isProtectedPoint(state, setPoint))
    return refuseProtected('put out of service');
  if (act.out) state.outOfService.set(key, { by, at: state.now, reason });
  else state.outOfService.delete(key);
  const of = [monitor, sensor, setPoint].filter((part) => part !== undefined).join(' ');
  changes.head = true;
  changes.monitors.add(monitor);
  tellBoard(state, changes, {
    change: 'out-of-service',
    monitor,
    to: act.out ? 'out' : 'in',
    by,
    words: `${of} ${act.out ? 'out of service' : 'back in service'}: ${reason}`,
  });
  for (const alarm of [...state.alarms.values()]) {
    if (alarm.monitor === monitor) reviewService(state, changes, alarm, { by, reason });
  }
  return { status: 'done' };
}

const ALWAYS_PROTECTED: ReadonlySet<string> = new Set(['down', 'help', 'over-range', 'relay-lost']);

function isProtectedPoint(state: IncidentState, id: string): boolean {
  return ALWAYS_PROTECTED.has(id) || state.table.setPoints.some((point) => point.id === id && point.protected);
}

function reviewService(
  state: IncidentState,
  changes: Changes,
  alarm: AlarmRecord,
  why: { by?: string; reason?: string },
): void {
  const reason = isProtected(state, alarm) ? null : outOfServiceReason(state, alarm);
  if (reason === alarm.outOfService) return;
  const was = alarm.outOfService !== null;
  alarm.outOfService = reason;
  if (reason === null) settle(state, changes, alarm, 'in-service', why);
  else if (!was) {
    quiet(state, alarm);
    tell(changes, state, alarm, 'out-of-service', why);
  }
}

function quiet(state: IncidentState, alarm: AlarmRecord): void {
  alarm.firstOut = false;
  alarm.escalated = false;
  stopAwaiting(state, alarm);
}

/** Brings back what must not stay aside any more: a wearer went into the hot zone, or another table protects it. */
export function liftProtected(state: IncidentState, changes: Changes): void {
  for (const alarm of [...state.alarms.values()]) {
    if (alarm.shelved === null && alarm.suppressed === null && alarm.outOfService === null) continue;
    if (!isProtected(state, alarm)) continue;
    alarm.outOfService = null;
    alarm.suppressed = null;
    if (alarm.shelved !== null) offTheShelf(state, changes, alarm, { reason: NOW_PROTECTED });
    else settle(state, changes, alarm, 'unsuppressed', { reason: NOW_PROTECTED });
  }
}

const NOW_PROTECTED = 'never put aside here';

/** A test of horn and lights began, went on or ended: it ends by itself after 60 s, heard or not. */
export function reviewTest(state: IncidentState, changes: Changes, monitor: MonitorState): void {
  const key = `test-end ${monitor.id}`;
  if (isTesting(state, monitor)) {
    if (state.deadlines.byKey.has(key)) return;
    const at = Math.max(state.now, monitor.testSince + LONGEST_TEST_US) + 1;
    setDeadline(state.deadlines, { key, kind: 'test-end', monitor: monitor.id, at });
    return;
  }
  if (!monitor.test) cancelDeadline(state.deadlines, key);
  for (const alarm of [...state.alarms.values()]) {
    if (alarm.monitor === monitor.id && alarm.suppressed === TEST_WORDS) unsuppress(state, changes, alarm);
  }
}

function unsuppress(state: IncidentState, changes: Changes, alarm: AlarmRecord): void {
  alarm.suppressed = null;
  settle(state, changes, alarm, 'unsuppressed');
}

/**
 * While the alarm of a relay says that all it heard are silent, their own silence is suppressed: the answer is asked
 * for once. When it ends, whoever is silent still has an alarm of their own.
 */
export function reviewRelaySilence(state: IncidentState, changes: Changes, relay: string): void {
  const lost = relayIsLost(state, relay);
  const words = relayWords(relay);
  const whole = listedAlarm(state, relayBase(relay));
  for (const alarm of [...state.alarms.values()]) {
    if (alarm.kind !== 'silent') continue;
    if (lost && state.monitors.get(alarm.monitor)?.relay === relay) {
      if (alarm.suppressed !== null || !alarm.condition || isProtected(state, alarm)) continue;
      // An answer that was still owed is asked for by the relay's alarm from now on.
      if (isWaiting(alarm) && whole !== undefined) alarm.announced = false;
      alarm.suppressed = words;
      quiet(state, alarm);
      tell(changes, state, alarm, 'suppressed', { reason: words });
    } else if (alarm.suppressed === words) unsuppress(state, changes, alarm);
  }
}

/** A deadline of an alarm came up. */
export function alarmDue(state: IncidentState, changes: Changes, deadline: Deadline, whileDown: boolean): void {
  const alarm = state.alarms.get(deadline.of ?? '');
  if (alarm === undefined) return;
  const down = whileDown ? { whileDown } : {};
  switch (deadline.kind) {
    case 'shelf-end':
      offTheShelf(state, changes, alarm, down);
      return;
    case 'escalate':
      if (!isWaiting(alarm) || alarm.priority !== 'danger') return;
      alarm.escalated = true;
      tell(changes, state, alarm, 'escalated', down);
      return;
    case 'sound-again': {
      const stands = alarmStateOf(alarm);
      if (stands !== 'unacknowledged' && stands !== 'latched-unacknowledged') return;
      alarm.sounded += 1;
      awaitNextSound(state, alarm);
      tell(changes, state, alarm, 'sounds-again', down);
      return;
    }
  }
}
