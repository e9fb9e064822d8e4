import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { comparedValue, meets, pointsOf } from '../../shared/alarm/compile.ts';
import { type Integral, integral } from '../../shared/exposure/integral.ts';
import { alarmStateOf, baseOf, isWaiting, listedAlarm, relayIsLost, relayWords } from '../../shared/incident/alarms.ts';
import { backgroundOf } from '../../shared/incident/backgrounds.ts';
import { createChanges } from '../../shared/incident/changes.ts';
import type { FoldEvent } from '../../shared/incident/events.ts';
import { advance, fold } from '../../shared/incident/fold.ts';
import { personOf } from '../../shared/incident/people.ts';
import { isProtected } from '../../shared/incident/protection.ts';
import { type JournalRecord, plainRecord, type StaffAct } from '../../shared/incident/records.ts';
import {
  type AlarmRecord,
  type ChannelState,
  createState,
  type IncidentState,
  type MonitorState,
} from '../../shared/incident/state.ts';
import { decodeState, encodeState } from '../../shared/incident/state-codec.ts';
import { boardView } from '../../shared/incident/view.ts';
import { unwatched } from '../../shared/incident/watch.ts';
import { board } from '../../shared/protocol/board.ts';
import { readPacket } from '../../shared/protocol/read-packet.ts';
import { openedRecord, START_US } from '../unit/fold-run.ts';
import { journal } from './fold-journal.ts';

const text = (state: IncidentState) => encodeState(state, { withSeries: true });

function foldAll(
  records: readonly JournalRecord[],
  state = createState(),
): { state: IncidentState; events: FoldEvent[] } {
  const events: FoldEvent[] = [];
  for (const record of records) events.push(...fold(state, record, createChanges()).events);
  return { state, events };
}

/** How far a live run may advance before `record` is folded. */
function horizon(state: IncidentState, record: JournalRecord): number {
  return record.kind === 'gap' ? Math.max(state.now, record.from) : record.at;
}

describe('live and replay', () => {
  test('give the same events to the byte, however often the live run looked at the clock', () => {
    fc.assert(
      fc.property(journal, fc.infiniteStream(fc.double({ min: 0, max: 1, noNaN: true })), (records, looks) => {
        const live = createState();
        const events: FoldEvent[] = [];
        for (const record of records) {
          for (let i = 0; i < 3; i += 1) {
            const span = horizon(live, record) - live.now;
            const { value = 0 } = looks.next();
            if (span > 1) events.push(...advance(live, live.now + Math.floor(span * value), createChanges()).events);
          }
          events.push(...fold(live, record, createChanges()).events);
        }
        const replay = foldAll(records);
        expect(JSON.stringify(events)).toBe(JSON.stringify(replay.events));
        expect(text(live)).toBe(text(replay.state));
      }),
      { numRuns: 400 },
    );
  });

  test('advancing in two steps is advancing in one', () => {
    fc.assert(
      fc.property(
        journal,
        fc.integer({ min: 0, max: 200_000 }),
        fc.integer({ min: 0, max: 200_000 }),
        (records, x, y) => {
          const [b, c] = [Math.min(x, y), Math.max(x, y)];
          const one = foldAll(records);
          const two = foldAll(records);
          const end = one.state.now;
          const oneEvents = advance(one.state, end + c * 1000, createChanges()).events;
          const twoEvents = [
            ...advance(two.state, end + b * 1000, createChanges()).events,
            ...advance(two.state, end + c * 1000, createChanges()).events,
          ];
          expect(JSON.stringify(twoEvents)).toBe(JSON.stringify(oneEvents));
          expect(text(two.state)).toBe(text(one.state));
        },
      ),
      { numRuns: 200 },
    );
  });

  test('a state written and read back goes on as the original does', () => {
    fc.assert(
      fc.property(journal, fc.nat(60), (records, cut) => {
        const head = records.slice(0, cut);
        const original = foldAll(head).state;
        const copy = decodeState(text(original));
        expect(text(copy)).toBe(text(original));
        const rest = records.slice(cut);
        expect(JSON.stringify(foldAll(rest, copy).events)).toBe(JSON.stringify(foldAll(rest, original).events));
        expect(text(copy)).toBe(text(original));
        const far = original.now + 300_000_000;
        expect(JSON.stringify(advance(copy, far).events)).toBe(JSON.stringify(advance(original, far).events));
      }),
      { numRuns: 200 },
    );
  });

  test('an event written and read back is the same text, and every view is what the API says', () => {
    fc.assert(
      fc.property(journal, (records) => {
        const { state, events } = foldAll(records);
        for (const event of events) {
          const record = plainRecord.parse(JSON.parse(JSON.stringify({ kind: 'event', fold: 1, number: 1, event })));
          expect(JSON.stringify(record.kind === 'event' ? record.event : null)).toBe(JSON.stringify(event));
        }
        const view = boardView(state, 'e-1', { ok: true });
        const checked = board.parse(JSON.parse(JSON.stringify(view)));
        expect(checked).toEqual(JSON.parse(JSON.stringify(view)));
      }),
      { numRuns: 100 },
    );
  });
});

describe('no alarm is lost', () => {
  test('whatever stands in the state has its alarm, and leaves the list in one of three ways', () => {
    fc.assert(
      fc.property(journal, fc.nat(100_000), (records, afterMs) => {
        const state = createState();
        let listed = new Set<string>();
        const look = (events: readonly FoldEvent[]) => {
          for (const event of events) {
            if (event.type !== 'alarm') continue;
            if (event.state === 'normal') {
              expect(ENDS).toContain(event.change);
              listed.delete(event.alarm);
            } else listed.add(event.alarm);
          }
          must([...state.alarms.keys()].sort().join() === [...listed].sort().join(), 'the events say what is listed');
          listed = new Set(state.alarms.keys());
          checkState(state);
        };
        for (const record of records) {
          look(advance(state, horizon(state, record), createChanges()).events);
          const conditions = conditionsOf(state);
          const { events } = fold(state, record, createChanges());
          if (record.kind === 'command' && touchesNoCondition(record.act)) {
            // An answer never ends a condition, and never begins one; nor does putting aside.
            must(conditionsOf(state).join() === conditions.join(), 'an answer touches no condition');
          }
          look(events);
        }
        look(advance(state, state.now + afterMs * 1000, createChanges()).events);
      }),
      { numRuns: 600 },
    );
  });

  test('an older packet that comes once more under another number takes nothing that waits off the list', () => {
    fc.assert(
      fc.property(journal, fc.nat(), (records, pick) => {
        const { state } = foldAll(records);
        const packets = records.filter((record) => record.kind === 'packet');
        const again = packets[pick % Math.max(1, packets.length)];
        if (again === undefined) return;
        const at = state.now + 1000;
        advance(state, at - 1, createChanges());
        const waiting = [...state.alarms.values()].filter(isWaiting).map((alarm) => alarm.id);
        const { measuredAt: _, sentAt: __, ...packet } = again.packet;
        const copy = { ...packet, boot: 'copy', seq: 1, ageMs: (at - again.at) / 1000 };
        fold(state, { kind: 'packet', relay: again.relay, packet: copy, cursor: state.cursor + 1, at });
        for (const id of waiting) expect(state.alarms.has(id)).toBe(true);
        checkState(state);
      }),
      { numRuns: 200 },
    );
  });

  test('a command sent again changes nothing but the time', () => {
    fc.assert(
      fc.property(journal, fc.nat(), (records, pick) => {
        const { state } = foldAll(records);
        const commands = records.filter((record) => record.kind === 'command');
        const again = commands[pick % Math.max(1, commands.length)];
        if (again === undefined) return;
        const before = text({ ...state, now: 0, cursor: 0 });
        const at = state.now; // as a record at the same instant, so that no deadline comes between
        const { events } = fold(state, { ...again, cursor: state.cursor + 1, at });
        if (events.length === 0) expect(text({ ...state, now: 0, cursor: 0 })).toBe(before);
        else for (const event of events) expect(event).not.toMatchObject({ change: 'acknowledged' });
      }),
      { numRuns: 100 },
    );
  });
});

function touchesNoCondition(act: StaffAct): boolean {
  if (act.type === 'reset') return act.reason === undefined;
  return ['acknowledge', 'shelve', 'unshelve', 'out-of-service'].includes(act.type);
}

/** Changes with which an alarm may leave the list. */
const ENDS = ['cleared', 'reset', 'acknowledged', 'unshelved', 'unsuppressed', 'in-service', 'set-point-changed'];

function conditionsOf(state: IncidentState): string[] {
  const phases = [...state.monitors.values()].flatMap((monitor) =>
    [...monitor.channels.values()].map((channel) => `${monitor.id} ${channel.channel} ${channel.phases.join()}`),
  );
  const conditions = [...state.alarms.values()].filter((alarm) => alarm.condition).map((alarm) => alarm.id);
  return [...phases, ...conditions];
}

function holds(state: IncidentState, base: string): boolean {
  return listedAlarm(state, base)?.condition === true;
}

/** What must be so between any two records. Plain comparisons: it is asked some ten thousand times. */
function checkState(state: IncidentState): void {
  for (const [base, id] of state.listed) must(state.alarms.get(id)?.base === base, `${base} is listed as itself`);
  must(state.listed.size === state.alarms.size, 'every alarm is listed once');
  for (const alarm of state.alarms.values()) {
    must(alarmStateOf(alarm) !== 'normal', `${alarm.id} is on the list for a reason`);
    must(alarm.worseCursor <= state.cursor, `${alarm.id} got worse at a record that was folded`);
    must(alarm.since <= state.now, `${alarm.id} began in the past`);
    checkAside(state, alarm);
  }
  const flood = state.figures.flood ? 'flood-end' : null;
  must(flood === null || state.deadlines.byKey.has(flood), 'a flood has an end');
  for (const monitor of state.monitors.values()) checkMonitor(state, monitor);
  for (const deadline of state.deadlines.byKey.values()) must(deadline.at >= state.now, `${deadline.key} is ahead`);
}

/** Nothing stays aside for ever, nothing that must sound is aside, and what waits is asked for again. */
function checkAside(state: IncidentState, alarm: AlarmRecord): void {
  const stands = alarmStateOf(alarm);
  const aside = ['shelved', 'suppressed', 'out-of-service'].includes(stands);
  must(!aside || !isProtected(state, alarm), `${alarm.id} is protected and ${stands}`);
  const due = (kind: string) => state.deadlines.byKey.get(`${kind} ${alarm.id}`)?.at;
  if (alarm.shelved !== null) {
    must(due('shelf-end') === alarm.shelved.until, `${alarm.id} leaves the shelf`);
    must(alarm.shelved.until - state.now <= 3_600_000_000, `${alarm.id} is not shelved for long`);
  }
  if (alarm.suppressed?.startsWith('horn')) {
    must(state.deadlines.byKey.has(`test-end ${alarm.monitor}`), `the test of ${alarm.monitor} ends`);
  } else if (alarm.suppressed !== null && alarm.kind === 'silent') {
    const relay = [...state.relays.keys()].find((name) => alarm.suppressed === relayWords(name));
    must(relay !== undefined && relayIsLost(state, relay), `the relay that ${alarm.id} is suppressed for is lost`);
  } else if (alarm.suppressed !== null)
    must(stands === 'suppressed' || !alarm.condition || aside, 'suppressed by a relay');
  if (stands === 'unacknowledged' || stands === 'latched-unacknowledged') {
    must(due('sound-again') !== undefined, `${alarm.id} sounds again`);
    must(alarm.announced, `${alarm.id} can be answered`);
  }
  if (stands === 'unacknowledged' && alarm.priority === 'danger')
    must(alarm.escalated || due('escalate') !== undefined, `${alarm.id} escalates`);
}

function must(holds: boolean, what: string): void {
  if (!holds) throw new Error(`not so: ${what}`);
}

function checkMonitor(state: IncidentState, monitor: MonitorState): void {
  const base = (sensor: string | null, setPoint: string) => baseOf(monitor.id, sensor, setPoint);
  for (const channel of monitor.channels.values()) checkChannel(state, monitor, channel);
  if (monitor.motion === 'down') must(holds(state, base(null, 'down')), 'down is an alarm');
  if (monitor.help) must(holds(state, base(null, 'help')), 'help is an alarm');
  const person = personOf(state, monitor);
  const past = person !== undefined && person.zone !== 'cold';
  const silent = monitor.link === 'lost' || (monitor.link === 'stale' && past);
  must(holds(state, base(null, 'silent')) === silent, `${monitor.id} silent: ${silent}`);
  const blind = past && unwatched(monitor).length > 0;
  if (blind) must(holds(state, base(null, 'not-watched')), `${monitor.id} is not watched`);
  if (!past) must(!holds(state, base(null, 'not-watched')), `${monitor.id} need not be watched`);
  const { priority } = listedAlarm(state, base(null, 'silent')) ?? {};
  if (person?.zone === 'hot' && person.role !== 'perimeter' && silent)
    must(priority === 'danger', 'silence of a wearer in the hot zone is danger');
  const key = (kind: string) => state.deadlines.byKey.has(`${kind} ${monitor.id}`);
  must(key('stale') || monitor.link !== 'live', `${monitor.id} can go stale`);
  must(key('stale') || key('lost') || monitor.link === 'lost', `${monitor.id} can be lost`);
}

function checkChannel(state: IncidentState, monitor: MonitorState, channel: ChannelState): void {
  for (const [i, point] of pointsOf(state.table, channel.channel).entries()) {
    const phase = channel.phases[i] ?? 0;
    const name = `${monitor.id} ${point.id} in phase ${phase}`;
    const pending = state.deadlines.byKey.has(`off ${monitor.id} ${point.channel} ${point.id}`);
    must(holds(state, baseOf(monitor.id, point.channel, point.id)) === (phase !== 0), `${name} has its alarm`);
    must(!pending || phase >= 2, `${name} waits for its off-delay`);
    must(phase !== 3 || pending, `${name} has an off-delay to wait for`);
    const background = backgroundOf(state, monitor.id, point.channel).value;
    if (channel.value !== null && meets(point, comparedValue(point, channel.value, background)))
      must(phase === 1 || (phase === 0 && point.onDelayMs > 0), `${name} is on at ${channel.value}`);
    if (channel.flag === 'under-range' && point.id === 'o2-low') must(phase === 1, `${name} is on under range`);
  }
  if (channel.overRange)
    must(holds(state, baseOf(monitor.id, channel.channel, 'over-range')), `${channel.channel} over range is an alarm`);
}

describe('exposure', () => {
  test('is the same in whatever order a backlog comes', () => {
    const sample = fc.record({
      afterMs: fc.constantFrom(250, 1000, 1000, 5000, 20_000, 300_000),
      co: fc.constantFrom(0, 10, 33.3, 200, null),
      gamma: fc.constantFrom(7, 21.5, 2000),
    });
    const samples = fc.array(sample, { minLength: 2, maxLength: 40 });
    fc.assert(
      fc.property(
        samples.chain((given) =>
          fc.tuple(
            fc.constant(given),
            fc.shuffledSubarray(
              given.map((_, i) => i),
              { minLength: given.length },
            ),
          ),
        ),
        ([given, order]) => {
          let measured = START_US / 1000 + 1000;
          const times = given.map(({ afterMs }) => {
            measured += afterMs;
            return measured;
          });
          const sums = (arrival: readonly number[]) => {
            const state = createState();
            fold(state, openedRecord());
            arrival.forEach((index, place) => {
              const one = given[index];
              const time = times[index];
              if (one === undefined || time === undefined) return;
              const atMs = measured + 1 + place * 40;
              const readings = {
                co: one.co === null ? { flag: 'over-range' } : { value: one.co, unit: 'ppm' },
                gamma: { value: one.gamma, unit: 'uR/h' },
              };
              const wire = { monitor: 'M-1', boot: 'b', seq: index, ageMs: atMs - time, readings };
              const result = readPacket({ ...wire, status: { intervalMs: 1000 + 5000 * (index % 2) } }, atMs);
              if (!result.ok) throw new Error(result.error.message);
              const cursor = state.cursor + 1;
              fold(state, { kind: 'packet', relay: 'r', packet: result.packet, cursor, at: atMs * 1000 });
            });
            const series = state.monitors.get('M-1')?.series;
            if (series === undefined) throw new Error('no series');
            const all = (channel: string, kind: 'hold' | 'trapezoid'): Integral[] =>
              integral(series, channel, START_US / 1000, measured + 10_000, kind);
            return [all('co', 'hold'), all('gamma', 'trapezoid')];
          };
          expect(sums(order)).toEqual(sums(given.map((_, i) => i)));
        },
      ),
      { numRuns: 100 },
    );
  });
});
