/** Reads status, position and weather of a packet, each field for itself. */
import type { z } from 'zod';
import { fromUsng } from '../map/usng.ts';
import { parseInstant } from './instants.ts';
import * as schema from './packet.ts';
import { isObject, keepExtra, type Notes, setAside } from './read-packet.ts';
import type { StoredPosition, StoredStatus, StoredWeather } from './stored-packet.ts';

/** As the schema has it; the longest reference with spaces is far shorter. */
const LONGEST_USNG = 32;

type Field = { readonly schema: z.ZodType; readonly expected: string };
type Mutable<T> = { -readonly [K in keyof T]: T[K] };

const STATUS: Readonly<Record<Exclude<keyof StoredStatus, 'zeroedAt' | 'bumpedAt' | 'calibratedAt'>, Field>> = {
  battery: { schema: schema.status.shape.battery, expected: 'a number from 0 to 100 (per cent)' },
  pump: { schema: schema.status.shape.pump, expected: 'one of running, blocked, off, none' },
  motion: { schema: schema.status.shape.motion, expected: 'one of moving, still, down' },
  help: { schema: schema.status.shape.help, expected: 'true or false' },
  mode: { schema: schema.status.shape.mode, expected: 'one of all, gas-only, radiation-only' },
  linkQuality: { schema: schema.status.shape.linkQuality, expected: 'a number from 0 to 100 (per cent)' },
  intervalMs: { schema: schema.status.shape.intervalMs, expected: 'an integer from 50 to 3600000 (ms)' },
  testDue: { schema: schema.status.shape.testDue, expected: 'true or false' },
};
const WEATHER: Readonly<Record<keyof StoredWeather, Field>> = {
  windFrom: {
    schema: schema.weather.shape.windFrom,
    expected: 'degrees true that the wind comes from, 0 to 360',
  },
  windSpeed: { schema: schema.weather.shape.windSpeed, expected: 'metres a second, 0 to 150' },
  temperature: { schema: schema.weather.shape.temperature, expected: 'degrees Celsius, -90 to 90' },
  humidity: { schema: schema.weather.shape.humidity, expected: 'per cent, 0 to 100' },
  pressure: { schema: schema.weather.shape.pressure, expected: 'hPa, 300 to 1200' },
};

/** Status fields that can be understood; undefined where there is none at all. */
export function readStatus(raw: unknown, notes: Notes): StoredStatus | undefined {
  if (!isObject(raw)) return notAnObject(notes, 'status', raw);
  const status: Mutable<StoredStatus> = {};
  for (const [name, value] of Object.entries(raw)) {
    if (name === 'zeroedAt' || name === 'bumpedAt' || name === 'calibratedAt') {
      const ms = parseInstant(value);
      if (ms === null) setAside(notes, `status.${name}`, value, 'a date and time by RFC 3339 with a zone');
      else status[name] = ms;
    } else if (Object.hasOwn(STATUS, name)) {
      takeField(status, name, STATUS[name as keyof typeof STATUS], `status.${name}`, value, notes);
    } else keepExtra(notes, `status.${name}`, value);
  }
  return status;
}

/** Weather fields that can be understood. */
export function readWeather(raw: unknown, notes: Notes): StoredWeather | undefined {
  if (!isObject(raw)) return notAnObject(notes, 'weather', raw);
  const weather: Mutable<StoredWeather> = {};
  for (const [name, value] of Object.entries(raw)) {
    if (Object.hasOwn(WEATHER, name)) {
      takeField(weather, name, WEATHER[name as keyof typeof WEATHER], `weather.${name}`, value, notes);
    } else keepExtra(notes, `weather.${name}`, value);
  }
  return weather;
}

/** A place by latitude and longitude or by grid reference; half a place is none. */
export function readPosition(raw: unknown, notes: Notes): StoredPosition | undefined {
  if (!isObject(raw)) return notAnObject(notes, 'position', raw);
  const accuracy = readNumber(
    raw.accuracy,
    schema.position.shape.accuracy,
    'position.accuracy',
    'metres, 0 or more',
    notes,
  );
  for (const [name, value] of Object.entries(raw)) {
    if (name !== 'lat' && name !== 'lon' && name !== 'accuracy' && name !== 'usng')
      keepExtra(notes, `position.${name}`, value);
  }
  const byGrid = raw.lat === undefined && raw.lon === undefined && raw.usng !== undefined;
  // Given both ways, latitude and longitude count: the reference stays in the record.
  if (!byGrid && raw.usng !== undefined) keepExtra(notes, 'position.usng', raw.usng);
  const place = byGrid ? gridPlace(raw.usng, notes) : latLon(raw, notes);
  if (place !== undefined) return accuracy === undefined ? place : { ...place, accuracy };
  if (accuracy !== undefined) keepExtra(notes, 'position.accuracy', accuracy);
  return undefined;
}

function latLon(raw: Record<string, unknown>, notes: Notes): StoredPosition | undefined {
  const lat = readNumber(
    raw.lat ?? null,
    schema.position.shape.lat,
    'position.lat',
    'degrees north from -90 to 90',
    notes,
  );
  const lon = readNumber(
    raw.lon ?? null,
    schema.position.shape.lon,
    'position.lon',
    'degrees east from -180 to 180',
    notes,
  );
  if (lat !== undefined && lon !== undefined) return { lat, lon };
  // Half a place is none, but what was sent of it stays in the record.
  if (lat !== undefined) keepExtra(notes, 'position.lat', lat);
  if (lon !== undefined) keepExtra(notes, 'position.lon', lon);
  return undefined;
}

function gridPlace(usng: unknown, notes: Notes): StoredPosition | undefined {
  const place = typeof usng === 'string' && usng.length <= LONGEST_USNG ? fromUsng(usng) : null;
  if (typeof usng === 'string' && place !== null && place.ok) return { lat: place.lat, lon: place.lon, usng };
  setAside(notes, 'position.usng', usng, 'a USNG reference with an even number of digits, like "14TNQ6234578123"');
  return undefined;
}

function readNumber(raw: unknown, field: z.ZodType, path: string, expected: string, notes: Notes): number | undefined {
  if (raw === undefined) return undefined;
  if (typeof raw === 'number' && field.safeParse(raw).success) return raw;
  setAside(notes, path, raw, expected);
  return undefined;
}

function takeField(into: object, name: string, field: Field, path: string, value: unknown, notes: Notes): void {
  if (isGood(field, value)) Reflect.set(into, name, value);
  else setAside(notes, path, value, field.expected);
}

/** Values that a field was found to allow: monitors send the same few again and again. */
const good = new WeakMap<z.ZodType, Set<unknown>>();
const MOST_GOOD = 256;

function isGood(field: Field, value: unknown): boolean {
  if (value === undefined) return false;
  const known = good.get(field.schema);
  if (known?.has(value) === true) return true;
  if (!field.schema.safeParse(value).success) return false;
  if (known === undefined) good.set(field.schema, new Set([value]));
  else if (known.size < MOST_GOOD) known.add(value);
  return true;
}

function notAnObject(notes: Notes, path: string, raw: unknown): undefined {
  setAside(notes, path, raw, 'an object');
  return undefined;
}
