/** The bytes of a packet record read back; see packet-codec.ts. */
import type {
  StoredPacket,
  StoredPosition,
  StoredReading,
  StoredStatus,
  StoredWeather,
} from '../../shared/protocol/stored-packet.ts';
import { ByteReader } from './byte-reader.ts';
import {
  CHANNEL,
  DEGREE_STEPS,
  FLAG,
  HAS,
  INTERNED_CHANNEL,
  MODE,
  MOTION,
  PACKET_VERSION,
  POSITION_HAS,
  PUMP,
  READING_HAS,
  SPELLED_CHANNEL,
  STATUS_HAS,
  STATUS_SHIFT,
  UNIT,
  USUAL_UNIT,
  WARNING,
  WEATHER_HAS,
  wordOf,
} from './packet-codes.ts';

/** The words of a file by their numbers. Throws RangeError on a number that has none. */
export type WordTexts = { textOf(number: number): string };
export type PacketIdentity = { monitor: string; via: string | undefined; boot: string; seq: number };

type Mutable<T> = { -readonly [K in keyof T]: T[K] };

/** Throws RangeError where the bytes are not those of a packet. */
export function decodePacket(
  body: Buffer,
  identity: PacketIdentity,
  atMs: number,
  words: WordTexts,
): { relay: string; packet: StoredPacket } {
  const input = new ByteReader(body);
  const version = input.u8();
  if (version !== PACKET_VERSION) throw new RangeError(`packet of version ${version}`);
  const has = input.varint();
  const relayNumber = input.varint();
  const relay = relayNumber === 0 ? input.text() : words.textOf(relayNumber);
  const readings = new Map<string, StoredReading>();
  const packet: Mutable<StoredPacket> = {
    monitor: identity.monitor,
    boot: identity.boot,
    seq: identity.seq,
    readings,
  };
  if (identity.via !== undefined) packet.via = identity.via;
  if (has & HAS.measuredAt) packet.measuredAt = input.time(atMs);
  if (has & HAS.sentAt) packet.sentAt = input.time(atMs);
  if (has & HAS.ageMs) packet.ageMs = input.number();
  for (let left = input.varint(); left > 0; left--) decodeReading(input, readings, words);
  if (has & HAS.status) packet.status = decodeStatus(input, atMs);
  if (has & HAS.position) packet.position = decodePosition(input);
  if (has & HAS.weather) packet.weather = decodeWeather(input);
  if (has & HAS.simulated) packet.simulated = true;
  if (has & HAS.test) packet.test = true;
  if (has & HAS.aside) {
    const aside: { path: string; raw: string }[] = [];
    for (let left = input.varint(); left > 0; left--) aside.push({ path: input.text(), raw: input.text() });
    packet.aside = aside;
  }
  if (has & HAS.extra) packet.extra = input.text();
  input.end();
  return { relay, packet };
}

function decodeReading(input: ByteReader, readings: Map<string, StoredReading>, words: WordTexts): void {
  const has = input.u8();
  const code = has & 7;
  const channel = channelOf(input, code, words);
  const reading: Mutable<StoredReading> = {};
  if (has & READING_HAS.value) reading.value = input.number();
  if (has & READING_HAS.usualUnit) {
    const unit = USUAL_UNIT[code];
    if (unit === undefined) throw new RangeError('a channel without a usual unit');
    reading.unit = unit;
  } else if (has & READING_HAS.unit) {
    reading.unit = wordOf(UNIT, input.u8());
  }
  if (has & READING_HAS.flag) reading.flag = wordOf(FLAG, input.u8());
  if (has & READING_HAS.aside) reading.aside = { code: wordOf(WARNING, input.u8()), raw: input.text() };
  readings.set(channel, reading);
}

function channelOf(input: ByteReader, code: number, words: WordTexts): string {
  if (code === SPELLED_CHANNEL) return input.text();
  if (code === INTERNED_CHANNEL) return words.textOf(input.varint());
  return wordOf(CHANNEL, code);
}

function decodeStatus(input: ByteReader, atMs: number): StoredStatus {
  const has = input.u8();
  const bits = input.varint();
  const status: Mutable<StoredStatus> = {};
  const motion = (bits >> STATUS_SHIFT.motion) & 3;
  const pump = (bits >> STATUS_SHIFT.pump) & 7;
  const help = (bits >> STATUS_SHIFT.help) & 3;
  const mode = (bits >> STATUS_SHIFT.mode) & 3;
  const testDue = (bits >> STATUS_SHIFT.testDue) & 3;
  if (motion !== 0) status.motion = wordOf(MOTION, motion);
  if (pump !== 0) status.pump = wordOf(PUMP, pump);
  if (help !== 0) status.help = help === 2;
  if (mode !== 0) status.mode = wordOf(MODE, mode);
  if (testDue !== 0) status.testDue = testDue === 2;
  if (has & STATUS_HAS.battery) status.battery = input.number();
  if (has & STATUS_HAS.linkQuality) status.linkQuality = input.number();
  if (has & STATUS_HAS.intervalMs) status.intervalMs = input.number();
  if (has & STATUS_HAS.zeroedAt) status.zeroedAt = input.time(atMs);
  if (has & STATUS_HAS.bumpedAt) status.bumpedAt = input.time(atMs);
  if (has & STATUS_HAS.calibratedAt) status.calibratedAt = input.time(atMs);
  return status;
}

function decodePosition(input: ByteReader): StoredPosition {
  const has = input.u8();
  const lat = has & POSITION_HAS.latDouble ? input.double() : input.i32() / DEGREE_STEPS;
  const lon = has & POSITION_HAS.lonDouble ? input.double() : input.i32() / DEGREE_STEPS;
  const position: Mutable<StoredPosition> = { lat, lon };
  if (has & POSITION_HAS.accuracy) position.accuracy = input.number();
  if (has & POSITION_HAS.usng) position.usng = input.text();
  return position;
}

function decodeWeather(input: ByteReader): StoredWeather {
  const has = input.u8();
  const weather: Mutable<StoredWeather> = {};
  if (has & WEATHER_HAS.windFrom) weather.windFrom = input.number();
  if (has & WEATHER_HAS.windSpeed) weather.windSpeed = input.number();
  if (has & WEATHER_HAS.temperature) weather.temperature = input.number();
  if (has & WEATHER_HAS.humidity) weather.humidity = input.number();
  if (has & WEATHER_HAS.pressure) weather.pressure = input.number();
  return weather;
}
