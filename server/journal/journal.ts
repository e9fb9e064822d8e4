/**
 * The port between the recorder and a journal file. One commit is one transaction, one sync and one link of the
 * hash chain. Implemented by sqlite-journal.ts, and by a failing double in tests.
 */
import type { JournalRecord, RecordBody } from '../../shared/incident/records.ts';
import type { PostTime } from '../../shared/incident/time.ts';
import type { StoredPacket } from '../../shared/protocol/stored-packet.ts';

/** A record that has its time but not yet its place. */
export type TimedRecord = RecordBody & { readonly at: PostTime };

export type PacketKey = {
  readonly monitor: string;
  readonly via: string | undefined;
  readonly boot: string;
  readonly seq: number;
};

export type Head = { readonly cursor: number; readonly at: PostTime; readonly hash: Uint8Array };

export interface Journal {
  readonly file: string;
  readonly epoch: string;
  /** Last record that is on disk; cursor 0 and the epoch's own hash for an empty file. */
  head(): Head;
  /**
   * Writes all of `records` in one transaction and returns them with their cursors, which go on from the head
   * without a hole. When it returns, they are on disk. Throws JournalError, and then nothing was written.
   */
  append(records: readonly TimedRecord[]): readonly JournalRecord[];
  /** The packet of that key, if this file holds it. */
  find(key: PacketKey): { cursor: number; packet: StoredPacket } | null;
  /** Up to `limit` records after `cursor` (exclusive), in order. */
  read(cursor: number, limit: number): readonly JournalRecord[];
  /** Records of one monitor, newest first, for its page. */
  recentOf(monitor: string, limit: number): readonly JournalRecord[];
  /** Packets of one monitor with post time in [from, to], in order of arrival. */
  packetsOf(monitor: string, from: PostTime, to: PostTime, limit: number): readonly JournalRecord[];
  close(): void;
}

/** Why a commit failed: `full` can pass when space is freed; after `io` the file is not to be trusted again. */
export class JournalError extends Error {
  override name = 'JournalError';
  readonly code: 'full' | 'read-only' | 'io' | 'corrupt';
  constructor(code: 'full' | 'read-only' | 'io' | 'corrupt', message: string, options?: ErrorOptions) {
    super(message, options);
    this.code = code;
  }
}
