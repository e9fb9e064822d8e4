/** Views of the board for tests of the page: every field set to something ordinary, overridden as needed. */
import type { AlarmView, BoardHead, Cell, MonitorView } from '../../shared/protocol/board.ts';
import type { LiveFrame } from '../../shared/protocol/frames.ts';

export const T0 = Date.parse('2026-05-14T13:05:00.000Z');
export const iso = (ms: number) => new Date(ms).toISOString();

export function cell(over: Partial<Cell> = {}): Cell {
  return {
    value: 20.9,
    unit: '%vol',
    raw: null,
    standing: 'good',
    reasons: [],
    headroom: 1,
    ticks: [],
    trend: 0,
    measuredAt: iso(T0),
    level: null,
    ...over,
  };
}

export function view(id: string, over: Partial<MonitorView> = {}): MonitorView {
  return {
    id,
    readings: { o2: cell() },
    status: {},
    notWatched: [],
    track: [],
    lastHeardAt: iso(T0),
    link: 'live',
    ...over,
  };
}

export function alarm(id: string, over: Partial<AlarmView> = {}): AlarmView {
  return {
    id,
    occurrence: 1,
    monitor: 'M-01',
    kind: 'level',
    priority: 'danger',
    state: 'unacknowledged',
    firstOut: false,
    since: iso(T0),
    raisedAt: iso(T0),
    words: 'oxygen 18.9 %vol',
    action: 'withdraw',
    source: '29 CFR 1910.146(b)',
    ...over,
  };
}

export function head(over: Partial<BoardHead> = {}): BoardHead {
  return {
    incident: null,
    journal: { purpose: 'standby', name: 'standby', zone: 'America/Chicago' },
    recording: { ok: true },
    setPoints: { name: 'Starting points', version: 1, reviewed: false },
    relays: [],
    teams: [],
    people: [],
    notices: [],
    refusedElsewhere: 0,
    ...over,
  };
}

export function snapshot(monitors: MonitorView[], alarms: AlarmView[] = [], cursor = 10, epoch = 'e1'): LiveFrame {
  const at = iso(T0);
  return { type: 'snapshot', epoch, cursor, at, board: { ...head(), epoch, cursor, at, monitors, alarms } };
}

export function delta(cursor: number, over: Partial<Extract<LiveFrame, { type: 'delta' }>> = {}): LiveFrame {
  return { type: 'delta', cursor, at: iso(T0 + cursor), monitors: [], alarms: [], ended: [], ...over };
}
