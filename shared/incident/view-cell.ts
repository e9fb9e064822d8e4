/** One cell of the board: a channel of a monitor with its standing, headroom, trend and small curve. */
import { comparedValue, meets, pointsOf } from '../alarm/compile.ts';
import { headroom } from '../alarm/headroom.ts';
import type { Priority, SetPoint } from '../alarm/set-point.ts';
import type { Cell } from '../protocol/board.ts';
import { CHANNELS, isKnownChannel } from '../quantity/channels.ts';
import { valueWords } from '../quantity/display.ts';
import { standingOf } from '../standing/standing.ts';
import { backgroundOf } from './backgrounds.ts';
import { trendOf } from './channel-trend.ts';
import { BIN_US } from './fold-channel.ts';
import { riseFor, setPointWords } from './levels.ts';
import type { ChannelState, IncidentState, MonitorState } from './state.ts';
import { isTesting } from './testing.ts';
import { SECOND, toIso } from './time.ts';
import { compact } from './view.ts';
import { offByMode, staleAfterUs } from './watch.ts';

/** A cell. A value that is old or off keeps its number only where the number is still worth seeing, marked. */
export function cellView(state: IncidentState, monitor: MonitorState, channel: ChannelState): Cell {
  const name = channel.channel;
  const off = offByMode(monitor, name);
  const background = backgroundOf(state, monitor.id, name);
  const points = pointsOf(state.table, name);
  const { value } = channel;
  const usable = value !== null && !off;
  const room = usable ? headroom(points, value, background.value) : null;
  const worst = worstLevel(channel, points, usable ? value : null, background.value);
  const above = points.some((point) => point.compare !== 'value');
  return compact({
    value: off ? null : value,
    unit: channel.unit ?? (isKnownChannel(name) ? CHANNELS[name].unit : null),
    raw: rawOf(channel),
    flag: off ? ('off' as const) : (channel.flag ?? undefined),
    ...standing(state, monitor, channel, off),
    headroom: room === null ? null : room.left,
    ticks: room === null ? [] : [...room.ticks],
    trend: usable && !isStale(state, monitor, channel) ? trendOf(channel) : null,
    measuredAt: toIso(channel.stamp.at, state.wallOffsetMs),
    background: above || !background.assumed ? backgroundView(state, background) : undefined,
    level: worst?.priority ?? (channel.flag === 'over-range' ? ('danger' as const) : null),
    levelWords: worst?.words,
    spark: sparkOf(channel),
  });
}

function isStale(state: IncidentState, monitor: MonitorState, channel: ChannelState): boolean {
  return monitor.link !== 'live' || channel.unheard || state.now - channel.stamp.at > staleAfterUs(monitor);
}

function standing(state: IncidentState, monitor: MonitorState, channel: ChannelState, off: boolean) {
  const oxygen = monitor.channels.get('o2');
  return standingOf({
    channel: channel.channel,
    value: channel.value,
    valueWords:
      channel.value === null || channel.unit === null ? null : valueWords(channel.channel, channel.value, channel.unit),
    flag: channel.flag,
    stale: isStale(state, monitor, channel),
    offByMode: off,
    sampled: !isKnownChannel(channel.channel) || CHANNELS[channel.channel].sampled,
    pump: monitor.pump,
    test: isTesting(state, monitor),
    oxygen:
      oxygen === undefined
        ? null
        : {
            value: offByMode(monitor, 'o2') ? null : oxygen.value,
            stale: isStale(state, monitor, oxygen),
            underRange: oxygen.flag === 'under-range' && !offByMode(monitor, 'o2'),
          },
    relayClockOff: state.relays.get(monitor.relay)?.clock === 'off',
  });
}

/** How far the reading of a channel can be believed, and why not. */
export function cellStanding(state: IncidentState, monitor: MonitorState, channel: ChannelState) {
  return standing(state, monitor, channel, offByMode(monitor, channel.channel));
}

function rawOf(channel: ChannelState): Cell['raw'] {
  const { value, unit, aside } = channel.reading;
  if (aside !== undefined) return { text: aside.raw };
  if (value === undefined) return null;
  return unit === undefined ? { value } : { value, unit };
}

function backgroundView(state: IncidentState, background: ReturnType<typeof backgroundOf>): Cell['background'] {
  const { value, assumed } = background;
  if (background.assumed) return { value, assumed };
  return { value, assumed, by: background.by, at: toIso(background.at, state.wallOffsetMs) };
}

const RANK: Readonly<Record<Priority, number>> = { danger: 2, caution: 1, notice: 0 };

/**
 * An alarm that stands is the cell's level also where there is no number now: a fault does not end it. Where the
 * value of now is back past its level, and only deadband or off-delay hold the alarm, the words say that it was.
 */
function worstLevel(
  channel: ChannelState,
  points: ReturnType<typeof pointsOf>,
  value: number | null,
  background: number,
) {
  let worst: { priority: Priority; words: string } | null = null;
  for (const [i, point] of points.entries()) {
    const on = (channel.phases[i] ?? 0) !== 0;
    const met =
      value === null
        ? on && isPast(point, channel.flag)
        : meets(point, comparedValue(point, value, background, riseFor(point, channel)));
    if (!on && !met) continue;
    if (worst !== null && RANK[point.priority] < RANK[worst.priority]) continue;
    worst = { priority: point.priority, words: `${met ? '' : 'was '}${setPointWords(point)}` };
  }
  return worst;
}

/** Past the level although there is no number: the sensor says that it is beyond its range on that side. */
function isPast(point: SetPoint, flag: ChannelState['flag']): boolean {
  if (flag === 'under-range') return point.direction.startsWith('<') || point.compare === 'off-background';
  return flag === 'over-range' && point.direction.startsWith('>');
}

/** Seconds before the newest measurement and the value; a hole of more than two bins is a gap. */
function sparkOf(channel: ChannelState): Cell['spark'] {
  const spark: Cell['spark'] = [];
  const end = channel.stamp.at;
  let before: number | null = null;
  for (const [i, at] of channel.binAt.entries()) {
    if (before !== null && at - before > 2 * BIN_US) spark.push([Math.round((end - before - BIN_US) / SECOND), null]);
    spark.push([Math.max(0, Math.round((end - at) / SECOND)), channel.binValue[i] ?? null]);
    before = at;
  }
  return spark;
}
