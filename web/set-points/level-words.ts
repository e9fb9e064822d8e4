/** A set-point in words: what is compared, where it is published and how sure that is. Kept apart from the page. */
import type { TableProblem } from '../../shared/alarm/check-table.ts';
import type { SetPoint } from '../../shared/alarm/set-point.ts';
import { CHANNELS, isKnownChannel } from '../../shared/quantity/channels.ts';
import { channelName, valueWords } from '../../shared/quantity/display.ts';
import { figures, unitWords } from '../words/values.ts';

export const COMPARE_WORDS: Readonly<Record<SetPoint['compare'], string>> = {
  value: 'the reading itself',
  'above-background': 'the reading minus the background',
  'off-background': 'how far the reading is off the background, either way',
  'times-background': 'the reading divided by the background',
  'rise-per-minute': 'the change a minute, over the last minute',
  stel: 'a person’s 15-minute average, over all the monitors worn',
  twa: 'a person’s sum of the shift over 8 hours, over all the monitors worn',
  dose: 'a person’s gamma dose so far, over all the monitors worn',
  mixture: 'the sum of a person’s shares of the shift limits',
};

export const DIRECTION_WORDS: Readonly<Record<SetPoint['direction'], string>> = {
  '>=': 'at or over',
  '>': 'over',
  '<=': 'at or under',
  '<': 'below',
};

export const TAG_WORDS: Readonly<Record<SetPoint['sourceTag'], string>> = {
  seen: 'read in the source',
  'seen-copy': 'read in a copy of the source',
  memory: 'from memory: verify',
  'common practice': 'common practice, no source',
};

/** Each field's name, as it stands at the form. */
export const FIELD_WORDS: Readonly<Record<string, string>> = {
  id: 'short name',
  channel: 'channel',
  compare: 'what is compared',
  direction: 'direction',
  value: 'level',
  unit: 'unit',
  deadband: 'deadband',
  onDelayMs: 'delay before the alarm',
  offDelayMs: 'delay before it returns',
  latched: 'latched',
  priority: 'priority',
  withdraw: 'withdraw line',
  protected: 'protected',
  action: 'what to do',
  source: 'source',
  sourceTag: 'how sure',
};

/** The unit that a level has by what is compared; null where the channel leaves it open. */
export function unitOf(compare: SetPoint['compare'], channel: string): SetPoint['unit'] | null {
  if (compare === 'times-background' || compare === 'mixture') return 'x';
  if (compare === 'dose') return 'mR';
  return isKnownChannel(channel) ? CHANNELS[channel].unit : null;
}

/** A unit as people read it behind a level. */
export function levelUnitWords(unit: SetPoint['unit'], compare: SetPoint['compare']): string {
  if (unit === 'x') return compare === 'mixture' ? 'of the limits' : '× background';
  return compare === 'rise-per-minute' ? `${unitWords(unit)} a minute` : unitWords(unit);
}

/** How far back past the level the value must come, in the unit that the level is written in. */
export function deadbandWords(point: Pick<SetPoint, 'channel' | 'compare' | 'unit' | 'deadband'>): string {
  const { channel, compare, unit, deadband } = point;
  if (deadband === 0) return 'none';
  if (unit === 'x' || unit === 'mR') return `${deadband} ${levelUnitWords(unit, compare)}`;
  return `${groupedDigits(valueWords(channel, deadband, unit))}${compare === 'rise-per-minute' ? ' a minute' : ''}`;
}

/** Long figures in groups: "10000000 µR/h" is hard to read at a glance. */
export function groupedDigits(words: string): string {
  return words.replace(/\b\d{5,}\b/g, (digits) => figures(Number(digits), 0));
}

/** "at once", "after 5 s". */
export function delayWords(ms: number): string {
  return ms === 0 ? 'at once' : `after ${ms / 1000} s`;
}

/** Where in the table a problem is, for people: "combustible, lel-25, deadband". */
export function pathWords(path: string, setPoints: readonly Pick<SetPoint, 'id' | 'channel'>[]): string {
  if (path === '' || path === 'setPoints') return 'The whole table';
  const [top, at, field] = path.split('.');
  if (top !== 'setPoints') return `Table, ${top ?? ''}`;
  const index = Number(at);
  const point = setPoints[index];
  const which = point === undefined ? `Set-point ${index + 1}` : `${channelName(point.channel)}, ${point.id || 'new'}`;
  return field === undefined ? which : `${which}, ${FIELD_WORDS[field] ?? field}`;
}

/** The words of a problem without the short name of its set-point, which its place says already. */
export function problemWords(problem: TableProblem): string {
  return problem.words.replace(/^[a-z0-9-]{0,48}: /, '');
}

export type ChannelGroup<T> = { readonly channel: string; readonly name: string; readonly points: readonly T[] };

/** Set-points by channel: the six first, then by name; within one in the order of the table. */
export function byChannel<T extends { readonly channel: string }>(points: readonly T[]): ChannelGroup<T>[] {
  const known = Object.keys(CHANNELS);
  const rank = (channel: string) => known.indexOf(channel) + 1 || known.length + 1;
  const channels = [...new Set(points.map((point) => point.channel))];
  channels.sort((a, b) => rank(a) - rank(b) || (a < b ? -1 : 1));
  return channels.map((channel) => ({
    channel,
    name: channelName(channel),
    points: points.filter((point) => point.channel === channel),
  }));
}
