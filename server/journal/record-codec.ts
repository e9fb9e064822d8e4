/** A record as a row of the file and back. */

import type { JournalRecord, PlainRecord } from '../../shared/incident/records.ts';
import { KINDS, type Kind, plainRecord, type RecordBody } from '../../shared/incident/records.ts';
import { MILLISECOND, type PostTime, SECOND } from '../../shared/incident/time.ts';
import type { StoredPacket } from '../../shared/protocol/stored-packet.ts';
import type { ByteWriter } from './byte-writer.ts';
import { encodePacket, type WordNumbers } from './packet-codec.ts';
import { decodePacket, type PacketIdentity, type WordTexts } from './packet-decoder.ts';

/** A measurement that is older than this when it arrives gets an entry in the index by time of measurement. */
export const LATE_AFTER = 10 * SECOND;

const KIND_OF_NUMBER: ReadonlyMap<number, Kind> = new Map(
  Object.entries(KINDS).flatMap(([kind, number]) => (isKind(kind) ? [[number, kind]] : [])),
);

function isKind(text: string): text is Kind {
  return Object.hasOwn(KINDS, text);
}

/**
 * When the packet was measured by post time, if that was more than LATE_AFTER before `at` and its relay says how
 * old it was (`ageMs`, or the distance of its two times, which its clock's error does not touch). Else null.
 */
export function measuredLate(packet: StoredPacket, at: PostTime): PostTime | null {
  const ageMs = ageOf(packet);
  if (ageMs === null || !(ageMs * MILLISECOND > LATE_AFTER)) return null;
  const measured = Math.round(at - ageMs * MILLISECOND);
  return Number.isSafeInteger(measured) ? measured : null;
}

function ageOf(packet: StoredPacket): number | null {
  if (packet.ageMs !== undefined) return packet.ageMs;
  if (packet.sentAt === undefined || packet.measuredAt === undefined) return null;
  return packet.sentAt - packet.measuredAt;
}

/** The monitor that a record other than a packet is about, for that monitor's page. */
export function monitorOf(record: PlainRecord): string | undefined {
  if (record.kind === 'refused') return record.monitor;
  if (record.kind === 'event') return record.event.monitor;
  if (record.kind === 'command') return record.act.type === 'assign' ? record.act.monitor : undefined;
  return undefined;
}

/** Writes the body of a record's row. Throws where it could not be read back: such a record must not get in. */
export function encodeBody(out: ByteWriter, record: RecordBody, at: PostTime, words: WordNumbers): void {
  if (record.kind === 'packet') {
    encodePacket(out, record.relay, record.packet, Math.floor(at / MILLISECOND), words);
    return;
  }
  out.raw(Buffer.from(JSON.stringify(plainRecord.parse(record)), 'utf8'));
}

export type RowParts = {
  readonly cursor: number;
  readonly at: PostTime;
  readonly kind: number;
  /** Of a packet; null for other kinds. */
  readonly identity: PacketIdentity | null;
  readonly body: Buffer;
};

/** Throws where the parts are not those of a record. */
export function decodeRecord(row: RowParts, words: WordTexts): JournalRecord {
  const { cursor, at, identity } = row;
  const kind = KIND_OF_NUMBER.get(row.kind);
  if (kind === undefined) throw new RangeError(`unknown kind ${row.kind}`);
  if (kind === 'packet') {
    if (identity === null) throw new RangeError('a packet without a source');
    const { relay, packet } = decodePacket(row.body, identity, Math.floor(at / MILLISECOND), words);
    return { kind, cursor, at, relay, packet };
  }
  const record = plainRecord.parse(JSON.parse(row.body.toString('utf8')));
  if (record.kind !== kind) throw new RangeError(`a record of kind ${kind} that says ${record.kind}`);
  return { ...record, cursor, at };
}
