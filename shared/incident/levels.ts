/**
 * Compares what a channel reads with its set-points. Doubt, a lost signal or a missing number never ends a
 * condition: only a reading that is back past the deadband, for the whole off-delay, does.
 */
import { comparedValue, isBack, isRising, meets, pointsOf } from '../alarm/compile.ts';
import type { SetPoint } from '../alarm/set-point.ts';
import { compare } from '../quantity/canonical.ts';
import type { Unit } from '../quantity/channels.ts';
import { channelName, valueWords } from '../quantity/display.ts';
import { baseOf, conditionEnded, gotWorse, listedAlarm, raise } from './alarms.ts';
import { backgroundOf } from './backgrounds.ts';
import type { Changes } from './changes.ts';
import { trendOf } from './channel-trend.ts';
import { cancelDeadline, type Deadline, setDeadline } from './deadlines.ts';
import type { AlarmRecord, ChannelState, IncidentState, MonitorState } from './state.ts';
import { MILLISECOND, type PostTime } from './time.ts';

export type Measured = { readonly value: number; readonly unit: Unit; readonly since: PostTime };

/** Judges a reading that counts as present. */
export function judgeLevel(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  channel: ChannelState,
  measured: Measured,
): void {
  const points = pointsOf(state.table, channel.channel);
  const background = backgroundOf(state, monitor.id, channel.channel).value;
  for (let i = 0; i < points.length; i += 1) {
    const point = points[i];
    if (point === undefined) continue;
    const compared = comparedValue(point, measured.value, background, riseFor(point, channel));
    const phase = channel.phases[i] ?? 0;
    if (meets(point, compared)) {
      if (phase === 0 && point.onDelayMs > 0 && waitsOnDelay(state, monitor, point)) continue;
      if (phase >= 2) cancelDeadline(state.deadlines, offKey(monitor.id, point));
      channel.phases[i] = 1;
      const alarm = phase === 0 ? undefined : listedAlarm(state, baseOf(monitor.id, point.channel, point.id));
      if (alarm?.condition === true) stillMeets(state, changes, alarm, point, measured, background);
      else raiseLevel(state, changes, monitor, point, measured, false);
    } else if (phase !== 0) {
      trackBack(state, changes, monitor, channel, i, point, isBack(point, compared), measured);
    } else if (point.onDelayMs > 0) cancelDeadline(state.deadlines, onKey(monitor.id, point));
  }
}

/** What a set-point of a rise compares; null for all others. */
export function riseFor(point: SetPoint, channel: ChannelState): number | null {
  return point.compare === 'rise-per-minute' ? trendOf(channel) : null;
}

/** Whether the condition has to go on for a while before it is an alarm; sets the time when it first comes up. */
function waitsOnDelay(state: IncidentState, monitor: MonitorState, point: SetPoint): boolean {
  const key = onKey(monitor.id, point);
  if (!state.deadlines.byKey.has(key)) {
    setDeadline(state.deadlines, {
      key,
      kind: 'point-on',
      monitor: monitor.id,
      channel: point.channel,
      point: point.id,
      at: state.now + point.onDelayMs * MILLISECOND,
    });
  }
  return true;
}

/** The on-delay is over and no reading has said otherwise: silence meanwhile is none. */
export function endOnDelay(state: IncidentState, changes: Changes, monitor: MonitorState, deadline: Deadline): void {
  const channel = monitor.channels.get(deadline.channel ?? '');
  if (channel === undefined) return;
  const points = pointsOf(state.table, channel.channel);
  const index = points.findIndex((point) => point.id === deadline.point);
  const point = points[index];
  if (point === undefined || (channel.phases[index] ?? 0) !== 0) return;
  channel.phases[index] = 1;
  const { value, unit } = channel;
  const measured = value === null || unit === null ? null : { value, unit, since: channel.stamp.at };
  raiseLevel(state, changes, monitor, point, measured, false, channel.stamp.at);
}

/**
 * Judges what every channel of a monitor reads now, because what it is held against has changed. The same reading a
 * second time is no second reading: it raises, and ends nothing.
 */
export function judgeAnew(state: IncidentState, changes: Changes, monitor: MonitorState): void {
  for (const channel of monitor.channels.values()) {
    const { value, unit } = channel;
    const since = channel.stamp.at;
    if (channel.flag === 'under-range') judgeUnderRange(state, changes, monitor, channel, since, false);
    if (value === null || unit === null) continue;
    const background = backgroundOf(state, monitor.id, channel.channel).value;
    for (const [i, point] of pointsOf(state.table, channel.channel).entries()) {
      if (!meets(point, comparedValue(point, value, background, riseFor(point, channel)))) continue;
      const phase = channel.phases[i] ?? 0;
      if (phase === 0 && point.onDelayMs > 0 && waitsOnDelay(state, monitor, point)) continue;
      if (phase >= 2) cancelDeadline(state.deadlines, offKey(monitor.id, point));
      channel.phases[i] = 1;
      if (phase === 0) raiseLevel(state, changes, monitor, point, { value, unit, since }, false);
    }
  }
}

function trackBack(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  channel: ChannelState,
  index: number,
  point: SetPoint,
  back: boolean,
  measured: Measured,
): void {
  const alarm = listedAlarm(state, baseOf(monitor.id, point.channel, point.id));
  if (alarm !== undefined) alarm.value = measured.value;
  const phase = channel.phases[index] ?? 0;
  const key = offKey(monitor.id, point);
  if (alarm !== undefined) changes.alarms.add(alarm.id);
  if (!back) {
    if (phase >= 2) cancelDeadline(state.deadlines, key);
    channel.phases[index] = 1;
  } else if (phase >= 2 && state.deadlines.byKey.has(key)) {
    channel.phases[index] = 3;
  } else if (phase === 2 && monitor.link === 'live') {
    // The off-delay was over before a second reading came: this one ends it.
    channel.phases[index] = 0;
    if (alarm !== undefined) conditionEnded(state, changes, alarm);
  } else {
    channel.phases[index] = 2;
    setDeadline(state.deadlines, {
      key,
      kind: 'point-off',
      monitor: monitor.id,
      channel: channel.channel,
      point: point.id,
      at: state.now + point.offDelayMs * MILLISECOND,
    });
  }
}

/** The off-delay is over: the alarm returns, unless the monitor went quiet meanwhile and nobody knows. */
export function endOffDelay(state: IncidentState, changes: Changes, monitor: MonitorState, deadline: Deadline): void {
  const channel = monitor.channels.get(deadline.channel ?? '');
  if (channel === undefined) return;
  const index = pointsOf(state.table, channel.channel).findIndex((point) => point.id === deadline.point);
  const phase = channel.phases[index] ?? 0;
  if (phase < 2) return;
  if (monitor.link !== 'live') channel.phases[index] = 1;
  if (phase !== 3 || monitor.link !== 'live') return;
  channel.phases[index] = 0;
  const alarm = listedAlarm(state, baseOf(monitor.id, channel.channel, deadline.point ?? ''));
  if (alarm !== undefined) conditionEnded(state, changes, alarm);
}

/** No number came: whatever was about to return waits until one does. */
export function holdLevels(state: IncidentState, monitor: MonitorState, channel: ChannelState): void {
  const points = pointsOf(state.table, channel.channel);
  for (const [i, point] of points.entries()) {
    if ((channel.phases[i] ?? 0) < 2) continue;
    cancelDeadline(state.deadlines, offKey(monitor.id, point));
    channel.phases[i] = 1;
  }
}

/** Below the sensor's range: for oxygen that is worse than any low level, so each of them is met. */
export function judgeUnderRange(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  channel: ChannelState,
  since: PostTime,
  late: boolean,
): void {
  const points = pointsOf(state.table, channel.channel);
  for (const [i, point] of points.entries()) {
    if (isRising(point) || point.compare !== 'value') continue;
    const phase = channel.phases[i] ?? 0;
    const alarm = phase === 0 ? undefined : listedAlarm(state, baseOf(monitor.id, point.channel, point.id));
    if (alarm?.condition !== true) {
      const raised = raiseLevel(state, changes, monitor, point, null, late, since);
      raised.worst = null;
      if (late && !soundsLate(point)) {
        conditionEnded(state, changes, raised);
        continue;
      }
    } else if (!late) {
      if (phase >= 2) cancelDeadline(state.deadlines, offKey(monitor.id, point));
      alarm.value = null;
      if (alarm.worst !== null) {
        alarm.worst = null;
        gotWorse(state, changes, alarm, { words: levelWords(point.channel, null, false) });
      }
    } else continue;
    channel.phases[i] = 1;
  }
}

/** What withdraws people sounds until a newer packet says otherwise, however late it is learned. */
function soundsLate(point: SetPoint): boolean {
  return point.withdraw || point.protected;
}

/**
 * A value that came to light late, while a newer one is known. A level at which people are withdrawn sounds until
 * a newer packet says otherwise; a lower one stands as an alarm that has returned and waits for an answer.
 */
export function judgeLateLevel(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  channel: ChannelState,
  measured: Measured,
): void {
  const points = pointsOf(state.table, channel.channel);
  const background = backgroundOf(state, monitor.id, channel.channel).value;
  for (const [i, point] of points.entries()) {
    if (!meets(point, comparedValue(point, measured.value, background))) continue;
    const listed = listedAlarm(state, baseOf(monitor.id, point.channel, point.id));
    const waits = listed !== undefined && listed.acknowledged === null;
    if (listed !== undefined && (listed.condition || (waits && !soundsLate(point)))) {
      // It stands there already: a further peak of the same backlog is no further alarm.
      followWorst(point, listed, measured.value, background);
      changes.alarms.add(listed.id);
      continue;
    }
    const alarm = raiseLevel(state, changes, monitor, point, measured, true);
    if (soundsLate(point)) channel.phases[i] = 1;
    else conditionEnded(state, changes, alarm);
  }
}

function raiseLevel(
  state: IncidentState,
  changes: Changes,
  monitor: MonitorState,
  point: SetPoint,
  measured: Measured | null,
  late: boolean,
  since = measured?.since ?? state.now,
): AlarmRecord {
  const alarm = raise(state, changes, baseOf(monitor.id, point.channel, point.id), {
    monitor: monitor.id,
    kind: 'level',
    sensor: point.channel,
    setPoint: point.id,
    priority: point.priority,
    latched: point.latched,
    since,
    value: measured?.value ?? null,
    late,
    whileDown: false,
    words: levelWords(point.channel, measured, late),
    action: point.action,
    source: point.source,
    protected: point.protected,
  });
  if (measured !== null) {
    followWorst(point, alarm, measured.value, backgroundOf(state, monitor.id, point.channel).value);
  }
  return alarm;
}

function levelWords(channel: string, measured: Measured | null, late: boolean): string {
  const reads = measured === null ? 'under range' : valueWords(channel, measured.value, measured.unit);
  return `${channelName(channel)} ${reads}${late ? ', learned late' : ''}`;
}

/** Follows the worst value of an alarm that stands, and says so when it went on by more than the deadband. */
function stillMeets(
  state: IncidentState,
  changes: Changes,
  alarm: AlarmRecord,
  point: SetPoint,
  measured: Measured,
  background: number,
): void {
  alarm.value = measured.value;
  // What was learned late is known to hold now.
  const late = alarm.late;
  alarm.late = false;
  changes.alarms.add(alarm.id);
  followWorst(point, alarm, measured.value, background);
  const words = levelWords(point.channel, measured, false);
  if (alarm.told !== null) {
    const told = ranked(point, alarm.told, background);
    const step = Math.max(point.deadband, Math.abs(told) * 0.1);
    if (worse(point, ranked(point, measured.value, background), told, step)) {
      gotWorse(state, changes, alarm, { words });
      return;
    }
    if (!late) return;
  }
  // Back from under range, or from late to present: no worse than it was, but the words are of now.
  alarm.told = measured.value;
  alarm.words = words;
}

/** Keeps the worst number of an alarm; where it was below any number (under range), nothing is worse. */
function followWorst(point: SetPoint, alarm: AlarmRecord, value: number, background: number): void {
  if (alarm.worst === null) return;
  if (worse(point, ranked(point, value, background), ranked(point, alarm.worst, background), 0)) alarm.worst = value;
}

/** By what two values of one set-point are put in order: for a rise the value itself, which is what is at stake. */
function ranked(point: SetPoint, value: number, background: number): number {
  return comparedValue(point, value, background) ?? value;
}

function worse(point: SetPoint, now: number, than: number, by: number): boolean {
  return isRising(point) ? compare(now, than + by) > 0 : compare(now, than - by) < 0;
}

export function offKey(monitor: string, point: Pick<SetPoint, 'channel' | 'id'>): string {
  return `off ${monitor} ${point.channel} ${point.id}`;
}

export function onKey(monitor: string, point: Pick<SetPoint, 'channel' | 'id'>): string {
  return `on ${monitor} ${point.channel} ${point.id}`;
}

/** Words of the level that a set-point stands for, for instance "below 19.5 %vol". */
export function setPointWords(point: SetPoint): string {
  const word = { '>=': 'at or over', '>': 'over', '<=': 'at or under', '<': 'below' }[point.direction];
  if (point.compare === 'times-background') return `${word} ${point.value} × background`;
  if (point.compare === 'mixture') return `sum of the shares of the limits ${word} ${point.value}`;
  if (point.compare === 'dose') return `dose ${word} ${point.value} ${point.unit}`;
  if (point.unit === 'x' || point.unit === 'mR') return `${word} ${point.value} ${point.unit}`;
  const level = valueWords(point.channel, point.value, point.unit);
  if (point.compare === 'stel') return `15-minute average ${word} ${level}`;
  if (point.compare === 'twa') return `8-hour average ${word} ${level}`;
  if (point.compare === 'rise-per-minute') return `rise ${word} ${level} a minute`;
  if (point.compare === 'above-background') return `${word} ${level} above background`;
  if (point.compare === 'off-background') return `${level} or more off the background`;
  return `${word} ${level}`;
}
