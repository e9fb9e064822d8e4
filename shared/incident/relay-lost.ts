/**
 * A relay that fell silent as a whole: when every one of two or more monitors that it heard last is quiet, and at
 * least one of them is an alarm, one alarm names them all. It ends 15 s after the relay is back.
 */
import type { Priority } from '../alarm/set-point.ts';
import { conditionEnded, gotWorse, listedAlarm, raise, relayBase } from './alarms.ts';
import type { Changes } from './changes.ts';
import { setDeadline } from './deadlines.ts';
import { isPastControlLine, isWearer, personOf } from './people.ts';
import { reviewRelaySilence } from './put-aside.ts';
import type { IncidentState, MonitorState } from './state.ts';
import { SECOND } from './time.ts';

/** Time for the others to be heard, once one is; set time of this post. */
export const BACK_US = 15 * SECOND;

/** Takes up what became of the monitors of one relay. */
export function reviewRelay(state: IncidentState, changes: Changes, relay: string, whileDown = false): void {
  const base = relayBase(relay);
  const alarm = listedAlarm(state, base);
  const heard = monitorsOf(state, relay);
  const lost = heard.length >= 2 && heard.every((monitor) => monitor.link !== 'live');
  if (!lost) {
    const key = `relay-back ${relay}`;
    if (alarm?.condition !== true || state.deadlines.byKey.has(key)) return;
    setDeadline(state.deadlines, { key, kind: 'relay-back', monitor: '', of: relay, at: state.now + BACK_US });
    return;
  }
  const silent = heard.filter((monitor) => isSilent(state, monitor));
  // While the post itself was down it heard nobody: that says nothing of the relay.
  if (silent.length === 0 || (whileDown && alarm?.condition !== true)) return;
  const words = `relay ${relay} is silent as a whole: ${heard.map((monitor) => named(monitor)).join(', ')}`;
  const priority: Priority = heard.some((monitor) => isHot(state, monitor)) ? 'danger' : 'caution';
  if (alarm?.condition === true) {
    if (words !== alarm.words || (priority === 'danger' && alarm.priority !== 'danger')) {
      gotWorse(state, changes, alarm, { words, priority: alarm.priority === 'danger' ? 'danger' : priority });
    }
  } else {
    raise(state, changes, base, {
      monitor: '',
      kind: 'relay-lost',
      sensor: null,
      setPoint: 'relay-lost',
      priority,
      latched: false,
      since: Math.min(...heard.map((monitor) => monitor.heardAt)),
      value: null,
      late: false,
      whileDown,
      words,
      action: 'Call each of them by radio. No answer: treat as lost contact by your procedure. Look after the relay.',
      source: 'set time of this post; common practice, no source',
      relay,
    });
  }
  reviewRelaySilence(state, changes, relay);
}

/** The relay had its time: the alarm splits into one for each who is silent still. */
export function relayBackDue(state: IncidentState, changes: Changes, relay: string): void {
  const heard = monitorsOf(state, relay);
  if (heard.length >= 2 && heard.every((monitor) => monitor.link !== 'live')) return;
  const alarm = listedAlarm(state, relayBase(relay));
  if (alarm !== undefined) conditionEnded(state, changes, alarm);
  reviewRelaySilence(state, changes, relay);
}

function monitorsOf(state: IncidentState, relay: string): MonitorState[] {
  return [...state.monitors.values()].filter((monitor) => monitor.relay === relay);
}

function isSilent(state: IncidentState, monitor: MonitorState): boolean {
  return monitor.link === 'lost' || (monitor.link === 'stale' && isPastControlLine(personOf(state, monitor)));
}

function isHot(state: IncidentState, monitor: MonitorState): boolean {
  const person = personOf(state, monitor);
  return person?.zone === 'hot' && isWearer(person);
}

function named(monitor: MonitorState): string {
  return monitor.entrant === null ? monitor.id : `${monitor.entrant} (${monitor.id})`;
}
