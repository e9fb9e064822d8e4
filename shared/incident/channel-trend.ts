/** How a channel changes, over the last minute before its newest measurement. */
import { trendPerMinute } from '../alarm/trend.ts';
import type { ChannelState } from './state.ts';
import { MINUTE } from './time.ts';

/** Change a minute in the canonical unit; null with too little to tell. */
export function trendOf(channel: ChannelState): number | null {
  const { at, values } = lastMinute(channel);
  return trendPerMinute(at, values);
}

/** The samples of the last minute before the newest one, oldest first: times in µs, canonical values. */
export function lastMinute(channel: ChannelState): { at: number[]; values: number[] } {
  const from = channel.stamp.at - MINUTE;
  const first = channel.recentAt.findIndex((at) => at >= from);
  if (first < 0) return { at: [], values: [] };
  return { at: channel.recentAt.slice(first), values: channel.recentValue.slice(first) };
}
