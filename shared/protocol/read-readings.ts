/** Reads the channels of a packet, each for itself. */

import { toCanonical } from '../quantity/canonical.ts';
import { CHANNELS, isKnownChannel, isUnit, UNITS } from '../quantity/channels.ts';
import { type Flag, flag as flagSchema, type WarningCode } from './packet.ts';
import { isObject, keepExtra, type Notes, rawPair, rawText, setAside } from './read-packet.ts';
import type { StoredReading } from './stored-packet.ts';

const CHANNEL_KEY = /^[a-z0-9-]{1,32}$/;
const MOST_CHANNELS = 64;
const FLAGS: ReadonlySet<unknown> = new Set(flagSchema.options);

/** The readings by channel; what cannot be understood is in its place, marked, never left out. */
export function readReadings(raw: unknown, notes: Notes): Map<string, StoredReading> {
  const readings = new Map<string, StoredReading>();
  if (!isObject(raw)) {
    setAside(notes, 'readings', raw, 'an object with one key a channel');
    return readings;
  }
  let tooMany = 0;
  for (const [channel, value] of Object.entries(raw)) {
    const path = `readings.${channel.slice(0, 40)}`;
    const expected = !CHANNEL_KEY.test(channel)
      ? 'a channel of 1 to 32 lower-case letters, digits and "-"'
      : readings.size >= MOST_CHANNELS && !isKnownChannel(channel)
        ? `at most ${MOST_CHANNELS} channels`
        : null;
    if (expected === null) readings.set(channel, readOne(channel, path, value, notes));
    else if (tooMany < MOST_CHANNELS) setAside(notes, path, value, expected);
    if (expected !== null) tooMany += 1;
  }
  // One packet must not become thousands of warnings; the last one says how many it stands for.
  if (tooMany > MOST_CHANNELS) {
    const left = tooMany - MOST_CHANNELS;
    setAside(notes, 'readings', `${left} more keys`, `at most ${MOST_CHANNELS} channels; ${left} more were set aside`);
  }
  return readings;
}

function readOne(channel: string, path: string, raw: unknown, notes: Notes): StoredReading {
  if (!isObject(raw)) {
    const bare = typeof raw === 'number';
    return asideReading(
      notes,
      bare ? 'unit-missing' : 'value-invalid',
      path,
      rawText(raw),
      bare
        ? 'a value with its unit, like { "value": 20.9, "unit": "%vol" }; a bare number has no unit'
        : 'an object with value and unit, or a flag',
    );
  }
  for (const name of Object.keys(raw)) {
    if (name !== 'value' && name !== 'unit' && name !== 'flag') keepExtra(notes, `${path}.${name}`, raw[name]);
  }
  const flag = readFlag(raw.flag, path, notes);
  if (flag !== undefined) return flaggedReading(flag, channel, path, raw, notes);
  if (raw.value === undefined || raw.value === null) {
    return asideReading(
      notes,
      'value-invalid',
      `${path}.value`,
      'null',
      'a finite number, or a flag that says why there is none',
    );
  }
  if (typeof raw.value !== 'number' || !Number.isFinite(raw.value)) {
    return asideReading(notes, 'value-invalid', `${path}.value`, rawText(raw.value), 'a finite JSON number, not text');
  }
  if (raw.unit === undefined || raw.unit === null) {
    return asideReading(
      notes,
      'unit-missing',
      `${path}.unit`,
      rawText(raw.value),
      `a unit beside the value: ${unitsFor(channel)}`,
    );
  }
  const canonical = canonicalOf(channel, raw.value, raw.unit);
  if (canonical === null || typeof raw.unit !== 'string' || !isUnit(raw.unit)) {
    return asideReading(
      notes,
      'unit-unknown',
      `${path}.unit`,
      rawPair(raw.value, raw.unit),
      `a unit of this channel: ${unitsFor(channel)}`,
    );
  }
  if (!Number.isFinite(canonical)) {
    const sent = rawPair(raw.value, raw.unit);
    return asideReading(notes, 'value-invalid', `${path}.value`, sent, 'a number that is finite in every unit');
  }
  return { value: raw.value, unit: raw.unit };
}

function canonicalOf(channel: string, value: number, unit: unknown): number | null {
  return typeof unit === 'string' && isUnit(unit) ? (toCanonical(channel, value, unit)?.value ?? null) : null;
}

function readFlag(raw: unknown, path: string, notes: Notes): Flag | undefined {
  if (raw === undefined || raw === null) return undefined;
  if (isFlag(raw)) return raw;
  // The number beside it still counts: an unknown word must not hide a value that alarms.
  setAside(notes, `${path}.flag`, raw, `one of ${flagSchema.options.join(', ')}`);
  return undefined;
}

function isFlag(raw: unknown): raw is Flag {
  return FLAGS.has(raw);
}

/** The flag counts; a number beside it is kept for the record where it can be understood. */
function flaggedReading(
  flag: Flag,
  channel: string,
  path: string,
  raw: Record<string, unknown>,
  notes: Notes,
): StoredReading {
  const { value, unit } = raw;
  if (value === undefined || value === null) {
    const known = unit === undefined || unit === null || (typeof unit === 'string' && isUnit(unit));
    if (!known) setAside(notes, `${path}.unit`, unit, `one of ${UNITS.join(', ')}`);
    return { flag };
  }
  const canonical = typeof value === 'number' && Number.isFinite(value) ? canonicalOf(channel, value, unit) : null;
  if (typeof value === 'number' && canonical !== null && Number.isFinite(canonical)) {
    if (typeof unit === 'string' && isUnit(unit)) return { value, unit, flag };
  }
  const sent = unit === undefined || typeof value !== 'number' ? rawText(value) : rawPair(value, unit);
  const code =
    typeof value !== 'number' || canonical !== null ? 'value-invalid' : unit == null ? 'unit-missing' : 'unit-unknown';
  const expected = `beside a flag no value, or one with a unit of this channel: ${unitsFor(channel)}`;
  return { flag, ...asideReading(notes, code, `${path}.value`, sent, expected) };
}

function asideReading(notes: Notes, code: WarningCode, path: string, raw: string, expected: string): StoredReading {
  notes.warnings.push({ code, path, message: `${path}: expected ${expected}; this reading was set aside` });
  return { aside: { code, raw } };
}

function unitsFor(channel: string): string {
  if (!isKnownChannel(channel)) return UNITS.join(', ');
  return UNITS.filter((unit) => toCanonical(channel, 1, unit) !== null)
    .map((unit) => (unit === CHANNELS[channel].unit ? `${unit} (shown in it)` : unit))
    .join(', ');
}
