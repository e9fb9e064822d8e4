/**
 * When two packets of one key say the same. How old the measurement was when it was sent, when it was sent and how
 * good the link was differ each time a relay sends a packet again, so they are not compared; nor is how this
 * version words what it set aside, only the text that was sent.
 */
import type { StoredPacket, StoredReading } from '../../shared/protocol/stored-packet.ts';

const NOT_COMPARED_PATHS = new Set(['ageMs', 'sentAt', 'status.linkQuality']);

/** Canonical text of what a packet says: equal texts, same content. */
export function contentKey(packet: StoredPacket): string {
  const { ageMs: _age, sentAt: _sent, readings, status, aside, extra, ...rest } = packet;
  const { linkQuality: _quality, ...condition } = status ?? {};
  const said = new Map([...readings].map(([channel, reading]) => [channel, withoutCode(reading)]));
  const set = (aside ?? []).filter((a) => !NOT_COMPARED_PATHS.has(a.path)).map((a) => [a.path, a.raw]);
  return canonicalText({
    ...rest,
    readings: said,
    status: condition,
    aside: set.sort(([a = ''], [b = '']) => (a < b ? -1 : a > b ? 1 : 0)),
    extra: extra === undefined ? undefined : parsed(extra),
  });
}

function withoutCode(reading: StoredReading): object {
  return reading.aside === undefined ? reading : { ...reading, aside: reading.aside.raw };
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return text;
  }
}

/** Same text for same content, whatever the order of keys. Maps count as objects; what is undefined is left out. */
export function canonicalText(value: unknown): string {
  return JSON.stringify(sorted(value)) ?? 'null';
}

function sorted(value: unknown): unknown {
  if (value instanceof Uint8Array) return Buffer.from(value).toString('hex');
  if (Array.isArray(value)) return value.map(sorted);
  if (typeof value !== 'object' || value === null) return value;
  const pairs: [unknown, unknown][] = value instanceof Map ? [...value] : Object.entries(value);
  // As pairs, not as an object: an object would put keys such as "10" first and treat "__proto__" apart.
  const members = pairs
    .filter(([, v]) => v !== undefined)
    .map(([k, v]): [string, unknown] => [String(k), sorted(v)])
    .sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0));
  return { members };
}
