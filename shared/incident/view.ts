/** The board as screens and programs get it, made from the folded state. Nothing is decided here. */
import type { AlarmView, Board, BoardHead, MonitorView } from '../protocol/board.ts';
import { CHANNELS, isKnownChannel } from '../quantity/channels.ts';
import { alarmStateOf } from './alarms.ts';
import { SITE } from './backgrounds.ts';
import { figuresOf } from './figures.ts';
import { LONGEST_TRACK } from './fold-packet.ts';
import { setPointWords } from './levels.ts';
import { serviceParts } from './out-of-service.ts';
import { personOf } from './people.ts';
import { isProtected } from './protection.ts';
import type { AlarmRecord, IncidentState, JournalFacts, MonitorState } from './state.ts';
import { isTesting } from './testing.ts';
import { MINUTE, type PostTime, toIso } from './time.ts';
import { cellView } from './view-cell.ts';
import { unwatched } from './watch.ts';

export type Recording = BoardHead['recording'];

/** One monitor's row. */
export function monitorView(state: IncidentState, monitor: MonitorState): MonitorView {
  const iso = (at: PostTime) => toIso(at, state.wallOffsetMs);
  const wallIso = (ms: number | null) => (ms === null ? undefined : new Date(ms).toISOString());
  const person = personOf(state, monitor);
  const { position, positionStamp, refused } = monitor;
  const readings: MonitorView['readings'] = {};
  for (const channel of monitor.channels.values()) {
    Object.defineProperty(readings, channel.channel, {
      value: cellView(state, monitor, channel),
      enumerable: true,
      writable: true,
      configurable: true,
    });
  }
  return compact({
    id: monitor.id,
    entrant: monitor.entrant ?? undefined,
    team: person?.team ?? undefined,
    role: person?.role ?? undefined,
    zone: person === undefined ? undefined : person.zone,
    readings,
    status: compact({
      battery: monitor.battery ?? undefined,
      pump: monitor.pump ?? undefined,
      motion: monitor.motion ?? undefined,
      motionSince: monitor.motion === null ? undefined : iso(monitor.motionSince),
      help: monitor.help || undefined,
      mode: monitor.mode ?? undefined,
      modeSince: monitor.mode === null ? undefined : iso(monitor.modeSince),
      linkQuality: monitor.linkQuality ?? undefined,
      intervalMs: monitor.intervalMs ?? undefined,
      test: isTesting(state, monitor) || undefined,
      zeroedAt: wallIso(monitor.zeroedAt),
      bumpedAt: wallIso(monitor.bumpedAt),
      calibratedAt: wallIso(monitor.calibratedAt),
      testDue: monitor.testDue ?? undefined,
    }),
    notWatched: unwatched(monitor),
    position:
      position === null || positionStamp === null
        ? undefined
        : compact({
            lat: position.lat,
            lon: position.lon,
            accuracy: position.accuracy ?? undefined,
            usng: position.usng ?? undefined,
            at: iso(positionStamp.at),
          }),
    track: monitor.track.slice(-LONGEST_TRACK),
    lastHeardAt: iso(monitor.heardAt),
    link: monitor.link,
    relay: monitor.relay,
    simulated: monitor.simulated || undefined,
    refused:
      refused === null || state.now - refused.at > 10 * MINUTE
        ? undefined
        : { at: iso(refused.at), code: refused.code, message: refused.message, count: refused.count },
  });
}

/** One alarm of the list. */
export function alarmView(state: IncidentState, alarm: AlarmRecord): AlarmView {
  const iso = (at: PostTime) => toIso(at, state.wallOffsetMs);
  const point =
    alarm.sensor === null
      ? undefined
      : state.table.setPoints.find((p) => p.id === alarm.setPoint && p.channel === alarm.sensor);
  return compact({
    id: alarm.id,
    occurrence: alarm.occurrence,
    monitor: alarm.monitor,
    entrant: alarm.entrant ?? undefined,
    kind: alarm.kind,
    sensor: alarm.sensor ?? undefined,
    priority: alarm.priority,
    state: alarmStateOf(alarm),
    firstOut: alarm.firstOut,
    since: iso(alarm.since),
    raisedAt: iso(alarm.raisedAt),
    late: alarm.late || undefined,
    value: alarm.value ?? undefined,
    worst: alarm.worst ?? undefined,
    unit: alarm.kind === 'exposure' ? point?.unit : unitOf(alarm.sensor),
    setPoint:
      point === undefined
        ? undefined
        : { id: point.id, words: setPointWords(point), reviewed: state.table.reviewedBy !== null },
    words: alarm.words,
    action: alarm.action,
    source: alarm.source,
    acknowledgedBy: alarm.acknowledged?.by,
    acknowledgedAt: alarm.acknowledged === null ? undefined : iso(alarm.acknowledged.at),
    decision: alarm.acknowledged?.decision ?? undefined,
    whileDown: alarm.whileDown || undefined,
    escalated: alarm.escalated || undefined,
    soundedAgain: alarm.sounded || undefined,
    protected: isProtected(state, alarm) || undefined,
    shelved:
      alarm.shelved === null
        ? undefined
        : {
            by: alarm.shelved.by,
            at: iso(alarm.shelved.at),
            until: iso(alarm.shelved.until),
            reason: alarm.shelved.reason,
          },
    suppressed: alarm.suppressed ?? undefined,
    outOfService: alarm.outOfService ?? undefined,
    relay: alarm.relay ?? undefined,
  });
}

function unitOf(channel: string | null): string | undefined {
  return channel !== null && isKnownChannel(channel) ? CHANNELS[channel].unit : undefined;
}

const PRIORITY_ORDER = { danger: 0, caution: 1, notice: 2 } as const;

/** Alarms as they stand in the list: danger before caution, oldest first within. */
export function alarmViews(state: IncidentState): AlarmView[] {
  return [...state.alarms.values()]
    .sort(
      (a, b) =>
        PRIORITY_ORDER[a.priority] - PRIORITY_ORDER[b.priority] || a.raisedAt - b.raisedAt || (a.id < b.id ? -1 : 1),
    )
    .map((alarm) => alarmView(state, alarm));
}

/** What is neither a row nor an alarm. */
export function boardHead(state: IncidentState, recording: Recording): BoardHead {
  const iso = (at: PostTime) => toIso(at, state.wallOffsetMs);
  const { journal } = state;
  return {
    incident: journal === null || journal.purpose === 'standby' ? null : incidentView(journal, iso),
    journal: {
      purpose: journal?.purpose ?? 'standby',
      name: journal?.name ?? '',
      zone: journal?.zone ?? 'UTC',
    },
    recording,
    setPoints: {
      name: state.table.name,
      version: state.table.version,
      reviewed: state.table.reviewedBy !== null,
    },
    relays: [...state.relays.values()].map((relay) => ({
      name: relay.name,
      lastHeardAt: iso(relay.heardAt),
      clock: relay.clock,
      offsetMs: relay.offsetMs,
    })),
    teams: teamViews(state),
    people: [...state.people.values()].map((person) =>
      compact({
        name: person.name,
        team: person.team ?? undefined,
        role: person.role ?? undefined,
        monitor: person.monitor ?? undefined,
        zone: person.zone,
        exposure: person.exposure ?? undefined,
      }),
    ),
    notices: state.notices
      .filter((n) => state.now - n.at < 10 * MINUTE)
      .map((n) => ({ at: iso(n.at), words: n.words })),
    refusedElsewhere: state.now - state.refusedElsewhere.at < 10 * MINUTE ? state.refusedElsewhere.count : 0,
    figures: figuresOf(state),
    outOfService: [...state.outOfService].map(([key, { by, at, reason }]) => ({
      ...serviceParts(key),
      by,
      at: iso(at),
      reason,
    })),
    backgrounds: backgroundViews(state, iso),
  };
}

function backgroundViews(state: IncidentState, iso: (at: PostTime) => string): NonNullable<BoardHead['backgrounds']> {
  return [...state.backgrounds].flatMap(([scope, channels]) =>
    [...channels].map(([channel, { value, by, at, override }]) =>
      compact({
        monitor: scope === SITE ? undefined : scope,
        channel,
        value,
        unit: unitOf(channel),
        by,
        at: iso(at),
        override: override ?? undefined,
      }),
    ),
  );
}

function incidentView(journal: JournalFacts, iso: (at: PostTime) => string) {
  return {
    id: journal.incident,
    name: journal.name,
    purpose: journal.purpose,
    exercise: journal.purpose === 'exercise',
    zone: journal.zone,
    openedAt: iso(journal.openedAt),
  };
}

function teamViews(state: IncidentState): BoardHead['teams'] {
  const teams = new Map<string, string[]>();
  for (const person of state.people.values()) {
    if (person.team === null) continue;
    const members = teams.get(person.team);
    if (members === undefined) teams.set(person.team, [person.name]);
    else members.push(person.name);
  }
  return [...teams].map(([name, members]) => ({ name, members }));
}

/** The whole board as it stands. */
export function boardView(state: IncidentState, epoch: string, recording: Recording): Board {
  return {
    ...boardHead(state, recording),
    epoch,
    cursor: state.cursor,
    at: toIso(state.now, state.wallOffsetMs),
    monitors: [...state.monitors.values()].map((monitor) => monitorView(state, monitor)),
    alarms: alarmViews(state),
  };
}

type Compacted<T> = { [K in keyof T as undefined extends T[K] ? never : K]: T[K] } & {
  [K in keyof T as undefined extends T[K] ? K : never]?: Exclude<T[K], undefined>;
};

/** The object without the keys that are undefined: an absent thing is absent in the answer too. */
export function compact<T extends object>(object: T): Compacted<T> {
  for (const key of Object.keys(object)) {
    if (Reflect.get(object, key) === undefined) Reflect.deleteProperty(object, key);
  }
  return object as Compacted<T>;
}
