/** A journal written by hand for tests of the fold: times in seconds from its opening, packets as on the wire. */
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import type { SetPointTable } from '../../shared/alarm/set-point.ts';
import { alarmStateOf } from '../../shared/incident/alarms.ts';
import { createChanges } from '../../shared/incident/changes.ts';
import type { AlarmEvent, FoldEvent } from '../../shared/incident/events.ts';
import { advance, fold } from '../../shared/incident/fold.ts';
import type { JournalRecord, RecordBody, StaffAct } from '../../shared/incident/records.ts';
import { type AlarmRecord, createState, type MonitorState } from '../../shared/incident/state.ts';
import { toWallMs } from '../../shared/incident/time.ts';
import { alarmViews, monitorView } from '../../shared/incident/view.ts';
import type { AlarmView, Cell, MonitorView } from '../../shared/protocol/board.ts';
import type { CommandAnswer } from '../../shared/protocol/commands.ts';
import { readPacket } from '../../shared/protocol/read-packet.ts';

export const START_MS = Date.UTC(2026, 4, 14, 13, 0, 0);
export const START_US = START_MS * 1000;
export type Wire = Record<string, unknown>;

/** Wall clock of a journal second as a relay would write it. */
export function isoAt(seconds: number): string {
  return new Date(START_MS + seconds * 1000).toISOString();
}

/** A reading in the canonical unit of one of the six channels. */
export const o2 = (value: number) => ({ o2: { value, unit: '%vol' } });
export const lel = (value: number) => ({ lel: { value, unit: '%LEL' } });
export const co = (value: number) => ({ co: { value, unit: 'ppm' } });

export function openedRecord(setPoints: SetPointTable = DEFAULT_TABLE): JournalRecord {
  return {
    cursor: 1,
    at: START_US,
    kind: 'opened',
    purpose: 'exercise',
    incident: 'i-1',
    name: 'Cold store',
    epoch: 'e-1',
    zone: 'UTC',
    wallOffsetMs: 0,
    by: 'chief',
    setPoints,
  };
}

export function createRun(setPoints: SetPointTable = DEFAULT_TABLE) {
  const state = createState();
  const records: JournalRecord[] = [];
  const events: FoldEvent[] = [];
  let seq = 0;
  let commands = 0;

  function put(seconds: number, body: RecordBody): FoldEvent[] {
    const record: JournalRecord = { ...body, cursor: state.cursor + 1, at: START_US + Math.round(seconds * 1e6) };
    return take(record);
  }
  function take(record: JournalRecord): FoldEvent[] {
    records.push(record);
    const changes = fold(state, record, createChanges());
    events.push(...changes.events);
    return changes.events;
  }
  take(openedRecord(setPoints));

  const run = {
    state,
    records,
    events,
    put,
    take,
    /** A packet of M-1 that arrives at `seconds`; `wire` adds to it or overrides. */
    packet(seconds: number, wire: Wire = {}, relay = 'relay-1'): FoldEvent[] {
      seq += 1;
      const wallMs = toWallMs(START_US + Math.round(seconds * 1e6), state.wallOffsetMs);
      const result = readPacket({ monitor: 'M-1', boot: 'b1', seq, ...wire }, wallMs);
      if (!result.ok) throw new Error(result.error.message);
      return put(seconds, { kind: 'packet', relay, packet: result.packet });
    },
    read(seconds: number, readings: Wire, wire: Wire = {}) {
      return run.packet(seconds, { readings, ...wire });
    },
    status(seconds: number, status: Wire, wire: Wire = {}) {
      return run.packet(seconds, { status, ...wire });
    },
    /** The same packet every second in [from, to]. */
    every(from: number, to: number, wire: Wire): void {
      for (let at = from; at <= to; at += 1) run.packet(at, wire);
    },
    command(seconds: number, act: StaffAct, by = 'safety', id = `c-${++commands}`): CommandAnswer {
      put(seconds, { kind: 'command', id, by, role: 'officer', act });
      const answer = state.answers.get(id);
      if (answer === undefined) throw new Error('no answer');
      return answer;
    },
    acknowledge(seconds: number, alarm: AlarmRecord, by = 'safety', seenCursor = state.cursor): CommandAnswer {
      const { id, occurrence } = alarm;
      return run.command(seconds, { type: 'acknowledge', alarm: id, occurrence, seenCursor }, by);
    },
    reset: (seconds: number, alarm: AlarmRecord) => run.command(seconds, { type: 'reset', alarm: alarm.id }),
    assign(seconds: number, entrant: string | null, monitor = 'M-1', role: 'entry' | 'perimeter' = 'entry') {
      return run.command(seconds, { type: 'assign', monitor, entrant, role });
    },
    zone(seconds: number, zone: 'cold' | 'warm' | 'hot', entrant = 'E1-A') {
      return run.command(seconds, { type: 'entry', entrant, zone });
    },
    gap(from: number, to: number) {
      return put(to, {
        kind: 'gap',
        from: START_US + Math.round(from * 1e6),
        cause: 'restart',
        judgedBy: 'wall-clock',
      });
    },
    advance(seconds: number): FoldEvent[] {
      const changes = advance(state, START_US + Math.round(seconds * 1e6), createChanges());
      events.push(...changes.events);
      return changes.events;
    },
    /** The listed alarm of that set-point, sensor left out where there is none. */
    alarm(setPoint: string, monitor = 'M-1'): AlarmRecord | undefined {
      return [...state.alarms.values()].find((alarm) => alarm.setPoint === setPoint && alarm.monitor === monitor);
    },
    need(setPoint: string, monitor = 'M-1'): AlarmRecord {
      const alarm = run.alarm(setPoint, monitor);
      if (alarm === undefined) throw new Error(`no alarm ${setPoint} among ${run.listed().join(', ')}`);
      return alarm;
    },
    stateOf(setPoint: string, monitor = 'M-1'): string {
      const alarm = run.alarm(setPoint, monitor);
      return alarm === undefined ? 'normal' : alarmStateOf(alarm);
    },
    listed: () => [...state.alarms.values()].map((alarm) => alarm.base),
    monitor(id = 'M-1'): MonitorState {
      const monitor = state.monitors.get(id);
      if (monitor === undefined) throw new Error(`no monitor ${id}`);
      return monitor;
    },
    view: (id = 'M-1'): MonitorView => monitorView(state, run.monitor(id)),
    views: (): AlarmView[] => alarmViews(state),
    cell(channel: string, id = 'M-1'): Cell {
      const cell = run.view(id).readings[channel];
      if (cell === undefined) throw new Error(`no cell ${channel}`);
      return cell;
    },
  };
  return run;
}

/** "raised o2-low" and so on, with the second it happened. */
export function told(events: readonly FoldEvent[]): string[] {
  return events.map((event) => {
    const seconds = (event.at - START_US) / 1e6;
    const what = event.type === 'alarm' ? (event.setPoint ?? event.kind) : (event.to ?? '');
    return `${seconds} ${event.change} ${what}`.trim();
  });
}

/** Alarm events alone. */
export function alarmEvents(events: readonly FoldEvent[]): AlarmEvent[] {
  return events.filter((event): event is AlarmEvent => event.type === 'alarm');
}
