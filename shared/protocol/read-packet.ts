/**
 * Judges one packet field by field. Only a packet without a usable monitor, boot or seq is refused whole;
 * everything else that cannot be understood is set aside alone, with a warning that names the path and what was
 * expected, and is kept as text. A bad reading never costs a good one, nor a `down`.
 */
import { isWild, parseInstant } from './instants.ts';
import type { Rejection, Warning, WarningCode } from './packet.ts';
import { readPosition, readStatus, readWeather } from './read-fields.ts';
import { readReadings } from './read-readings.ts';
import type { StoredPacket } from './stored-packet.ts';

export type ReadResult =
  | { ok: true; packet: StoredPacket; warnings: Warning[] }
  | { ok: false; error: Rejection; monitor?: string };

/** Collects what is set aside while one packet is read. */
export type Notes = {
  readonly warnings: Warning[];
  readonly aside: { path: string; raw: string }[];
  /** Unknown keys, by where they stood. */
  readonly extra: Record<string, unknown>;
};

const RAW_LIMIT = 200;
const EXTRA_LIMIT = 4096;
const TOO_DEEP = '(nested too deep to be kept)';

/** Text of what was sent, cut at 200 characters. */
export function rawText(value: unknown): string {
  return cut(typeof value === 'number' ? String(value) : (jsonText(value) ?? TOO_DEEP));
}

/** A value and its unit as people write them: "12 %", cut at 200 characters. */
export function rawPair(value: number, unit: unknown): string {
  return cut(`${value} ${typeof unit === 'string' ? unit : rawText(unit)}`);
}

function cut(text: string): string {
  return text.length > RAW_LIMIT ? `${text.slice(0, RAW_LIMIT - 1)}…` : text;
}

/** JSON text of what was parsed from JSON, or null where it is nested deeper than can be written again. */
function jsonText(value: unknown): string | null {
  try {
    return JSON.stringify(value) ?? String(value);
  } catch {
    return null;
  }
}

/** Notes one field that cannot be used: a warning for the relay and the text for the record. */
export function setAside(notes: Notes, path: string, value: unknown, expected: string): void {
  notes.warnings.push({ code: 'field-invalid', path, message: `${path}: expected ${expected}; set aside` });
  notes.aside.push({ path, raw: rawText(value) });
}

/** True for what JSON calls an object. */
export function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

/**
 * Reads one packet as parsed from JSON.
 * @param postWallMs the post's wall clock, ms since 1970: only to tell a clock that cannot be right.
 */
export function readPacket(raw: unknown, postWallMs: number): ReadResult {
  if (!isObject(raw)) return refuse('', 'a packet is a JSON object with monitor, boot and seq', undefined);
  const monitor = usableText(raw.monitor) ? raw.monitor : undefined;
  if (monitor === undefined) {
    return refuse('monitor', 'monitor: expected 1 to 64 printable characters, for instance "M-07"', undefined);
  }
  if (!usableText(raw.boot)) {
    return refuse('boot', 'boot: expected 1 to 64 printable characters, new whenever seq starts again', monitor);
  }
  if (!Number.isSafeInteger(raw.seq) || typeof raw.seq !== 'number' || raw.seq < 0) {
    return refuse('seq', 'seq: expected an integer from 0 to 9007199254740991', monitor);
  }
  const notes: Notes = { warnings: [], aside: [], extra: {} };
  const packet = readBody(raw, { monitor, boot: raw.boot, seq: raw.seq }, notes, postWallMs);
  return { ok: true, packet, warnings: notes.warnings };
}

function readBody(
  raw: Record<string, unknown>,
  key: { monitor: string; boot: string; seq: number },
  notes: Notes,
  postWallMs: number,
): StoredPacket {
  const packet: { -readonly [K in keyof StoredPacket]: StoredPacket[K] } = { ...key, readings: new Map() };
  for (const [name, value] of Object.entries(raw)) {
    switch (name) {
      case 'monitor':
      case 'boot':
      case 'seq':
        break;
      case 'via':
        if (usableText(value)) packet.via = value;
        else setAside(notes, 'via', value, '1 to 64 printable characters');
        break;
      case 'measuredAt':
      case 'sentAt': {
        const ms = parseInstant(value);
        if (ms === null)
          setAside(notes, name, value, 'a date and time by RFC 3339 with a zone, like "2026-05-14T13:05:09.250Z"');
        else packet[name] = ms;
        break;
      }
      case 'ageMs':
        if (typeof value === 'number' && Number.isFinite(value) && value >= 0) packet.ageMs = value;
        else setAside(notes, 'ageMs', value, 'a number of milliseconds, 0 or more');
        break;
      case 'readings':
        packet.readings = readReadings(value, notes);
        break;
      case 'status': {
        const status = readStatus(value, notes);
        if (status !== undefined) packet.status = status;
        break;
      }
      case 'position': {
        const position = readPosition(value, notes);
        if (position !== undefined) packet.position = position;
        break;
      }
      case 'weather': {
        const weather = readWeather(value, notes);
        if (weather !== undefined) packet.weather = weather;
        break;
      }
      case 'test':
      case 'simulated':
        if (value === true) packet[name] = true;
        else if (value !== false) setAside(notes, name, value, 'true or false');
        break;
      default:
        keepExtra(notes, name, value);
    }
  }
  warnOfWildClock(packet, notes, postWallMs);
  const extra = extraText(notes);
  if (extra !== undefined) packet.extra = extra;
  if (notes.aside.length > 0) packet.aside = notes.aside;
  return packet;
}

/** Keeps a key that the protocol does not know. `__proto__` is a key like any other here. */
export function keepExtra(notes: Notes, path: string, value: unknown): void {
  Object.defineProperty(notes.extra, path, { value, enumerable: true, configurable: true, writable: true });
}

function extraText(notes: Notes): string | undefined {
  if (Object.keys(notes.extra).length === 0) return undefined;
  const text = jsonText(notes.extra);
  if (text !== null && text.length <= EXTRA_LIMIT) return text;
  setAside(
    notes,
    Object.keys(notes.extra).join(' ').slice(0, 80),
    notes.extra,
    `unknown keys of at most ${EXTRA_LIMIT} characters in all`,
  );
  return undefined;
}

function warnOfWildClock(packet: { measuredAt?: number; sentAt?: number }, notes: Notes, postWallMs: number): void {
  for (const name of ['measuredAt', 'sentAt'] as const) {
    const ms = packet[name];
    if (ms === undefined || !isWild(ms, postWallMs)) continue;
    const message = `${name}: ${new Date(ms).toISOString()} cannot be right: set the relay's clock, or send ageMs; stored, and judged by its age or its arrival`;
    notes.warnings.push({ code: 'clock-unknown', path: name, message });
  }
}

// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is refused
const USABLE = /^[^\u0000-\u001f\u007f]{1,64}$/;

/** The same as the schema's short text, in one step: it is asked twice a packet. */
function usableText(value: unknown): value is string {
  return typeof value === 'string' && USABLE.test(value);
}

function refuse(path: string, message: string, monitor: string | undefined): ReadResult {
  const error: Rejection = { code: 'invalid', path, message };
  return monitor === undefined ? { ok: false, error } : { ok: false, error, monitor };
}

export type { WarningCode };
