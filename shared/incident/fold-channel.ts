/** Takes one channel of a packet: a number, a flag, or something that could not be understood. */
import { pointsOf } from '../alarm/compile.ts';
import type { StoredReading } from '../protocol/stored-packet.ts';
import { isKnownChannel } from '../quantity/channels.ts';
import { channelName } from '../quantity/display.ts';
import { baseOf, conditionEnded, listedAlarm, raise } from './alarms.ts';
import { assumedOf } from './backgrounds.ts';
import type { Changes } from './changes.ts';
import type { NumberRead } from './fold-packet.ts';
import { holdLevels, judgeLateLevel, judgeLevel, judgeUnderRange } from './levels.ts';
import type { ChannelState, IncidentState, MonitorState, Stamp } from './state.ts';
import { type PostTime, SECOND } from './time.ts';

export const BIN_US = 5 * SECOND;
const BINS = 60;
/** Samples that are kept for the trend: a minute of one a second, and some; and how many there may be meanwhile. */
const RECENT_KEPT = 70;
const MOST_RECENT = 100;

/** A reading that counts as present. */
export function foldChannel(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  name: string,
  reading: StoredReading,
  number: NumberRead | null,
  stamp: Stamp,
): void {
  const channel = monitor.channels.get(name) ?? addChannel(state, monitor, name, reading, stamp);
  channel.unheard = false;
  channel.reading = reading;
  channel.stamp = stamp;
  channel.value = number === null ? null : number.value;
  channel.unit = number === null ? null : number.unit;
  channel.flag = reading.flag ?? (reading.aside === undefined ? null : 'not-understood');
  keepTrail(channel, stamp.at);
  if (number !== null) {
    judgeLevel(state, changes, monitor, channel, { value: number.value, unit: number.unit, since: stamp.at });
  } else {
    holdLevels(state, monitor, channel);
    if (channel.flag === 'under-range') judgeUnderRange(state, changes, monitor, channel, stamp.at, false);
  }
  reviewOverRange(state, changes, monitor, channel, channel.flag === 'over-range', stamp.at, false);
}

/** A reading older than the one that is known. */
export function judgeLateReading(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  channel: ChannelState,
  reading: StoredReading,
  number: NumberRead | null,
  stamp: Stamp,
): void {
  if (number !== null)
    judgeLateLevel(state, changes, monitor, channel, {
      value: number.value,
      unit: number.unit,
      since: stamp.at,
    });
  else if (reading.flag === 'over-range') reviewOverRange(state, changes, monitor, channel, true, stamp.at, true);
  else if (reading.flag === 'under-range') judgeUnderRange(state, changes, monitor, channel, stamp.at, true);
}

function addChannel(
  state: IncidentState,
  monitor: MonitorState,
  name: string,
  reading: StoredReading,
  stamp: Stamp,
): ChannelState {
  const channel: ChannelState = {
    channel: name,
    reading,
    stamp,
    value: null,
    unit: null,
    flag: null,
    unheard: false,
    overRange: false,
    phases: pointsOf(state.table, name).map(() => 0),
    recentAt: [],
    recentValue: [],
    binAt: [],
    binValue: [],
  };
  monitor.channels.set(name, channel);
  return channel;
}

/** A sensor at its end shows no number: the danger stands by itself and stays until it is reset in clean air. */
function reviewOverRange(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  channel: ChannelState,
  over: boolean,
  since: PostTime,
  late: boolean,
): void {
  if (!over) {
    // Only a number shows that it is back in range; a fault or silence after it does not.
    if (!channel.overRange || channel.value === null) return;
    channel.overRange = false;
    const alarm = listedAlarm(state, baseOf(monitor.id, channel.channel, 'over-range'));
    if (alarm !== undefined) conditionEnded(state, changes, alarm);
    return;
  }
  channel.overRange = true;
  const base = baseOf(monitor.id, channel.channel, 'over-range');
  raise(state, changes, base, {
    monitor: monitor.id,
    kind: 'over-range',
    sensor: channel.channel,
    setPoint: 'over-range',
    priority: 'danger',
    latched: true,
    since,
    value: null,
    late,
    whileDown: false,
    words: `${channelName(channel.channel)} over range: more than the sensor can show${late ? ', learned late' : ''}`,
    action: 'Take it as the highest level: call them out. Believe the sensor again after clean air and a bump test.',
    source: 'sent by the monitor; a sensor past its range can read low afterwards',
  });
}

/** Keeps the last minute for the trend and five minutes for the small curve. No peak vanishes by thinning. */
function keepTrail(channel: ChannelState, at: PostTime): void {
  const { value } = channel;
  if (value !== null) {
    const { recentAt, recentValue } = channel;
    // The newest always stays; the one before it makes way where it is less than a second from its neighbour.
    const { length } = recentAt;
    const before = recentAt[length - 2];
    if (before !== undefined && at - before < 0.9 * SECOND) {
      recentAt[length - 1] = at;
      recentValue[length - 1] = value;
    } else {
      recentAt.push(at);
      recentValue.push(value);
    }
    // Trimmed now and then: taking the first one out of a list with each packet is what costs.
    if (recentAt.length > MOST_RECENT) {
      const old = recentAt.length - RECENT_KEPT;
      recentAt.splice(0, old);
      recentValue.splice(0, old);
    }
  }
  const start = at - (at % BIN_US);
  const { binAt, binValue } = channel;
  const lastStart = binAt[binAt.length - 1];
  if (lastStart === undefined || start > lastStart) {
    binAt.push(start);
    binValue.push(value);
    if (binAt.length > BINS) {
      binAt.shift();
      binValue.shift();
    }
    return;
  }
  const kept = binValue.at(-1) ?? null;
  if (value !== null && (kept === null || furtherFromNormal(channel.channel, value, kept)))
    binValue[binValue.length - 1] = value;
}

function furtherFromNormal(channel: string, value: number, kept: number): boolean {
  if (!isKnownChannel(channel)) return value > kept;
  const normal = assumedOf(channel).value;
  return channel === 'o2' ? Math.abs(value - normal) > Math.abs(kept - normal) : value > kept;
}
