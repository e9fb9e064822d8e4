/** A wearer who is down, calls for help, or does not move. */
import { baseOf, conditionEnded, listedAlarm, type Occasion, raise } from './alarms.ts';
import { tellBoard } from './board-events.ts';
import type { Changes } from './changes.ts';
import { cancelDeadline, type Deadline, setDeadline } from './deadlines.ts';
import { isPastControlLine, isWearer, personOf } from './people.ts';
import type { IncidentState, MonitorState } from './state.ts';
import { type PostTime, SECOND } from './time.ts';
import { hold, OWN_TIME } from './watch.ts';

export const STILL_PRE_US = 20 * SECOND;
export const STILL_US = 30 * SECOND;

/** Motion of a wearer: `down` at once, `still` after the set times, for a wearer or past the control line. */
export function reviewMotion(state: IncidentState, changes: Changes, monitor: MonitorState): void {
  const id = monitor.id;
  const person = personOf(state, monitor);
  const counts = isWearer(person) || isPastControlLine(person);
  if (monitor.motion === 'still' && counts) {
    const at = (after: number) => Math.max(state.now, monitor.motionSince + after);
    if (!stillAlarmHolds(state, monitor)) {
      // Told once: who is assigned after it has passed is told by the alarm itself.
      if (state.now <= monitor.motionSince + STILL_PRE_US) {
        setDeadline(state.deadlines, {
          key: `still-pre ${id}`,
          kind: 'still-pre',
          monitor: id,
          at: at(STILL_PRE_US),
        });
      }
      setDeadline(state.deadlines, { key: `still ${id}`, kind: 'still', monitor: id, at: at(STILL_US) });
    }
  } else {
    cancelDeadline(state.deadlines, `still-pre ${id}`);
    cancelDeadline(state.deadlines, `still ${id}`);
    if (monitor.motion !== 'still') {
      const alarm = listedAlarm(state, baseOf(id, null, 'still'));
      if (alarm !== undefined && monitor.motion === 'moving') conditionEnded(state, changes, alarm);
    }
  }
  hold(
    state,
    changes,
    baseOf(id, null, 'down'),
    monitor.motion === 'down',
    callFor(monitor, 'down', monitor.motionSince, false),
  );
}

function stillAlarmHolds(state: IncidentState, monitor: MonitorState): boolean {
  return listedAlarm(state, baseOf(monitor.id, null, 'still'))?.condition === true;
}

/** A motion deadline came up. */
export function stillnessGrew(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  deadline: Deadline,
  whileDown: boolean,
): void {
  changes.monitors.add(monitor.id);
  if (deadline.kind === 'still-pre') {
    tellBoard(state, changes, {
      change: 'motion',
      monitor: monitor.id,
      to: 'still',
      words: 'has not moved for 20 s',
      ...(whileDown ? { whileDown } : {}),
    });
    return;
  }
  raise(state, changes, baseOf(monitor.id, null, 'still'), {
    monitor: monitor.id,
    kind: 'still',
    sensor: null,
    setPoint: 'still',
    priority: 'danger',
    latched: false,
    since: monitor.motionSince,
    value: null,
    late: false,
    whileDown,
    words: 'does not move',
    action: 'Call twice by radio; no answer: send the backup team by your procedure.',
    source: `${OWN_TIME}; 30 s is the time of motion alarms by NFPA 1982`,
  });
}

/** The wearer's own call, or the monitor's word that its wearer is down. */
export function callFor(monitor: MonitorState, kind: 'down' | 'help', since: PostTime, late: boolean): Occasion {
  return {
    monitor: monitor.id,
    kind,
    sensor: null,
    setPoint: kind,
    priority: 'danger',
    latched: true,
    since,
    value: null,
    late,
    whileDown: false,
    words: `${kind === 'down' ? 'wearer down' : 'calls for help'}${late ? ', learned late' : ''}`,
    action: 'Call by radio and send the backup team by your procedure. This board cannot signal the entrants.',
    source: 'sent by the monitor',
  };
}
