/** A commit as the rows and the bytes that its seal covers, before anything of it is written. */
import { type JournalRecord, KINDS } from '../../shared/incident/records.ts';
import type { PostTime } from '../../shared/incident/time.ts';
import type { ByteWriter } from './byte-writer.ts';
import { beginCommit, beginRecord, endRecord } from './chain.ts';
import type { Head, TimedRecord } from './journal.ts';
import type { Names } from './names.ts';
import { encodeBody, measuredLate, monitorOf } from './record-codec.ts';

export type CommitRow = {
  readonly cursor: number;
  readonly at: PostTime;
  readonly kind: number;
  readonly source: number | null;
  readonly seq: number | null;
  readonly measured: PostTime | null;
  /** Where its body lies in the bytes of the commit. */
  bodyFrom: number;
  bodyTo: number;
};

/**
 * Puts the bytes of the whole commit in `out`, its new names among the pending ones of `names`. Throws where a time
 * does not rise, or a record could not be read back.
 */
export function encodeCommit(
  out: ByteWriter,
  names: Names,
  records: readonly TimedRecord[],
  before: Head,
): CommitRow[] {
  const rows: CommitRow[] = [];
  let { cursor, at } = before;
  beginCommit(out, before.hash);
  for (const record of records) {
    if (!Number.isSafeInteger(record.at) || (cursor > 0 && record.at <= at)) {
      throw new RangeError(`post time ${record.at} after ${at}: it has to rise`);
    }
    cursor += 1;
    at = record.at;
    const row = rowOf(names, record, cursor);
    row.bodyFrom = beginRecord(out, row);
    encodeBody(out, record, at, names);
    endRecord(out, row.bodyFrom);
    row.bodyTo = out.length;
    rows.push(row);
  }
  names.addTo(out);
  return rows;
}

function rowOf(names: Names, record: TimedRecord, cursor: number): CommitRow {
  const kind = KINDS[record.kind];
  if (record.kind === 'packet') {
    const { monitor, via, boot, seq } = record.packet;
    const source = names.sourceId(monitor, via, boot);
    const measured = measuredLate(record.packet, record.at);
    return { cursor, at: record.at, kind, source, seq, measured, bodyFrom: 0, bodyTo: 0 };
  }
  const monitor = monitorOf(record);
  const source = monitor === undefined ? null : names.sourceId(monitor, undefined, undefined);
  return { cursor, at: record.at, kind, source, seq: null, measured: null, bodyFrom: 0, bodyTo: 0 };
}

/** Spelled out for packets, the many: a spread costs as much as encoding one. */
export function placed(record: TimedRecord, cursor: number): JournalRecord {
  if (record.kind !== 'packet') return { ...record, cursor };
  return { kind: record.kind, relay: record.relay, packet: record.packet, at: record.at, cursor };
}
