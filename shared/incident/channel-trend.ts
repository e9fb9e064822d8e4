/** How a channel changes, over the last minute before its newest measurement. */
import { trendPerMinute } from '../alarm/trend.ts';
import type { ChannelState } from './state.ts';
import { MINUTE, SECOND } from './time.ts';

/** The last part of the minute, which tells whether it has turned. */
const TURN_US = 15 * SECOND;

/** Change a minute in the canonical unit; null with too little to tell. */
export function trendOf(channel: ChannelState): number | null {
  const { at, values } = lastMinute(channel);
  const whole = trendPerMinute(at, values);
  const from = channel.stamp.at - TURN_US;
  const first = at.findIndex((time) => time >= from);
  const late = first < 0 ? null : trendPerMinute(at.slice(first), values.slice(first));
  // What has turned within the minute goes by its last part: "rising" must not stand beside a value that falls.
  return late !== null && whole !== null && late * whole < 0 ? late : whole;
}

/** The samples of the last minute before the newest one, oldest first: times in µs, canonical values. */
export function lastMinute(channel: ChannelState): { at: number[]; values: number[] } {
  const from = channel.stamp.at - MINUTE;
  const first = channel.recentAt.findIndex((at) => at >= from);
  if (first < 0) return { at: [], values: [] };
  return { at: channel.recentAt.slice(first), values: channel.recentValue.slice(first) };
}
