/**
 * The channels that are known from the start and the units that a packet may carry.
 * Each channel has one canonical unit: everything that is compared or shown in a column is in it, and the
 * value as sent is kept beside it. Nothing here guesses a unit.
 */

/** Every unit the protocol knows. Anything else is set aside with a warning. */
export const UNITS = ['%vol', '%LEL', 'ppm', 'ppb', 'mg/m3', 'uR/h', 'mR/h', 'R/h', 'uSv/h', 'mSv/h', 'Sv/h'] as const;
export type Unit = (typeof UNITS)[number];

export const KNOWN_CHANNELS = ['o2', 'lel', 'co', 'h2s', 'voc', 'gamma'] as const;
export type KnownChannel = (typeof KNOWN_CHANNELS)[number];

type ChannelFacts = {
  /** What the trade calls it, for a column head. */
  readonly name: string;
  readonly unit: Unit;
  /** Decimal places that are shown; never used before a comparison. */
  readonly decimals: number;
  /** What clean air or ordinary ground reads, until a background was taken. */
  readonly assumedBackground: number;
  /** Whether the air must reach the sensor through a pump or an inlet. */
  readonly sampled: boolean;
};

/**
 * Facts of the six channels. Oxygen 20.9 %vol and gamma about 7 µR/h as ordinary values: common practice, no
 * source, the gamma value consistent with the 5 to 20 µR/h that surveys of terrestrial and cosmic background give.
 */
export const CHANNELS: Readonly<Record<KnownChannel, ChannelFacts>> = {
  o2: { name: 'oxygen', unit: '%vol', decimals: 1, assumedBackground: 20.9, sampled: true },
  lel: { name: 'combustible', unit: '%LEL', decimals: 0, assumedBackground: 0, sampled: true },
  co: { name: 'carbon monoxide', unit: 'ppm', decimals: 0, assumedBackground: 0, sampled: true },
  h2s: { name: 'hydrogen sulfide', unit: 'ppm', decimals: 1, assumedBackground: 0, sampled: true },
  voc: { name: 'organic vapour', unit: 'ppm', decimals: 3, assumedBackground: 0, sampled: true },
  gamma: { name: 'gamma', unit: 'uR/h', decimals: 0, assumedBackground: 7, sampled: false },
};

/** True for one of the six channels whose canonical unit and facts are known. */
export function isKnownChannel(channel: string): channel is KnownChannel {
  return Object.hasOwn(CHANNELS, channel);
}

/** True for a unit string of the protocol. */
export function isUnit(text: string): text is Unit {
  return (UNITS as readonly string[]).includes(text);
}
