/**
 * The folded state: all that the board, the alarms and the deadlines need, as plain data. It is changed in place
 * by fold and advance alone, and it is a function of the records and of nothing else.
 */
import { DEFAULT_TABLE } from '../alarm/default-table.ts';
import type { Priority, SetPointTable } from '../alarm/set-point.ts';
import { createSeries, type Series } from '../exposure/series.ts';
import type { WearingInterval } from '../exposure/wearing.ts';
import type { ExposureSummary } from '../protocol/board.ts';
import type { CommandAnswer } from '../protocol/commands.ts';
import type { Flag } from '../protocol/packet.ts';
import type { Mode, Motion, Pump, StoredReading } from '../protocol/stored-packet.ts';
import type { Unit } from '../quantity/channels.ts';
import { createDeadlines, type Deadlines } from './deadlines.ts';
import type { AlarmKind } from './events.ts';
import type { PostTime } from './time.ts';

/** Raised whenever the same journal could give other events. */
export const FOLD_VERSION = 2;

/** When something was measured, as well as the post can tell. */
export type Stamp = {
  /** On the post's scale; never after the packet's arrival. */
  readonly at: PostTime;
  /** The same by the relay's own clock, ms since 1970, where it gave one. */
  readonly relayMs: number | undefined;
  /** Whose clock that is. */
  readonly clock: string;
  readonly boot: string;
  readonly seq: number;
};

/**
 * 0 off, 1 on, 2 on but back past the deadband by one reading, 3 the same by more than one; both wait for the
 * off-delay. One reading and silence after it ends nothing.
 */
export type PointPhase = 0 | 1 | 2 | 3;

export type ChannelState = {
  readonly channel: string;
  reading: StoredReading;
  stamp: Stamp;
  /** Canonical value, or null where there is no number. */
  value: number | null;
  unit: Unit | null;
  flag: Flag | 'not-understood' | null;
  /** Not heard since the post was down: old, however short that was. */
  unheard: boolean;
  /** Over-range stands and no number has come since. */
  overRange: boolean;
  /** One a set-point of this channel, in the order of the table. */
  phases: PointPhase[];
  /** At least the last minute, at most one sample a second: times in µs and canonical values, oldest first. */
  recentAt: number[];
  recentValue: number[];
  /** Last five minutes in bins of five seconds: start in µs, and the value furthest from normal, or null. */
  binAt: number[];
  binValue: (number | null)[];
};

export type MonitorState = {
  readonly id: string;
  /** Key of the deadline that every packet moves: kept, because making it anew each time is what costs. */
  readonly staleKey: string;
  relay: string;
  simulated: boolean;
  /** Newest thing heard of it, on the post's scale, by when it was measured. */
  heardAt: PostTime;
  link: 'live' | 'stale' | 'lost';
  intervalMs: number | null;
  readonly channels: Map<string, ChannelState>;
  statusStamp: Stamp | null;
  battery: number | null;
  pump: Pump | null;
  motion: Motion | null;
  motionSince: PostTime;
  help: boolean;
  /** A call that was learned late and that no newer packet has answered yet. */
  lateDown: boolean;
  lateHelp: boolean;
  mode: Mode | null;
  modeSince: PostTime;
  linkQuality: number | null;
  zeroedAt: number | null;
  bumpedAt: number | null;
  calibratedAt: number | null;
  testDue: boolean | null;
  test: boolean;
  testSince: PostTime;
  position: { lat: number; lon: number; accuracy: number | null; usng: string | null } | null;
  positionStamp: Stamp | null;
  /** Recent places, oldest first, at least the last 60. */
  track: [number, number][];
  refused: { at: PostTime; code: string; message: string; count: number } | null;
  entrant: string | null;
  readonly series: Series;
};

export type AlarmRecord = {
  readonly id: string;
  /** Monitor, sensor and set-point: what the occurrences of one alarm share. */
  readonly base: string;
  occurrence: number;
  readonly monitor: string;
  entrant: string | null;
  readonly kind: AlarmKind;
  readonly sensor: string | null;
  readonly setPoint: string | null;
  priority: Priority;
  readonly latched: boolean;
  condition: boolean;
  acknowledged: { by: string; at: PostTime; decision: string | null } | null;
  /** Its set-point says that it is never shelved, suppressed or put out of service. */
  protected: boolean;
  /** Put aside by a person for a limited time. */
  shelved: { by: string; at: PostTime; until: PostTime; reason: string } | null;
  /** Put aside by design, and why. */
  suppressed: string | null;
  /** What it belongs to is out of service, and why. */
  outOfService: string | null;
  /** Whether anybody was ever told: not, where it came and went while it was put aside. */
  announced: boolean;
  /** A danger that nobody answered in time. */
  escalated: boolean;
  /** How often it has sounded again since it was last raised. */
  sounded: number;
  /** Relay that it is about, where it is about one. */
  readonly relay: string | null;
  since: PostTime;
  readonly raisedAt: PostTime;
  /** Cursor at which it was last raised or got worse: what a screen must have drawn to answer it. */
  worseCursor: number;
  value: number | null;
  worst: number | null;
  /** Value at which it was last told of; null where it had no number then. */
  told: number | null;
  late: boolean;
  firstOut: boolean;
  whileDown: boolean;
  words: string;
  action: string;
  source: string;
};

export type RelayState = {
  readonly name: string;
  heardAt: PostTime;
  /** Relay clock minus post clock in ms, by the least delayed packet of the current and the last minute. */
  offsetMs: number | null;
  bucketAt: PostTime;
  bucketBestMs: number | null;
  clock: 'unknown' | 'agrees' | 'off';
};

export type PersonState = {
  readonly name: string;
  team: string | null;
  role: 'entry' | 'backup' | 'decontamination' | 'perimeter' | null;
  monitor: string | null;
  zone: 'cold' | 'warm' | 'hot';
  /** Which monitors were worn when, ms of measured time, oldest first. */
  worn: WearingInterval[];
  /** As last worked out. */
  exposure: ExposureSummary | null;
};

/** Background as it was taken, in the canonical unit of its channel. */
export type Background = {
  readonly value: number;
  readonly assumed: false;
  readonly by: string;
  readonly at: PostTime;
  /** Why an officer took it against the checks. */
  readonly override: string | null;
};

export type OutOfService = { readonly by: string; readonly at: PostTime; readonly reason: string };

/** How many alarms sound, for the people who have to answer them. */
export type AlarmFigures = {
  /** When alarms were annunciated in the last ten minutes, oldest first. */
  annunciated: PostTime[];
  flood: boolean;
  /** Transitions in and out of alarm within the last minute, by base. */
  readonly transitions: Map<string, PostTime[]>;
};

export type JournalFacts = {
  purpose: 'standby' | 'incident' | 'exercise';
  incident: string;
  name: string;
  epoch: string;
  zone: string;
  openedAt: PostTime;
  closed: boolean;
};

export type IncidentState = {
  /** Time up to which deadlines were fired. */
  now: PostTime;
  cursor: number;
  journal: JournalFacts | null;
  wallOffsetMs: number;
  table: SetPointTable;
  readonly monitors: Map<string, MonitorState>;
  readonly relays: Map<string, RelayState>;
  readonly people: Map<string, PersonState>;
  readonly alarms: Map<string, AlarmRecord>;
  /** How often each alarm was raised: part of its id. */
  readonly occurrences: Map<string, number>;
  /** Listed alarm by base. */
  readonly listed: Map<string, string>;
  /** Who answered alarms that have left the list since, newest last, so that the second to answer is told. */
  readonly answered: Map<string, { occurrence: number; by: string; at: PostTime }>;
  /** Answers of commands by id, so that the same one sent twice is done once. */
  readonly answers: Map<string, CommandAnswer>;
  /** By monitor, or SITE, and channel. */
  readonly backgrounds: Map<string, Map<string, Background>>;
  /** By monitor, sensor and set-point: see `out-of-service.ts`. */
  readonly outOfService: Map<string, OutOfService>;
  readonly figures: AlarmFigures;
  readonly deadlines: Deadlines;
  notices: { at: PostTime; words: string }[];
  refusedElsewhere: { at: PostTime; count: number };
  /** Events derived so far. */
  events: number;
};

export function createFigures(): AlarmFigures {
  return { annunciated: [], flood: false, transitions: new Map() };
}

/** The state before the first record. */
export function createState(): IncidentState {
  return {
    now: 0,
    cursor: 0,
    journal: null,
    wallOffsetMs: 0,
    table: DEFAULT_TABLE,
    monitors: new Map(),
    relays: new Map(),
    people: new Map(),
    alarms: new Map(),
    occurrences: new Map(),
    listed: new Map(),
    answered: new Map(),
    answers: new Map(),
    backgrounds: new Map(),
    outOfService: new Map(),
    figures: createFigures(),
    deadlines: createDeadlines(),
    notices: [],
    refusedElsewhere: { at: 0, count: 0 },
    events: 0,
  };
}

/** A monitor that was just heard of for the first time. */
export function createMonitor(id: string, relay: string, at: PostTime): MonitorState {
  return {
    id,
    staleKey: `stale ${id}`,
    relay,
    simulated: false,
    heardAt: at,
    link: 'live',
    intervalMs: null,
    channels: new Map(),
    statusStamp: null,
    battery: null,
    pump: null,
    motion: null,
    motionSince: at,
    help: false,
    lateDown: false,
    lateHelp: false,
    mode: null,
    modeSince: at,
    linkQuality: null,
    zeroedAt: null,
    bumpedAt: null,
    calibratedAt: null,
    testDue: null,
    test: false,
    testSince: at,
    position: null,
    positionStamp: null,
    track: [],
    refused: null,
    entrant: null,
    series: createSeries(),
  };
}
