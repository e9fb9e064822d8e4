/**
 * Whether somebody is being watched over at all: a monitor that went quiet, or one whose sensors do not see. Not
 * watched is an alarm for a wearer past the control line, danger in the hot zone.
 */

import type { Priority } from '../alarm/set-point.ts';
import { CHANNELS, isKnownChannel } from '../quantity/channels.ts';
import { channelName } from '../quantity/display.ts';
import { baseOf, conditionEnded, gotWorse, listedAlarm, type Occasion, raise } from './alarms.ts';
import { tellBoard } from './board-events.ts';
import type { Changes } from './changes.ts';
import { cancelDeadline, moveDeadline, setDeadline } from './deadlines.ts';
import { holderOf, isPastControlLine, isWearer, personOf } from './people.ts';
import { reviewRelay } from './relay-lost.ts';
import type { IncidentState, MonitorState, PersonState } from './state.ts';
import { MILLISECOND, type PostTime, SECOND } from './time.ts';

/** Off-delay of "not watched", as of the levels. */
const WATCH_OFF_US = 5 * SECOND;
export const OWN_TIME = 'set time of this post; common practice, no source';
const PROCEDURE_SILENT =
  'Call them by radio. No answer: treat as lost contact and send the backup team by your procedure.';

/** Silence after which values are old. */
export function staleAfterUs(monitor: Pick<MonitorState, 'intervalMs'>): number {
  return Math.max(10 * SECOND, 3 * (monitor.intervalMs ?? 0) * MILLISECOND);
}

/** Silence after which the monitor is lost. */
export function lostAfterUs(monitor: Pick<MonitorState, 'intervalMs'>): number {
  return Math.max(30 * SECOND, 3 * staleAfterUs(monitor));
}

/** The monitor was heard of, by something that was measured at `measuredAt`: its silence counts from there. */
export function heard(state: IncidentState, changes: Changes, monitor: MonitorState, measuredAt: PostTime): void {
  const advanced = measuredAt >= monitor.heardAt;
  if (advanced) monitor.heardAt = measuredAt;
  const staleAt = monitor.heardAt + staleAfterUs(monitor);
  if (staleAt > state.now) {
    if (!moveDeadline(state.deadlines, monitor.staleKey, staleAt))
      setDeadline(state.deadlines, { key: monitor.staleKey, kind: 'stale', monitor: monitor.id, at: staleAt });
    if (monitor.link === 'live' || !advanced) return;
    cancelDeadline(state.deadlines, lostKey(monitor));
    setLink(state, changes, monitor, 'live', false);
    return;
  }
  // What came is old itself: nobody knows how it is there now.
  const lostAt = monitor.heardAt + lostAfterUs(monitor);
  cancelDeadline(state.deadlines, monitor.staleKey);
  const link = lostAt > state.now ? 'stale' : 'lost';
  if (link === 'stale') awaitLoss(state, monitor);
  if (monitor.link !== link) setLink(state, changes, monitor, link, false);
}

function lostKey(monitor: MonitorState): string {
  return `lost ${monitor.id}`;
}

/** From stale on it is a matter of time; a monitor that is heard needs no such deadline. */
function awaitLoss(state: IncidentState, monitor: MonitorState): void {
  const at = monitor.heardAt + lostAfterUs(monitor);
  cancelDeadline(state.deadlines, lostKey(monitor));
  setDeadline(state.deadlines, { key: lostKey(monitor), kind: 'lost', monitor: monitor.id, at });
}

/** A silence deadline came up. */
export function silenceGrew(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  to: 'stale' | 'lost',
  whileDown: boolean,
): void {
  if (to === 'stale') {
    if (monitor.link === 'lost') return;
    awaitLoss(state, monitor);
  }
  setLink(state, changes, monitor, to, whileDown);
}

/** After a gap every value is old until it is heard again. */
export function markStale(state: IncidentState, changes: Changes, monitor: MonitorState): void {
  for (const channel of monitor.channels.values()) channel.unheard = true;
  changes.monitors.add(monitor.id);
  if (monitor.link === 'live') setLink(state, changes, monitor, 'stale', true);
}

function setLink(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  to: MonitorState['link'],
  whileDown: boolean,
): void {
  if (monitor.link !== to) {
    monitor.link = to;
    changes.monitors.add(monitor.id);
    tellBoard(state, changes, {
      change: 'link',
      monitor: monitor.id,
      to,
      words:
        to === 'live'
          ? 'heard again'
          : to === 'stale'
            ? 'not heard: its values are old'
            : 'lost: nobody knows how it is there now',
      ...(whileDown ? { whileDown } : {}),
    });
  }
  reviewSilence(state, changes, monitor, whileDown);
  reviewRelay(state, changes, monitor.relay, whileDown);
}

/** Silence is danger in the hot zone and caution elsewhere; past the control line it counts from stale on. */
export function reviewSilence(state: IncidentState, changes: Changes, monitor: MonitorState, whileDown = false): void {
  const person = personOf(state, monitor);
  const silent = monitor.link === 'lost' || (monitor.link === 'stale' && isPastControlLine(person));
  const base = baseOf(monitor.id, null, 'silent');
  if (!silent && !state.listed.has(base)) return;
  hold(state, changes, base, silent, {
    ...silence(monitor.id, person),
    since: monitor.heardAt,
    whileDown,
    words: alarmHolds(state, monitor.id)
      ? 'silent: in alarm when last heard, unknown now'
      : 'silent: no alarm when last heard, unknown now',
  });
}

/** A monitor that was handed to somebody and has sent nothing yet watches nobody. */
export function reviewUnheard(state: IncidentState, changes: Changes, id: string): void {
  if (state.monitors.has(id)) return;
  const person = holderOf(state, id);
  hold(state, changes, baseOf(id, null, 'silent'), isPastControlLine(person), {
    ...silence(id, person),
    since: state.now,
    whileDown: false,
    words: 'never heard: this monitor has sent nothing',
  });
}

/**
 * A wearer past the control line without any monitor is watched by none. It is an alarm of the person.
 */
export function reviewBare(state: IncidentState, changes: Changes, name: string): void {
  const person = state.people.get(name);
  const base = baseOf(`@${name}`, null, 'no-monitor');
  const bare = isPastControlLine(person) && isWearer(person) && person?.monitor === null;
  if (!bare && !state.listed.has(base)) return;
  hold(state, changes, base, bare, {
    monitor: '',
    entrant: name,
    kind: 'not-watched',
    sensor: null,
    setPoint: 'no-monitor',
    priority: person?.zone === 'hot' ? 'danger' : 'caution',
    latched: false,
    since: state.now,
    value: null,
    late: false,
    whileDown: false,
    words: `${name} has no monitor`,
    action: 'Nobody sees what they breathe: hand them a monitor or bring them out.',
    source: 'common practice, no source',
  });
}

function silence(id: string, person: PersonState | undefined) {
  return {
    monitor: id,
    kind: 'silent',
    sensor: null,
    setPoint: 'silent',
    priority: person?.zone === 'hot' && isWearer(person) ? 'danger' : 'caution',
    latched: false,
    value: null,
    late: false,
    action: PROCEDURE_SILENT,
    source: OWN_TIME,
  } as const;
}

function alarmHolds(state: IncidentState, id: string): boolean {
  for (const alarm of state.alarms.values()) {
    if (alarm.monitor === id && alarm.kind !== 'silent' && (alarm.condition || alarm.latched)) return true;
  }
  return false;
}

/** In words, what this monitor does not watch right now. Silence is told apart. */
export function unwatched(monitor: MonitorState): string[] {
  const words: string[] = [];
  if (monitor.mode === 'radiation-only') words.push('gas is not being watched: radiation only');
  if (monitor.mode === 'gas-only') words.push('radiation is not being watched: gas only');
  if (monitor.mode !== 'radiation-only') {
    if (monitor.pump === 'blocked') words.push('gas is not being watched: pump blocked');
    if (monitor.pump === 'off') words.push('gas is not being watched: pump off');
  }
  const longest = staleAfterUs(monitor);
  for (const channel of monitor.channels.values()) {
    if (offByMode(monitor, channel.channel)) continue;
    if (monitor.heardAt - channel.stamp.at > longest)
      words.push(`${channelName(channel.channel)} is not sent any more`);
    else if (channel.flag === 'warming') words.push(`${channelName(channel.channel)} is warming up`);
    else if (channel.flag === 'fault') words.push(`${channelName(channel.channel)} sensor has a fault`);
    else if (channel.flag === 'off') words.push(`${channelName(channel.channel)} is switched off`);
    else if (channel.flag === 'not-understood') words.push(`${channelName(channel.channel)} was not understood`);
  }
  return words;
}

/** Whether the monitor's mode takes this channel out. */
export function offByMode(monitor: MonitorState, channel: string): boolean {
  const gas = !isKnownChannel(channel) || CHANNELS[channel].sampled;
  return gas ? monitor.mode === 'radiation-only' : monitor.mode === 'gas-only';
}

/** Raises or ends the alarm of a monitor that is heard and yet does not watch. */
export function reviewWatch(state: IncidentState, changes: Changes, monitor: MonitorState): void {
  const base = baseOf(monitor.id, null, 'not-watched');
  const person = personOf(state, monitor);
  const past = isPastControlLine(person);
  const alarm = listedAlarm(state, base);
  if (!past && alarm === undefined) return;
  const reasons = past ? unwatched(monitor) : [];
  const words = reasons.join('; ');
  const key = `watch-off ${monitor.id}`;
  if (reasons.length === 0) {
    if (alarm?.condition !== true) return;
    if (!past) {
      cancelDeadline(state.deadlines, key);
      conditionEnded(state, changes, alarm);
    } else if (!state.deadlines.byKey.has(key)) {
      // A sensor that comes and goes must not sound anew with every packet.
      setDeadline(state.deadlines, { key, kind: 'watch-off', monitor: monitor.id, at: state.now + WATCH_OFF_US });
    }
    return;
  }
  cancelDeadline(state.deadlines, key);
  const priority: Priority = person?.zone === 'hot' ? 'danger' : 'caution';
  if (alarm?.condition === true && rank(priority) <= rank(alarm.priority)) {
    if (alarm.words === words) return;
    const told = alarm.words.split('; ');
    changes.alarms.add(alarm.id);
    if (reasons.some((reason) => !told.includes(reason))) gotWorse(state, changes, alarm, { words, askAgain: true });
    else alarm.words = words;
    return;
  }
  hold(state, changes, base, true, {
    monitor: monitor.id,
    kind: 'not-watched',
    sensor: null,
    setPoint: 'not-watched',
    priority,
    latched: false,
    since: state.now,
    value: null,
    late: false,
    whileDown: false,
    words,
    action: 'Nobody sees what they breathe: call them, have the monitor put right or bring them out.',
    source: 'common practice, no source',
  });
}

/** All sensors have been seeing again for a while: the alarm returns, unless the monitor went quiet meanwhile. */
export function endUnwatched(state: IncidentState, changes: Changes, monitor: MonitorState): void {
  const alarm = listedAlarm(state, baseOf(monitor.id, null, 'not-watched'));
  if (alarm !== undefined && monitor.link === 'live') conditionEnded(state, changes, alarm);
}

/** Keeps an alarm's condition the same as `holds`. */
export function hold(state: IncidentState, changes: Changes, base: string, holds: boolean, occasion: Occasion): void {
  const alarm = listedAlarm(state, base);
  if (!holds) {
    if (alarm !== undefined) conditionEnded(state, changes, alarm);
    return;
  }
  if (alarm === undefined || !alarm.condition) {
    raise(state, changes, base, occasion);
    return;
  }
  if (alarm.late && !occasion.late) {
    alarm.late = false;
    alarm.words = occasion.words;
    changes.alarms.add(alarm.id);
  }
  if (rank(occasion.priority) > rank(alarm.priority))
    gotWorse(state, changes, alarm, { words: occasion.words, priority: occasion.priority });
}

function rank(priority: Priority): number {
  return priority === 'danger' ? 2 : priority === 'caution' ? 1 : 0;
}
