/**
 * The life of an alarm, by the states of IEC 62682 as publicly restated: an acknowledgement never ends a
 * condition, a condition that ended never acknowledges, and a latched alarm needs both and a reset.
 */
import type { Priority } from '../alarm/set-point.ts';
import type { CommandAnswer } from '../protocol/commands.ts';
import { awaitAnswer, stopAwaiting } from './answer-times.ts';
import type { Changes } from './changes.ts';
import { cancelDeadline } from './deadlines.ts';
import type { AlarmEvent, AlarmKind, AlarmState } from './events.ts';
import { countAnnunciated, countTransition } from './figures.ts';
import { outOfServiceReason } from './out-of-service.ts';
import { holderOf } from './people.ts';
import { isProtected } from './protection.ts';
import type { AlarmRecord, IncidentState } from './state.ts';
import { isTesting } from './testing.ts';
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
  /** Never put aside; false where it is left out. */
  readonly protected?: boolean;
  /** The person it is about, where that is not whoever holds the monitor. */
  readonly entrant?: string;
  readonly relay?: string;
};

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

/** It sounds from now on, and waits for an answer. */
function annunciate(state: IncidentState, changes: Changes, alarm: AlarmRecord): void {
  awaitAnswer(state, alarm);
  countAnnunciated(state, changes);
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

function anyWaits(state: IncidentState): boolean {
  for (const alarm of state.alarms.values()) if (isWaiting(alarm)) return true;
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
  alarm.escalated = false;
  stopAwaiting(state, alarm);
  tell(changes, state, alarm, 'acknowledged');
  dropIfNormal(state, alarm);
  return { status: 'done' };
}

function already(state: IncidentState, first: Answerer): CommandAnswer {
  const { by, at } = first;
  return { status: 'already', by, at: toIso(at, state.wallOffsetMs), message: `${by} acknowledged it first` };
}

/**
 * Lets a latched alarm go; refused while nobody has acknowledged it, and while its condition holds unless a reason
 * says how one knows that it is over: where a monitor fell silent, nothing else ever will. `onReset` makes the
 * state agree.
 */
export function reset(
  state: IncidentState,
  changes: Changes,
  by: string,
  act: { readonly alarm: string; readonly reason?: string | undefined },
  onReset: (alarm: AlarmRecord) => void,
): CommandAnswer {
  const alarm = state.alarms.get(act.alarm);
  const { reason } = act;
  if (alarm === undefined)
    return { status: 'refused', code: 'no-such-alarm', message: 'This alarm is not on the list any more' };
  if (!alarm.latched)
    return {
      status: 'refused',
      code: 'not-latched',
      message: 'This alarm ends by itself; there is nothing to reset',
    };
  if (alarm.condition && (reason === undefined || alarm.kind === 'level'))
    return { status: 'refused', code: 'condition-holds', message: `Not while it lasts: ${alarm.words}` };
  if (alarm.acknowledged === null && !(alarm.announced === false && !alarm.condition))
    return { status: 'refused', code: 'not-acknowledged', message: 'Acknowledge it first' };
  tell(changes, state, alarm, 'reset', { by, reason: alarm.condition ? reason : undefined });
  if (alarm.condition) onReset(alarm);
  remove(state, alarm);
  return { status: 'done' };
}

export function dropIfNormal(state: IncidentState, alarm: AlarmRecord): void {
  if (alarmStateOf(alarm) === 'normal') remove(state, alarm);
}

const MOST_ANSWERED = 1_000;

function remove(state: IncidentState, alarm: AlarmRecord): void {
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

export function shelfKey(alarm: AlarmRecord): string {
  return `shelf-end ${alarm.id}`;
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
