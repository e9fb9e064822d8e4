/**
 * How a canonical value is written for people. A column keeps one unit and one prefix: organic vapour is always
 * written in ppb, gamma always in µR/h. Rounding happens here and nowhere else; nothing compares what it returns.
 */

import { shiftDecimal } from './canonical.ts';
import { CHANNELS, isKnownChannel, type Unit } from './channels.ts';

const UNIT_TEXT: Partial<Record<Unit, string>> = { 'uR/h': 'µR/h', 'uSv/h': 'µSv/h', 'mg/m3': 'mg/m³' };

/** A unit as people write it. */
export function unitText(unit: string): string {
  return (UNIT_TEXT as Readonly<Record<string, string>>)[unit] ?? unit;
}

/** What the trade calls the channel. */
export function channelName(channel: string): string {
  return isKnownChannel(channel) ? CHANNELS[channel].name : channel.toUpperCase();
}

/** Figures and unit of a canonical value as the board writes them. */
export function displayValue(channel: string, value: number, unit: Unit): { figures: string; unit: string } {
  if (channel === 'voc' && unit === 'ppm') return { figures: figures(shiftDecimal(value, 3), 0), unit: 'ppb' };
  const decimals = isKnownChannel(channel) ? CHANNELS[channel].decimals : 0;
  return { figures: figures(value, decimals), unit: unitText(unit) };
}

/**
 * A value that is finer than its column gets one place more, so that 19.46 is not written as the 19.5 that it has
 * fallen below; and as many as it takes where that place would round to a 0, so that 19.496 is not 19.50 either.
 */
function figures(value: number, decimals: number): string {
  const coarse = value.toFixed(decimals);
  const exact = Math.abs(Number(coarse) - value) < 1e-9;
  let text = coarse;
  for (let places = decimals + 1; !exact && places <= MOST_PLACES; places += 1) {
    text = value.toFixed(places);
    if (!text.endsWith('0')) break;
  }
  return Number(text) === 0 ? text.replace('-', '') : text;
}

const MOST_PLACES = 9;

/** The same in one piece: "18.9 %vol". */
export function valueWords(channel: string, value: number, unit: Unit): string {
  const shown = displayValue(channel, value, unit);
  return `${shown.figures} ${shown.unit}`;
}
