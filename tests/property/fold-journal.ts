/** Journals for the properties of the fold: several monitors and relays, late packets, gaps, clock steps, staff. */
import fc from 'fast-check';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import type { SetPointTable } from '../../shared/alarm/set-point.ts';
import { createChanges } from '../../shared/incident/changes.ts';
import { fold } from '../../shared/incident/fold.ts';
import type { JournalRecord, RecordBody, StaffAct } from '../../shared/incident/records.ts';
import { createState, type IncidentState } from '../../shared/incident/state.ts';
import { readPacket } from '../../shared/protocol/read-packet.ts';
import { openedRecord, START_US } from '../unit/fold-run.ts';

const values: Record<string, { unit: string; of: number[] }> = {
  o2: { unit: '%vol', of: [20.9, 20.4, 19.5, 19.4, 18, 11, 23.6, 20.6] },
  lel: { unit: '%LEL', of: [0, 7.9, 9, 10, 14, 24, 25, 60, -3] },
  co: { unit: 'ppm', of: [0, 33, 35, 200, 1200] },
  voc: { unit: 'ppb', of: [0, 900, 1000, 5000, 999] },
  gamma: { unit: 'uR/h', of: [7, 20, 21, 2000, 10_000_000] },
};
const channel = fc.constantFrom(...Object.keys(values));
const reading = fc.tuple(channel, fc.nat(8), fc.nat(11)).map(([name, pick, odd]): [string, unknown] => {
  const { unit, of } = values[name] ?? { unit: 'ppm', of: [0] };
  const value = of[pick % of.length];
  if (odd === 0) return [name, { flag: 'over-range' }];
  if (odd === 1) return [name, { flag: 'under-range' }];
  if (odd === 2) return [name, { flag: ['fault', 'off', 'warming'][pick % 3] }];
  if (odd === 3) return [name, { value }];
  return [name, { value, unit }];
});
const status = fc.record(
  {
    motion: fc.constantFrom('moving', 'moving', 'still', 'still', 'down'),
    help: fc.boolean(),
    pump: fc.constantFrom('running', 'running', 'blocked', 'off'),
    mode: fc.constantFrom('all', 'all', 'radiation-only', 'gas-only'),
    intervalMs: fc.constantFrom(1000, 5000),
  },
  { requiredKeys: [] },
);
/** Tables that change places, levels and delays, or leave set-points out. */
const TABLES: readonly SetPointTable[] = [
  DEFAULT_TABLE,
  { ...DEFAULT_TABLE, name: 'backwards', setPoints: [...DEFAULT_TABLE.setPoints].reverse() },
  {
    ...DEFAULT_TABLE,
    name: 'fewer',
    setPoints: DEFAULT_TABLE.setPoints.filter((point) => !['lel-10', 'co-35', 'o2-low'].includes(point.id)),
  },
  {
    ...DEFAULT_TABLE,
    name: 'others',
    setPoints: DEFAULT_TABLE.setPoints.map((point) => {
      if (point.id === 'co-35') return { ...point, value: 30 };
      if (point.id === 'lel-10') return { ...point, value: 20, latched: true };
      if (point.id === 'co-200') return { ...point, protected: true };
      return point.id === 'voc-1' ? { ...point, onDelayMs: 3000 } : point;
    }),
  },
];
const monitor = fc.constantFrom('M-1', 'M-2', 'M-3');
const entrant = fc.constantFrom('E1-A', 'E1-B');

const packetStep = fc.record({
  kind: fc.constant('packet' as const),
  monitor,
  relay: fc.constantFrom('relay-1', 'relay-2'),
  boot: fc.constantFrom('b1', 'b1', 'b2'),
  /** How old it is when it comes, and how the relay says so. */
  ageS: fc.oneof(fc.constant(0), fc.constant(0), fc.constantFrom(1, 5, 20, 90)),
  said: fc.constantFrom('age', 'both', 'measured', 'nothing'),
  readings: fc.array(reading, { maxLength: 4 }),
  status: fc.option(status, { nil: undefined }),
  test: fc.constantFrom(false, false, false, true),
});
const actStep = fc.oneof(
  fc.record({ kind: fc.constant('acknowledge' as const), pick: fc.nat(20), back: fc.nat(3) }),
  fc.record({ kind: fc.constant('reset' as const), pick: fc.nat(20) }),
  fc.record({
    kind: fc.constant('assign' as const),
    monitor,
    entrant: fc.oneof(entrant, entrant, fc.constant(null)),
    role: fc.constantFrom('entry' as const, 'perimeter' as const),
  }),
  fc.record({ kind: fc.constant('entry' as const), entrant, zone: fc.constantFrom('cold', 'warm', 'hot' as const) }),
  fc.record({ kind: fc.constant('shelve' as const), pick: fc.nat(20), minutes: fc.constantFrom(1, 1, 2, 60) }),
  fc.record({ kind: fc.constant('unshelve' as const), pick: fc.nat(20) }),
  fc.record({ kind: fc.constant('reset-with-reason' as const), pick: fc.nat(20) }),
  fc.record({
    kind: fc.constant('out-of-service' as const),
    monitor,
    out: fc.boolean(),
    of: fc.constantFrom({}, { sensor: 'co' }, { sensor: 'o2', setPoint: 'o2-low' }, { setPoint: 'still' }),
  }),
  fc.record({ kind: fc.constant('set-points-adopt' as const), pick: fc.nat(TABLES.length - 1) }),
  fc.record({
    kind: fc.constant('background' as const),
    scope: fc.oneof(monitor, fc.constant('site')),
    what: fc.constantFrom(
      { take: true as const },
      { channels: { gamma: { value: 12, unit: 'uR/h' as const } } },
      { channels: { voc: { value: 900, unit: 'ppb' as const }, o2: { value: 20.5, unit: '%vol' as const } } },
    ),
    override: fc.boolean(),
    confirm: fc.boolean(),
  }),
);
const oddStep = fc.oneof(
  fc.record({ kind: fc.constant('gap' as const), seconds: fc.constantFrom(3, 20, 200) }),
  fc.record({ kind: fc.constant('clock' as const), stepMs: fc.constantFrom(-3_600_000, 90_000) }),
  fc.record({ kind: fc.constant('refused' as const), monitor }),
);
const step = fc.record({
  /** Time since the step before. */
  afterMs: fc.constantFrom(1, 200, 1000, 1000, 1000, 3000, 6000, 11_000, 40_000),
  what: fc.oneof(
    { weight: 12, arbitrary: packetStep },
    { weight: 4, arbitrary: actStep },
    { weight: 1, arbitrary: oddStep },
  ),
});
type Step = typeof step extends fc.Arbitrary<infer T> ? T : never;

/** A journal and the number of its records. */
export const journal = fc.array(step, { minLength: 1, maxLength: 60 }).map(buildJournal);

function buildJournal(steps: readonly Step[]): JournalRecord[] {
  const state = createState();
  const records: JournalRecord[] = [];
  const take = (record: JournalRecord) => {
    records.push(record);
    fold(state, record, createChanges());
  };
  take(openedRecord());
  let at = START_US;
  for (const { afterMs, what } of steps) {
    const from = at + afterMs * 1000;
    at = what.kind === 'gap' ? from + what.seconds * 1_000_000 : from + 7;
    take({ ...bodyOf(state, what, { at, from }), cursor: state.cursor + 1, at });
  }
  return records;
}

function bodyOf(state: IncidentState, what: Step['what'], time: { at: number; from: number }): RecordBody {
  switch (what.kind) {
    case 'packet': {
      const wallMs = Math.floor(time.at / 1000) + state.wallOffsetMs;
      const iso = (ms: number) => new Date(ms).toISOString();
      const result = readPacket(
        {
          monitor: what.monitor,
          boot: what.boot,
          seq: state.cursor,
          ...(what.said === 'age' ? { ageMs: what.ageS * 1000 } : {}),
          ...(what.said === 'both' ? { measuredAt: iso(wallMs - what.ageS * 1000), sentAt: iso(wallMs) } : {}),
          ...(what.said === 'measured' ? { measuredAt: iso(wallMs - what.ageS * 1000) } : {}),
          readings: Object.fromEntries(what.readings),
          ...(what.status === undefined ? {} : { status: what.status }),
          ...(what.test ? { test: true } : {}),
        },
        wallMs,
      );
      if (!result.ok) throw new Error(result.error.message);
      return { kind: 'packet', relay: what.relay, packet: result.packet };
    }
    case 'gap':
      return { kind: 'gap', from: time.from, cause: 'restart', judgedBy: 'wall-clock' };
    case 'clock':
      return {
        kind: 'clock',
        wallOffsetBeforeMs: state.wallOffsetMs,
        wallOffsetAfterMs: state.wallOffsetMs + what.stepMs,
      };
    case 'refused':
      return {
        kind: 'refused',
        relay: 'relay-1',
        monitor: what.monitor,
        code: 'conflict',
        path: '',
        message: 'same key',
        raw: '{}',
      };
    default:
      return { kind: 'command', id: `c-${state.cursor}`, by: 'safety', role: 'officer', act: actOf(state, what) };
  }
}

function actOf(state: IncidentState, what: typeof actStep extends fc.Arbitrary<infer T> ? T : never): StaffAct {
  if (what.kind === 'assign') {
    return { type: 'assign', monitor: what.monitor, entrant: what.entrant, role: what.role };
  }
  if (what.kind === 'entry') return { type: 'entry', entrant: what.entrant, zone: what.zone };
  if (what.kind === 'set-points-adopt') {
    return { type: 'set-points-adopt', table: TABLES[what.pick] ?? DEFAULT_TABLE };
  }
  if (what.kind === 'out-of-service') {
    return { type: 'out-of-service', monitor: what.monitor, out: what.out, reason: 'x', ...what.of };
  }
  if (what.kind === 'background') {
    return {
      type: 'background',
      scope: what.scope,
      ...what.what,
      ...(what.override ? { override: 'x' } : {}),
      ...(what.confirm ? { confirm: true } : {}),
    };
  }
  const listed = [...state.alarms.values()];
  const alarm = listed[what.pick % Math.max(1, listed.length)];
  if (alarm === undefined) return { type: 'note', text: 'nothing to answer' };
  if (what.kind === 'reset') return { type: 'reset', alarm: alarm.id };
  if (what.kind === 'reset-with-reason') return { type: 'reset', alarm: alarm.id, reason: 'seen' };
  if (what.kind === 'shelve') return { type: 'shelve', alarm: alarm.id, minutes: what.minutes, reason: 'x' };
  if (what.kind === 'unshelve') return { type: 'unshelve', alarm: alarm.id };
  const { id, occurrence } = alarm;
  return { type: 'acknowledge', alarm: id, occurrence, seenCursor: Math.max(0, state.cursor - what.back) };
}
