/**
 * A packet as bytes and back, without loss. Its monitor, boot, via and seq are not in them: they are columns of
 * the row. The layout is described in docs/decisions/0002-journal-file.md.
 */
import type {
  StoredPacket,
  StoredPosition,
  StoredReading,
  StoredStatus,
  StoredWeather,
} from '../../shared/protocol/stored-packet.ts';
import type { ByteWriter } from './byte-writer.ts';
import {
  CHANNEL_CODES,
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
} from './packet-codes.ts';

/** Numbers for words that come again and again. 0: the word has no number and is written out. */
export type WordNumbers = { numberOf(text: string): number };

/** Writes the body of a packet record. `atMs`: whole ms of the record's post time; the times are distances from it. */
export function encodePacket(
  out: ByteWriter,
  relay: string,
  packet: StoredPacket,
  atMs: number,
  words: WordNumbers,
): void {
  out.u8(PACKET_VERSION);
  out.varint(fieldsOf(packet));
  const relayNumber = words.numberOf(relay);
  out.varint(relayNumber);
  if (relayNumber === 0) out.text(relay);
  if (packet.measuredAt !== undefined) out.time(packet.measuredAt, atMs);
  if (packet.sentAt !== undefined) out.time(packet.sentAt, atMs);
  if (packet.ageMs !== undefined) out.number(packet.ageMs);
  out.varint(packet.readings.size);
  for (const [channel, reading] of packet.readings) encodeReading(out, channel, reading, words);
  if (packet.status !== undefined) encodeStatus(out, packet.status, atMs);
  if (packet.position !== undefined) encodePosition(out, packet.position);
  if (packet.weather !== undefined) encodeWeather(out, packet.weather);
  if (packet.aside !== undefined) {
    out.varint(packet.aside.length);
    for (const { path, raw } of packet.aside) {
      out.text(path);
      out.text(raw);
    }
  }
  if (packet.extra !== undefined) out.text(packet.extra);
}

function fieldsOf(packet: StoredPacket): number {
  return (
    (packet.measuredAt === undefined ? 0 : HAS.measuredAt) |
    (packet.sentAt === undefined ? 0 : HAS.sentAt) |
    (packet.ageMs === undefined ? 0 : HAS.ageMs) |
    (packet.status === undefined ? 0 : HAS.status) |
    (packet.position === undefined ? 0 : HAS.position) |
    (packet.simulated === undefined ? 0 : HAS.simulated) |
    (packet.weather === undefined ? 0 : HAS.weather) |
    (packet.test === undefined ? 0 : HAS.test) |
    (packet.aside === undefined ? 0 : HAS.aside) |
    (packet.extra === undefined ? 0 : HAS.extra)
  );
}

function encodeReading(out: ByteWriter, channel: string, reading: StoredReading, words: WordNumbers): void {
  const { value, unit, flag, aside } = reading;
  const known = CHANNEL_CODES.get(channel);
  const number = known === undefined ? words.numberOf(channel) : 0;
  const code = known ?? (number === 0 ? SPELLED_CHANNEL : INTERNED_CHANNEL);
  const usual = unit !== undefined && unit === USUAL_UNIT[code];
  out.u8(
    code |
      (value === undefined ? 0 : READING_HAS.value) |
      (usual ? READING_HAS.usualUnit : unit === undefined ? 0 : READING_HAS.unit) |
      (flag === undefined ? 0 : READING_HAS.flag) |
      (aside === undefined ? 0 : READING_HAS.aside),
  );
  if (code === INTERNED_CHANNEL) out.varint(number);
  else if (code === SPELLED_CHANNEL) out.text(channel);
  if (value !== undefined) out.number(value);
  if (unit !== undefined && !usual) out.u8(UNIT.codeOf[unit]);
  if (flag !== undefined) out.u8(FLAG.codeOf[flag]);
  if (aside !== undefined) {
    out.u8(WARNING.codeOf[aside.code]);
    out.text(aside.raw);
  }
}

function encodeStatus(out: ByteWriter, status: StoredStatus, atMs: number): void {
  const { battery, linkQuality, intervalMs, zeroedAt, bumpedAt, calibratedAt, motion, pump, mode } = status;
  out.u8(
    (battery === undefined ? 0 : STATUS_HAS.battery) |
      (linkQuality === undefined ? 0 : STATUS_HAS.linkQuality) |
      (intervalMs === undefined ? 0 : STATUS_HAS.intervalMs) |
      (zeroedAt === undefined ? 0 : STATUS_HAS.zeroedAt) |
      (bumpedAt === undefined ? 0 : STATUS_HAS.bumpedAt) |
      (calibratedAt === undefined ? 0 : STATUS_HAS.calibratedAt),
  );
  out.varint(
    ((motion === undefined ? 0 : MOTION.codeOf[motion]) << STATUS_SHIFT.motion) |
      ((pump === undefined ? 0 : PUMP.codeOf[pump]) << STATUS_SHIFT.pump) |
      (yesNo(status.help) << STATUS_SHIFT.help) |
      ((mode === undefined ? 0 : MODE.codeOf[mode]) << STATUS_SHIFT.mode) |
      (yesNo(status.testDue) << STATUS_SHIFT.testDue),
  );
  if (battery !== undefined) out.number(battery);
  if (linkQuality !== undefined) out.number(linkQuality);
  if (intervalMs !== undefined) out.number(intervalMs);
  if (zeroedAt !== undefined) out.time(zeroedAt, atMs);
  if (bumpedAt !== undefined) out.time(bumpedAt, atMs);
  if (calibratedAt !== undefined) out.time(calibratedAt, atMs);
}

/** 0 not said, 1 no, 2 yes. */
function yesNo(answer: boolean | undefined): number {
  return answer === undefined ? 0 : answer ? 2 : 1;
}

function encodePosition(out: ByteWriter, position: StoredPosition): void {
  const { lat, lon, accuracy, usng } = position;
  const latSteps = stepsOf(lat);
  const lonSteps = stepsOf(lon);
  out.u8(
    (latSteps === null ? POSITION_HAS.latDouble : 0) |
      (lonSteps === null ? POSITION_HAS.lonDouble : 0) |
      (accuracy === undefined ? 0 : POSITION_HAS.accuracy) |
      (usng === undefined ? 0 : POSITION_HAS.usng),
  );
  if (latSteps === null) out.double(lat);
  else out.i32(latSteps);
  if (lonSteps === null) out.double(lon);
  else out.i32(lonSteps);
  if (accuracy !== undefined) out.number(accuracy);
  if (usng !== undefined) out.text(usng);
}

/** Null where steps would not give the same number back. */
function stepsOf(degrees: number): number | null {
  const steps = Math.round(degrees * DEGREE_STEPS);
  return steps / DEGREE_STEPS === degrees && steps === (steps | 0) && !Object.is(degrees, -0) ? steps : null;
}

function encodeWeather(out: ByteWriter, weather: StoredWeather): void {
  const { windFrom, windSpeed, temperature, humidity, pressure } = weather;
  out.u8(
    (windFrom === undefined ? 0 : WEATHER_HAS.windFrom) |
      (windSpeed === undefined ? 0 : WEATHER_HAS.windSpeed) |
      (temperature === undefined ? 0 : WEATHER_HAS.temperature) |
      (humidity === undefined ? 0 : WEATHER_HAS.humidity) |
      (pressure === undefined ? 0 : WEATHER_HAS.pressure),
  );
  if (windFrom !== undefined) out.number(windFrom);
  if (windSpeed !== undefined) out.number(windSpeed);
  if (temperature !== undefined) out.number(temperature);
  if (humidity !== undefined) out.number(humidity);
  if (pressure !== undefined) out.number(pressure);
}
