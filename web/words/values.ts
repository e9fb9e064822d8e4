/**
 * How a value of a channel is written. A column has one unit and keeps it, whatever the value: no prefix ever
 * changes by itself.
 */
import { shiftDecimal } from '../../shared/quantity/canonical.ts';
import { CHANNELS, isKnownChannel, KNOWN_CHANNELS } from '../../shared/quantity/channels.ts';

export type ColumnFacts = {
  readonly channel: string;
  /** What the trade calls it, for the column's head. */
  readonly name: string;
  readonly decimals: number;
  /** Smallest height of a trace in the column's unit, so that the noise of clean air looks like nothing. */
  readonly quietSpan: number | null;
  /** Change a minute, in the column's unit, from which a trend is worth a word. Our own choice. */
  readonly trendFrom: number | null;
};

const SHOWN: Readonly<Record<string, { decimals?: number; quietSpan: number; trendFrom: number }>> = {
  o2: { quietSpan: 1.5, trendFrom: 0.2 },
  lel: { quietSpan: 10, trendFrom: 1 },
  co: { quietSpan: 20, trendFrom: 3 },
  h2s: { quietSpan: 6, trendFrom: 1 },
  voc: { decimals: 0, quietSpan: 200, trendFrom: 50 },
  gamma: { quietSpan: 10, trendFrom: 3 },
};

/** Facts of a column; a channel that is not one of the six is named by its key, in capitals as a formula is. */
export function columnFacts(channel: string): ColumnFacts {
  const shown = SHOWN[channel];
  return {
    channel,
    name: isKnownChannel(channel) ? CHANNELS[channel].name : channel.toUpperCase(),
    decimals: shown?.decimals ?? (isKnownChannel(channel) ? CHANNELS[channel].decimals : 1),
    quietSpan: shown?.quietSpan ?? null,
    trendFrom: shown?.trendFrom ?? null,
  };
}

/** The value in its column's unit, with that unit's name: organic vapour is shown in ppb, all else as canonical. */
export function inColumnUnit(channel: string, value: number, unit: string): { value: number; unit: string } {
  if (channel === 'voc' && unit === 'ppm') return { value: shiftDecimal(value, 3), unit: 'ppb' };
  return { value, unit: unitWords(unit) };
}

/** The unit that a known channel's column is shown in. */
export function columnUnit(channel: string): string {
  if (channel === 'voc') return 'ppb';
  return isKnownChannel(channel) ? unitWords(CHANNELS[channel].unit) : '';
}

/** A unit as people write it: "µR/h" for `uR/h`, "mg/m³" for `mg/m3`. */
export function unitWords(unit: string): string {
  return unit.replace(/^u(?=R|Sv)/, 'µ').replace('m3', 'm³');
}

/**
 * The figures of a value: fixed decimals, groups of three, a true minus; never clamped. `exact` shows one decimal
 * more where the value has it, so that a value just past a level does not look as if it were on it.
 */
export function figures(value: number, decimals: number, exact = false): string {
  const plain = Math.abs(value).toFixed(decimals);
  const differs = Math.abs(Number(plain) - Math.abs(value)) > 1e-9 * Math.max(1, Math.abs(value));
  const text = exact && differs ? Math.abs(value).toFixed(decimals + 1) : plain;
  const [whole = '0', part] = text.split('.');
  const grouped = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, ',') : whole;
  const sign = value < 0 && /[1-9]/.test(text) ? '−' : '';
  return sign + grouped + (part === undefined ? '' : `.${part}`);
}

const FLAG_WORDS: Readonly<Record<string, string>> = {
  warming: 'warming up',
  'over-range': 'over range',
  'under-range': 'under range',
  fault: 'fault',
  off: 'off',
  'not-understood': 'not understood',
};

/** Why there is no number. */
export function flagWords(flag: string): string {
  return FLAG_WORDS[flag] ?? flag;
}

/** The six columns, then what else any of the monitors measures, by name. */
export function columnsFor(channels: Iterable<string>): string[] {
  const further = new Set<string>();
  for (const channel of channels) if (!isKnownChannel(channel)) further.add(channel);
  return [...KNOWN_CHANNELS, ...[...further].sort()];
}
