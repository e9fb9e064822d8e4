/**
 * The state as text, for checkpoints and for the record that one file hands over to the next. Maps keep their
 * order, so that the same state gives the same text.
 */
import { pointsOf } from '../alarm/compile.ts';
import type { SetPointTable } from '../alarm/set-point.ts';
import { createSeries } from '../exposure/series.ts';
import { rebuildHeap } from './deadlines.ts';
import { type AlarmRecord, createFigures, type IncidentState } from './state.ts';

const MAP = '$map';
const BYTES = '$bytes';

/** The state as JSON text. `withSeries: false` leaves out what can be folded again from the copied records. */
export function encodeState(state: IncidentState, options: { withSeries: boolean }): string {
  const keepSeries = options.withSeries;
  return JSON.stringify(state, function (this: unknown, key, value: unknown) {
    if (key === 'heap') return [];
    // How the heap stands depends on how often it was asked; the state does not.
    if (key === 'queuedAt') return undefined;
    if (key === 'series' && !keepSeries) return undefined;
    if (value instanceof Map) return { [MAP]: [...value.entries()] };
    if (value instanceof Uint8Array) return { [BYTES]: toHex(value) };
    if (typeof value === 'number' && !Number.isFinite(value)) return null;
    return value;
  });
}

/** The state from its text. The text comes from our own chained file; its digest was checked before. */
export function decodeState(text: string): IncidentState {
  const state = JSON.parse(text, (_key, value: unknown) => {
    if (typeof value !== 'object' || value === null) return value;
    if (MAP in value && Array.isArray(value[MAP])) return new Map(value[MAP] as [unknown, unknown][]);
    if (BYTES in value && typeof value[BYTES] === 'string') return fromHex(value[BYTES]);
    return value;
  }) as IncidentState;
  fillIn(state);
  rebuildHeap(state.deadlines);
  return state;
}

/** What an earlier version did not know of yet: its text is in files that are read for decades. */
function fillIn(state: Partial<IncidentState> & Pick<IncidentState, 'alarms' | 'people'>): void {
  const given = <T extends object>(into: T, missing: Partial<T>) => Object.assign(into, { ...missing, ...into });
  given(state, { backgrounds: new Map(), outOfService: new Map(), figures: createFigures() });
  for (const alarm of state.alarms.values()) given(alarm, OLD_ALARM);
  for (const person of state.people.values()) given(person, { worn: [], exposure: null });
}

const OLD_ALARM: Partial<AlarmRecord> = {
  protected: false,
  shelved: null,
  suppressed: null,
  outOfService: null,
  announced: true,
  escalated: false,
  sounded: 0,
  relay: null,
};

/** Puts what was carried over in the place of what the copied records gave, but for the journal's own facts. */
export function adoptState(state: IncidentState, carried: IncidentState): void {
  carryPhases(carried, state.table);
  const series = new Map([...state.monitors].map(([id, monitor]) => [id, monitor.series]));
  replace(state.monitors, carried.monitors);
  for (const [id, monitor] of state.monitors) {
    Object.assign(monitor, { series: series.get(id) ?? createSeries() });
  }
  for (const name of [
    'relays',
    'people',
    'alarms',
    'occurrences',
    'listed',
    'answered',
    'answers',
    'backgrounds',
    'outOfService',
  ] as const) {
    replace<unknown>(state[name] as Map<string, unknown>, carried[name] as Map<string, unknown>);
  }
  replace(state.deadlines.byKey, carried.deadlines.byKey);
  rebuildHeap(state.deadlines);
  const told = new Set(carried.notices.map((notice) => `${notice.at} ${notice.words}`));
  const own = state.notices.filter((notice) => !told.has(`${notice.at} ${notice.words}`));
  state.notices = [...carried.notices, ...own].sort((a, b) => a.at - b.at);
  state.refusedElsewhere = carried.refusedElsewhere;
  Object.assign(state, { figures: carried.figures });
  // A screen cannot have drawn the old file's cursors: whatever stands here it has to draw first.
  for (const alarm of state.alarms.values()) alarm.worseCursor = state.cursor;
}

/** Phases stand in the order of the table they were judged by: each goes to the same set-point of the new one. */
function carryPhases(carried: IncidentState, table: SetPointTable): void {
  for (const monitor of carried.monitors.values()) {
    for (const channel of monitor.channels.values()) {
      const before = pointsOf(carried.table, channel.channel);
      channel.phases = pointsOf(table, channel.channel).map((point) => {
        const index = before.findIndex((known) => known.id === point.id);
        return channel.phases[index] ?? 0;
      });
    }
  }
}

function replace<T>(into: Map<string, T>, from: ReadonlyMap<string, T>): void {
  into.clear();
  for (const [key, value] of from) into.set(key, value);
}

function toHex(bytes: Uint8Array): string {
  let text = '';
  for (const byte of bytes) text += byte.toString(16).padStart(2, '0');
  return text;
}

function fromHex(text: string): Uint8Array {
  const bytes = new Uint8Array(text.length / 2);
  for (let i = 0; i < bytes.length; i += 1) bytes[i] = Number.parseInt(text.slice(2 * i, 2 * i + 2), 16);
  return bytes;
}
