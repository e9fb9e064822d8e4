/**
 * Another table of set-points comes into force. Everything present is judged anew at once. An alarm whose set-point
 * changed or went stays on the list: its condition is over, it has to be answered again, and its words say why.
 */
import { checkTable } from '../alarm/check-table.ts';
import { comparedValue, meets, pointsOf } from '../alarm/compile.ts';
import type { Priority, SetPoint, SetPointTable } from '../alarm/set-point.ts';
import type { CommandAnswer } from '../protocol/commands.ts';
import { valueWords } from '../quantity/display.ts';
import { settleChanged } from './alarms.ts';
import { backgroundOf } from './backgrounds.ts';
import { tellBoard } from './board-events.ts';
import type { Changes } from './changes.ts';
import { trendOf } from './channel-trend.ts';
import { cancelDeadline } from './deadlines.ts';
import { judgeExposures } from './fold-exposure.ts';
import { judgeAnew, offKey, onKey, setPointWords } from './levels.ts';
import { liftProtected } from './put-aside.ts';
import type { AlarmRecord, IncidentState } from './state.ts';

/** Adopts a table; refused where it has an error. */
export function adoptTable(state: IncidentState, changes: Changes, by: string, table: SetPointTable): CommandAnswer {
  const errors = checkTable(table).filter((problem) => problem.severity === 'error');
  if (errors.length > 0) {
    const message = errors.map((problem) => problem.words).join('; ');
    return { status: 'refused', code: 'table-invalid', message };
  }
  const before = state.table;
  const after: SetPointTable = { ...table, reviewedBy: by };
  remapPhases(state, before, after);
  state.table = after;
  changes.head = true;
  tellBoard(state, changes, {
    change: 'set-points',
    by,
    words: `set-points adopted: ${after.name}, version ${after.version}`,
  });
  for (const alarm of [...state.alarms.values()]) follow(state, changes, alarm, before, after);
  for (const monitor of state.monitors.values()) {
    changes.monitors.add(monitor.id);
    judgeAnew(state, changes, monitor);
  }
  for (const person of state.people.values()) judgeExposures(state, changes, person);
  liftProtected(state, changes);
  return { status: 'done' };
}

/** Phases stand in the order of the table: each goes to the same set-point of the new one, a changed one begins anew. */
function remapPhases(state: IncidentState, before: SetPointTable, after: SetPointTable): void {
  for (const monitor of state.monitors.values()) {
    for (const channel of monitor.channels.values()) {
      const old = pointsOf(before, channel.channel);
      const phases = channel.phases;
      const now = pointsOf(after, channel.channel);
      channel.phases = now.map((point) => {
        const index = old.findIndex((known) => known.id === point.id);
        const known = old[index];
        return known !== undefined && isSameLevel(known, point) ? (phases[index] ?? 0) : 0;
      });
      for (const point of old) {
        const same = now.find((one) => one.id === point.id);
        if (same !== undefined && isSameLevel(point, same) && same.onDelayMs === point.onDelayMs) continue;
        cancelDeadline(state.deadlines, onKey(monitor.id, point));
        if (same === undefined || !isSameLevel(point, same)) cancelDeadline(state.deadlines, offKey(monitor.id, point));
      }
    }
  }
}

/** Takes over what the new table says of an alarm's set-point, or ends it where that changed or went. */
function follow(
  state: IncidentState,
  changes: Changes,
  alarm: AlarmRecord,
  before: SetPointTable,
  after: SetPointTable,
): void {
  if (alarm.kind !== 'level' && alarm.kind !== 'exposure') return;
  const old = before.setPoints.find((point) => isOf(alarm, point));
  const now = after.setPoints.find((point) => isOf(alarm, point));
  if (now !== undefined && old !== undefined && isSameLevel(old, now)) {
    alarm.action = now.action;
    alarm.source = now.source;
    alarm.protected = now.protected;
    changes.alarms.add(alarm.id);
    return;
  }
  const why = now === undefined ? 'its set-point is gone from the table' : `its set-point is now ${setPointWords(now)}`;
  settleChanged(state, changes, alarm, why);
}

function isOf(alarm: AlarmRecord, point: SetPoint): boolean {
  return point.id === alarm.setPoint && point.channel === alarm.sensor;
}

/** Whether two set-points ask the same of a reading. */
function isSameLevel(a: SetPoint, b: SetPoint): boolean {
  return (
    a.channel === b.channel &&
    a.compare === b.compare &&
    a.direction === b.direction &&
    a.value === b.value &&
    a.unit === b.unit &&
    a.priority === b.priority &&
    a.latched === b.latched
  );
}

export type Preview = {
  /** What would be in alarm at once, by what is known now. */
  alarms: {
    monitor: string;
    entrant: string | null;
    channel: string;
    setPoint: string;
    priority: Priority;
    words: string;
    /** It is an alarm by the table in force, too. */
    stands: boolean;
  }[];
  /** Alarms that stand and whose set-point would change or go: they would end, and ask to be answered again. */
  ending: { alarm: string; monitor: string; words: string }[];
};

/** What adopting a table would do right now. Changes nothing. Sums over time are not in it. */
export function previewTable(state: IncidentState, table: SetPointTable): Preview {
  const alarms: Preview['alarms'] = [];
  for (const monitor of state.monitors.values()) {
    for (const channel of monitor.channels.values()) {
      const { value, unit } = channel;
      if (value === null || unit === null) continue;
      const background = backgroundOf(state, monitor.id, channel.channel).value;
      const old = pointsOf(state.table, channel.channel);
      for (const point of pointsOf(table, channel.channel)) {
        const rise = point.compare === 'rise-per-minute' ? trendOf(channel) : null;
        if (!meets(point, comparedValue(point, value, background, rise))) continue;
        const index = old.findIndex((known) => known.id === point.id && isSameLevel(known, point));
        alarms.push({
          monitor: monitor.id,
          entrant: monitor.entrant,
          channel: channel.channel,
          setPoint: point.id,
          priority: point.priority,
          words: `${valueWords(channel.channel, value, unit)}: ${setPointWords(point)}`,
          stands: index >= 0 && (channel.phases[index] ?? 0) !== 0,
        });
      }
    }
  }
  const ending = [...state.alarms.values()]
    .filter((alarm) => (alarm.kind === 'level' || alarm.kind === 'exposure') && alarm.condition)
    .filter((alarm) => {
      const old = state.table.setPoints.find((point) => isOf(alarm, point));
      const now = table.setPoints.find((point) => isOf(alarm, point));
      return old === undefined || now === undefined || !isSameLevel(old, now);
    })
    .map((alarm) => ({ alarm: alarm.id, monitor: alarm.monitor, words: alarm.words }));
  return { alarms, ending };
}
