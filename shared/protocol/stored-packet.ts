/**
 * A packet after it was judged: the form that is stored, folded and replayed. Whatever was set aside is kept as
 * text, so that nothing a relay sent is lost. Times are milliseconds since 1970 by the clock that wrote them.
 */
import type { Unit } from '../quantity/channels.ts';
import type { Flag, WarningCode } from './packet.ts';

/**
 * One channel of a packet. At least one of `value` (with its unit), `flag`, `aside` is there. A value beside a flag
 * or beside `aside` is kept for the record and is never used as a number.
 */
export type StoredReading = {
  readonly value?: number;
  readonly unit?: Unit;
  readonly flag?: Flag;
  /** Why the reading could not be understood, with its text as sent (cut at 200 characters). */
  readonly aside?: { readonly code: WarningCode; readonly raw: string };
};

export type Pump = 'running' | 'blocked' | 'off' | 'none';
export type Motion = 'moving' | 'still' | 'down';
export type Mode = 'all' | 'gas-only' | 'radiation-only';

export type StoredStatus = {
  readonly battery?: number;
  readonly pump?: Pump;
  readonly motion?: Motion;
  readonly help?: boolean;
  readonly mode?: Mode;
  readonly linkQuality?: number;
  readonly intervalMs?: number;
  readonly zeroedAt?: number;
  readonly bumpedAt?: number;
  readonly calibratedAt?: number;
  readonly testDue?: boolean;
};

export type StoredPosition = {
  readonly lat: number;
  readonly lon: number;
  readonly accuracy?: number;
  /** As sent, where the position was given as a grid reference (lat and lon are then the centre of its square). */
  readonly usng?: string;
};

export type StoredWeather = {
  readonly windFrom?: number;
  readonly windSpeed?: number;
  readonly temperature?: number;
  readonly humidity?: number;
  readonly pressure?: number;
};

export type StoredPacket = {
  readonly monitor: string;
  readonly boot: string;
  readonly seq: number;
  readonly via?: string;
  /** By the relay's clock; wild values are kept as they are. */
  readonly measuredAt?: number;
  readonly sentAt?: number;
  readonly ageMs?: number;
  /** In the order sent. */
  readonly readings: ReadonlyMap<string, StoredReading>;
  readonly status?: StoredStatus;
  readonly position?: StoredPosition;
  readonly weather?: StoredWeather;
  readonly test?: true;
  readonly simulated?: true;
  /** Fields that were set aside: path and text as sent (cut at 200 characters each). */
  readonly aside?: readonly { readonly path: string; readonly raw: string }[];
  /** Keys that the protocol does not know, as JSON text of one object, cut to nothing over 4 kB. */
  readonly extra?: string;
};
