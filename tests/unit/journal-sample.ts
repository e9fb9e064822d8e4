/** Records for the tests of the journal file: a small scenario of our own. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { TimedRecord } from '../../server/journal/journal.ts';
import type { JournalRecord, RecordBody } from '../../shared/incident/records.ts';
import type { StoredPacket } from '../../shared/protocol/stored-packet.ts';

export const EPOCH = '5f2b9c1e7a4d40d8';
/** 2026-05-14T13:05:09.123456Z in µs. */
export const START = 1_778_763_909_123_456;

/** A folder that goes away with the returned function. */
export function temporaryFolder(): { path(name: string): string; remove(): void } {
  const folder = mkdtempSync(join(tmpdir(), 'upwind-journal-'));
  return { path: (name) => join(folder, name), remove: () => rmSync(folder, { recursive: true, force: true }) };
}

/** Park and Miller's minimal standard generator: the same packets in every run. */
export function steadyRandom(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 48_271) % 2_147_483_647;
    return state / 2_147_483_647;
  };
}

/** Packet `i` of `monitors` monitors that report once a second, six readings, status and position. */
export function samplePacket(i: number, monitors: number, random: () => number): StoredPacket {
  const monitor = i % monitors;
  const startMs = Math.floor(START / 1000);
  const nowMs = startMs + Math.floor((i * 1000) / monitors);
  const decimal = (x: number, places: number) => Number(x.toFixed(places));
  return {
    monitor: `M-${String(monitor).padStart(3, '0')}`,
    boot: `boot-${monitor}-7f3a9c`,
    seq: Math.floor(i / monitors),
    measuredAt: nowMs - 300 - Math.floor(random() * 500),
    sentAt: nowMs - Math.floor(random() * 200),
    readings: new Map([
      ['o2', { value: decimal(20.9 - random(), 1), unit: '%vol' }],
      ['lel', { value: Math.floor(random() * 12), unit: '%LEL' }],
      ['co', { value: Math.floor(random() * 30), unit: 'ppm' }],
      ['h2s', { value: decimal(random() * 3, 1), unit: 'ppm' }],
      ['voc', { value: decimal(random() * 5, 3), unit: 'ppm' }],
      ['gamma', { value: decimal(5 + random() * 9, 1), unit: 'uR/h' }],
    ]),
    status: {
      battery: Math.floor(30 + random() * 70),
      pump: 'running',
      motion: 'moving',
      help: false,
      mode: 'all',
      linkQuality: Math.floor(random() * 100),
      intervalMs: 1000,
      zeroedAt: startMs - 5_400_000,
      bumpedAt: startMs - 7_200_000,
      calibratedAt: startMs - 20 * 86_400_000,
      testDue: false,
    },
    position: {
      lat: decimal(38.123 + random() / 100, 7),
      lon: decimal(-85.7 + random() / 100, 7),
      accuracy: decimal(random() * 8, 1),
    },
  };
}

/** `count` packet records, 10 ms apart. */
export function samplePackets(count: number, monitors: number): TimedRecord[] {
  const random = steadyRandom(1);
  return Array.from({ length: count }, (_, i) => ({
    kind: 'packet',
    relay: `relay-${i % 3}`,
    packet: samplePacket(i, monitors, random),
    at: START + i * 10_000,
  }));
}

export function packetOf(monitor: string, seq: number, more: Partial<StoredPacket> = {}): RecordBody {
  const readings = new Map([['co', { value: 35, unit: 'ppm' as const }]]);
  return { kind: 'packet', relay: 'relay-north', packet: { monitor, boot: 'b1', seq, readings, ...more } };
}

export function refusedOf(monitor: string): RecordBody {
  const raw = '{"monitor":"M-07","boot":"b1","seq":3}';
  return {
    kind: 'refused',
    relay: 'relay-north',
    monitor,
    code: 'conflict',
    path: '/seq',
    message: 'another packet has this number',
    raw,
  };
}

export function noteOf(text: string): RecordBody {
  return { kind: 'command', id: `c-${text}`, by: 'Safety', role: 'officer', act: { type: 'note', text } };
}

export const CLOSED: RecordBody = { kind: 'closed', by: 'Command', why: 'all entrants out' };

/** Gives times one second apart, the first `second` seconds after START. */
export function timed(second: number, ...bodies: readonly RecordBody[]): TimedRecord[] {
  return bodies.map((body, i) => ({ ...body, at: START + (second + i) * 1_000_000 }));
}

export function cursorsOf(records: readonly JournalRecord[]): number[] {
  return records.map((record) => record.cursor);
}
