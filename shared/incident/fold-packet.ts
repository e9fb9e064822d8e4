/**
 * Takes one packet into the state. Each channel, the status and the place are judged for themselves: what is newer
 * than what is known becomes the present, however old it is; only what has a newer measurement before it is late.
 */
import { addSample, type ExposureReading } from '../exposure/series.ts';
import type { StoredPacket, StoredReading } from '../protocol/stored-packet.ts';
import { toCanonical } from '../quantity/canonical.ts';
import { baseOf, listedAlarm, raise, relayBase } from './alarms.ts';
import type { Changes } from './changes.ts';
import { foldChannel, judgeLateReading } from './fold-channel.ts';
import { isNewer, stampOf } from './measured-time.ts';
import { callFor, reviewMotion } from './motion.ts';
import { isPastControlLine, personOf } from './people.ts';
import { reviewTest } from './put-aside.ts';
import { foldRelay } from './relay-clock.ts';
import { reviewRelay } from './relay-lost.ts';
import { createMonitor, type IncidentState, type MonitorState, type Stamp } from './state.ts';
import { MILLISECOND, type PostTime, SECOND } from './time.ts';
import { heard, hold, reviewSilence, reviewWatch, staleAfterUs } from './watch.ts';

/** Places that a screen is given; a few more may stand, so that the list is not moved with each packet. */
export const LONGEST_TRACK = 60;
const MOST_TRACK = 90;

/** Folds a packet that arrived at `state.now` from `relay`. */
export function foldPacket(state: IncidentState, changes: Changes, relay: string, packet: StoredPacket): void {
  const arrival = state.now;
  const relayState = foldRelay(state, changes, relay, packet, arrival);
  const stamp = stampOf(packet, arrival, state.wallOffsetMs, relayState);
  const monitor = monitorOf(state, changes, packet.monitor, relay, stamp.at);
  const before = monitor.relay;
  monitor.relay = relay;
  if (packet.simulated === true) monitor.simulated = true;
  if (stamp.at >= monitor.heardAt) foldTest(state, changes, monitor, packet.test === true, stamp.at);
  changes.monitors.add(monitor.id);
  foldStatus(state, changes, monitor, packet, stamp);
  foldPosition(monitor, packet, stamp);
  foldReadings(state, changes, monitor, packet, stamp);
  heard(state, changes, monitor, stamp.at);
  if (before !== relay) changedRelay(state, changes, before, relay);
  if (isPastControlLine(personOf(state, monitor))) reviewWatch(state, changes, monitor);
}

/** Only an alarm that stands is looked at: a monitor between two relays may change with every packet. */
function changedRelay(state: IncidentState, changes: Changes, before: string, now: string): void {
  for (const relay of [before, now]) {
    if (listedAlarm(state, relayBase(relay)) !== undefined) reviewRelay(state, changes, relay);
  }
}

/** The monitor of that name, made when it is heard of for the first time. */
function monitorOf(state: IncidentState, changes: Changes, id: string, relay: string, at: PostTime): MonitorState {
  const known = state.monitors.get(id);
  if (known !== undefined) return known;
  const monitor = createMonitor(id, relay, at);
  for (const person of state.people.values()) if (person.monitor === id) monitor.entrant = person.name;
  state.monitors.set(id, monitor);
  reviewSilence(state, changes, monitor);
  return monitor;
}

function foldStatus(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  packet: StoredPacket,
  stamp: Stamp,
): void {
  const { status } = packet;
  if (status === undefined) return;
  if (monitor.statusStamp !== null && !isNewer(stamp, monitor.statusStamp)) {
    foldLateCalls(state, changes, monitor, packet, stamp);
    return;
  }
  monitor.statusStamp = stamp;
  monitor.battery = status.battery ?? monitor.battery;
  monitor.pump = status.pump ?? monitor.pump;
  monitor.linkQuality = status.linkQuality ?? monitor.linkQuality;
  monitor.intervalMs = status.intervalMs ?? monitor.intervalMs;
  monitor.zeroedAt = status.zeroedAt ?? monitor.zeroedAt;
  monitor.bumpedAt = status.bumpedAt ?? monitor.bumpedAt;
  monitor.calibratedAt = status.calibratedAt ?? monitor.calibratedAt;
  monitor.testDue = status.testDue ?? monitor.testDue;
  if (status.mode !== undefined && status.mode !== monitor.mode) {
    monitor.mode = status.mode;
    monitor.modeSince = stamp.at;
  }
  if (status.help !== undefined && (status.help || monitor.help || monitor.lateHelp)) {
    monitor.help = status.help;
    monitor.lateHelp = false;
    hold(state, changes, baseOf(monitor.id, null, 'help'), status.help, callFor(monitor, 'help', stamp.at, false));
  }
  if (status.motion !== undefined) foldMotion(state, changes, monitor, status.motion, stamp);
}

function foldTest(state: IncidentState, changes: Changes, monitor: MonitorState, test: boolean, at: PostTime): void {
  if (!test && !monitor.test) return;
  if (test && !monitor.test) monitor.testSince = at;
  monitor.test = test;
  reviewTest(state, changes, monitor);
}

function foldMotion(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  motion: NonNullable<MonitorState['motion']>,
  stamp: Stamp,
): void {
  const changed = motion !== monitor.motion;
  if (changed) {
    monitor.motion = motion;
    monitor.motionSince = stamp.at;
  }
  // A `down` that was learned late holds until a newer packet says otherwise: this one does.
  if (changed || monitor.lateDown) reviewMotion(state, changes, monitor);
  monitor.lateDown = false;
}

/** A call that came late sounds all the same: nobody knows that it was answered. */
function foldLateCalls(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  packet: StoredPacket,
  stamp: Stamp,
): void {
  if (packet.status?.motion === 'down') {
    monitor.lateDown = true;
    raise(state, changes, baseOf(monitor.id, null, 'down'), callFor(monitor, 'down', stamp.at, true));
  }
  if (packet.status?.help === true) {
    monitor.lateHelp = true;
    raise(state, changes, baseOf(monitor.id, null, 'help'), callFor(monitor, 'help', stamp.at, true));
  }
}

function foldPosition(monitor: MonitorState, packet: StoredPacket, stamp: Stamp): void {
  const { position } = packet;
  if (position === undefined) return;
  if (monitor.positionStamp !== null && !isNewer(stamp, monitor.positionStamp)) return;
  const before = monitor.position;
  monitor.position = {
    lat: position.lat,
    lon: position.lon,
    accuracy: position.accuracy ?? null,
    usng: position.usng ?? null,
  };
  monitor.positionStamp = stamp;
  if (before !== null && before.lat === position.lat && before.lon === position.lon) return;
  monitor.track.push([position.lat, position.lon]);
  if (monitor.track.length > MOST_TRACK) monitor.track.splice(0, monitor.track.length - LONGEST_TRACK);
}

function foldReadings(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  packet: StoredPacket,
  stamp: Stamp,
): void {
  if (packet.readings.size === 0) return;
  const exposure: ExposureReading[] = [];
  for (const [channel, reading] of packet.readings) {
    const number = numberOf(channel, reading);
    if (number === null) exposure.push({ channel, value: null, overRange: reading.flag === 'over-range' });
    else exposure.push({ channel, value: number.raw, unit: number.rawUnit });
    const known = monitor.channels.get(channel);
    if (known !== undefined && !isNewer(stamp, known.stamp)) {
      judgeLateReading(state, changes, monitor, known, reading, number, stamp);
    } else {
      foldChannel(state, changes, monitor, channel, reading, number, stamp);
    }
  }
  addSample(
    monitor.series,
    Math.floor(stamp.at / MILLISECOND),
    exposure,
    Math.floor(staleAfterUs({ intervalMs: packet.status?.intervalMs ?? monitor.intervalMs }) / MILLISECOND),
  );
}

export type NumberRead = {
  readonly value: number;
  readonly unit: NonNullable<StoredReading['unit']>;
  readonly raw: number;
  readonly rawUnit: string;
};

/** The number that a reading stands for in the canonical unit, or null: a flagged or misunderstood one has none. */
export function numberOf(channel: string, reading: StoredReading): NumberRead | null {
  if (
    reading.flag !== undefined ||
    reading.aside !== undefined ||
    reading.value === undefined ||
    reading.unit === undefined
  )
    return null;
  const canonical = toCanonical(channel, reading.value, reading.unit);
  if (canonical === null) return null;
  return { value: canonical.value, unit: canonical.unit, raw: reading.value, rawUnit: reading.unit };
}

/** A packet that could not be taken still says that the monitor is alive, and stands on its row. */
export function foldRefused(
  state: IncidentState,
  changes: Changes,
  refused: { relay: string; monitor?: string | undefined; code: string; message: string },
): void {
  const relay = state.relays.get(refused.relay);
  if (relay !== undefined) relay.heardAt = state.now;
  const recent = (at: PostTime) => state.now - at < 600 * SECOND;
  changes.head = true;
  const monitor = refused.monitor === undefined ? undefined : state.monitors.get(refused.monitor);
  if (monitor === undefined) {
    const kept = state.refusedElsewhere;
    state.refusedElsewhere = { at: state.now, count: recent(kept.at) ? kept.count + 1 : 1 };
    return;
  }
  const before = monitor.refused;
  const count = before !== null && recent(before.at) ? before.count + 1 : 1;
  monitor.refused = { at: state.now, code: refused.code, message: refused.message, count };
  changes.monitors.add(monitor.id);
  // A simulator that uses a real monitor's name says nothing of that monitor.
  if (refused.code === 'simulated') return;
  heard(state, changes, monitor, state.now);
  reviewWatch(state, changes, monitor);
}
