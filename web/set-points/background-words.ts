/** What counts as nothing, in words; and what an answer about it asks for next. */
import { backgroundLimit } from '../../shared/alarm/background-limits.ts';
import type { SetPoint } from '../../shared/alarm/set-point.ts';
import type { BoardHead } from '../../shared/protocol/board.ts';
import type { CommandAnswer } from '../../shared/protocol/commands.ts';
import { toCanonical } from '../../shared/quantity/canonical.ts';
import { CHANNELS, isKnownChannel, KNOWN_CHANNELS, UNITS, type Unit } from '../../shared/quantity/channels.ts';
import { valueWords } from '../../shared/quantity/display.ts';
import { clockTime } from '../words/times.ts';
import { columnUnit, unitWords } from '../words/values.ts';

/** Scope of what is taken for all monitors that have none of their own. */
export const SITE = 'site';

type Taken = NonNullable<BoardHead['backgrounds']>[number];

/** Channels whose background matters: what is read off a monitor, and what the table holds against a background. */
export function backgroundChannels(points: readonly Pick<SetPoint, 'channel' | 'compare'>[]): string[] {
  const used = new Set(points.filter((point) => point.compare.endsWith('-background')).map((point) => point.channel));
  const known = KNOWN_CHANNELS.filter((channel) => backgroundLimit(channel).taken || used.has(channel));
  return [...known, ...[...used].filter((channel) => !isKnownChannel(channel)).sort()];
}

export type InForce = {
  /** "7 µR/h"; null where nobody can say. */
  readonly value: string | null;
  readonly taken: boolean;
  /** "background not taken", or when and by whom. */
  readonly words: string;
};

/** The background in force for a channel of `monitor`, or of the site. */
export function backgroundInForce(
  taken: readonly Taken[],
  monitor: string | undefined,
  channel: string,
  zone: string,
): InForce {
  const own = taken.find((one) => one.monitor === monitor && one.channel === channel);
  const found = own ?? taken.find((one) => one.monitor === undefined && one.channel === channel);
  if (found === undefined) {
    const value = isKnownChannel(channel)
      ? valueWords(channel, CHANNELS[channel].assumedBackground, CHANNELS[channel].unit)
      : '0';
    return { value, taken: false, words: 'assumed: background not taken' };
  }
  const unit = isKnownChannel(channel) ? CHANNELS[channel].unit : undefined;
  const value = unit === undefined ? String(found.value) : valueWords(channel, found.value, unit);
  const of = monitor !== undefined && found.monitor === undefined ? 'of the site, ' : '';
  const against = found.override === undefined ? '' : `, against the checks: ${found.override}`;
  return { value, taken: true, words: `${of}taken ${clockTime(found.at, zone)} by ${found.by}${against}` };
}

/** Units in which a background of the channel can be typed, the one that the board shows first. */
export function typedUnits(channel: string): Unit[] {
  if (!isKnownChannel(channel)) return [...UNITS];
  const shown = columnUnit(channel);
  const own = UNITS.find((unit) => unitWords(unit) === shown) ?? CHANNELS[channel].unit;
  return [own, ...UNITS.filter((unit) => unit !== own && toCanonical(channel, 1, unit) !== null)];
}

/** What can still be done about an answer. */
export type Next =
  | { readonly kind: 'said' }
  /** These alarms would end: to be seen and confirmed. */
  | { readonly kind: 'confirm'; readonly alarms: readonly string[] }
  /** A check refuses it: an officer may say why it is taken all the same. */
  | { readonly kind: 'override'; readonly words: string };

/** Refusals that say what is believed, and not what is possible. */
const IN_DOUBT: ReadonlySet<string> = new Set([
  'above-ceiling',
  'out-of-range',
  'past-staging',
  'off-normal',
  'stale',
  'in-doubt',
]);

export function nextOf(answer: CommandAnswer): Next {
  if (answer.status === 'changed' && answer.code === 'would-silence') {
    const list = (answer.message ?? '').replace(/^This would end: /, '');
    return { kind: 'confirm', alarms: list.split('; ') };
  }
  if (answer.status === 'refused' && answer.code !== undefined && IN_DOUBT.has(answer.code))
    return { kind: 'override', words: answer.message ?? answer.code };
  return { kind: 'said' };
}
