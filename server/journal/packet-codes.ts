/**
 * The numbers that stand for words in a packet's bytes. They are in files: an entry is never changed or taken
 * away, a new one is added with a number that was never used. The tables are apart from those of the protocol so
 * that a change there cannot change how an old file reads.
 */
import type { Flag, WarningCode } from '../../shared/protocol/packet.ts';
import type { Mode, Motion, Pump } from '../../shared/protocol/stored-packet.ts';
import type { KnownChannel, Unit } from '../../shared/quantity/channels.ts';

export const PACKET_VERSION = 1;

export type CodeTable<Word extends string> = {
  readonly codeOf: Readonly<Record<Word, number>>;
  /** Word of each code; a hole where a code means "none". */
  readonly words: readonly (Word | undefined)[];
};

function table<Word extends string>(codeOf: Record<Word, number>): CodeTable<Word> {
  const words: (Word | undefined)[] = [];
  for (const word in codeOf) words[codeOf[word]] = word;
  return { codeOf, words };
}

/** Word of `code`. Throws RangeError on a code that this build does not know. */
export function wordOf<Word extends string>(codes: CodeTable<Word>, code: number): Word {
  const word = codes.words[code];
  if (word === undefined) throw new RangeError(`unknown code ${code}`);
  return word;
}

/** Three bits; 6 and 7 are other channels. */
export const CHANNEL = table<KnownChannel>({ o2: 0, lel: 1, co: 2, h2s: 3, voc: 4, gamma: 5 });
export const CHANNEL_CODES: ReadonlyMap<string, number> = new Map(Object.entries(CHANNEL.codeOf));
/** The channel's key is in the dictionary. */
export const INTERNED_CHANNEL = 6;
/** The channel's key is written out. */
export const SPELLED_CHANNEL = 7;

export const UNIT = table<Unit>({
  '%vol': 1,
  '%LEL': 2,
  ppm: 3,
  ppb: 4,
  'mg/m3': 5,
  'uR/h': 6,
  'mR/h': 7,
  'R/h': 8,
  'uSv/h': 9,
  'mSv/h': 10,
  'Sv/h': 11,
});
/** The unit that costs no byte, by channel code. */
export const USUAL_UNIT: readonly (Unit | undefined)[] = ['%vol', '%LEL', 'ppm', 'ppm', 'ppm', 'uR/h'];

export const FLAG = table<Flag>({ warming: 1, 'over-range': 2, 'under-range': 3, fault: 4, off: 5 });
export const WARNING = table<WarningCode>({
  'unit-missing': 1,
  'unit-unknown': 2,
  'value-invalid': 3,
  'field-invalid': 4,
  'clock-unknown': 5,
});
/** Two bits. */
export const MOTION = table<Motion>({ moving: 1, still: 2, down: 3 });
/** Three bits. */
export const PUMP = table<Pump>({ running: 1, blocked: 2, off: 3, none: 4 });
/** Two bits. */
export const MODE = table<Mode>({ all: 1, 'gas-only': 2, 'radiation-only': 3 });

/** Which fields of a packet follow, in the order in which they follow. */
export const HAS = {
  measuredAt: 1,
  sentAt: 2,
  ageMs: 4,
  status: 8,
  position: 16,
  simulated: 32,
  weather: 64,
  test: 128,
  aside: 256,
  extra: 512,
} as const;

/** Above the three bits of the channel. */
export const READING_HAS = { value: 8, usualUnit: 16, unit: 32, flag: 64, aside: 128 } as const;

export const STATUS_HAS = {
  battery: 1,
  linkQuality: 2,
  intervalMs: 4,
  zeroedAt: 8,
  bumpedAt: 16,
  calibratedAt: 32,
} as const;

/** Places of the small words within one number: motion, pump and help share its first byte. */
export const STATUS_SHIFT = { motion: 0, pump: 2, help: 5, mode: 7, testDue: 9 } as const;

export const POSITION_HAS = { latDouble: 1, lonDouble: 2, accuracy: 4, usng: 8 } as const;
/** Degrees are kept in steps of 1e-7 where that is exact: about 1 cm. */
export const DEGREE_STEPS = 1e7;

export const WEATHER_HAS = { windFrom: 1, windSpeed: 2, temperature: 4, humidity: 8, pressure: 16 } as const;
