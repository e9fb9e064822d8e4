/**
 * A journal that is only in memory: for tests, and to hold the place (cursor, time, hash) of a file that cannot be
 * written while the post watches without recording. It keeps nothing when the process ends.
 */
import { createHash } from 'node:crypto';
import type { JournalRecord } from '../../shared/incident/records.ts';
import { canonicalText } from './content-key.ts';
import { type Head, type Journal, JournalError, type PacketKey, type TimedRecord } from './journal.ts';

export type MemoryJournalOptions = { readonly file?: string; readonly epoch?: string; readonly head?: Head };

/** An empty journal, or one that goes on from `head`; what came before it cannot be read back. */
export function createMemoryJournal(options: MemoryJournalOptions = {}): Journal {
  const epoch = options.epoch ?? 'memory';
  const records: JournalRecord[] = [];
  const byKey = new Map<string, JournalRecord>();
  let head: Head = options.head ?? { cursor: 0, at: 0, hash: sha256(epoch) };
  const newest = (wanted: (record: JournalRecord) => boolean, limit: number) =>
    records.toReversed().filter(wanted).slice(0, limit);

  function append(added: readonly TimedRecord[]): readonly JournalRecord[] {
    const placed: JournalRecord[] = [];
    const keys = new Set<string>();
    let at = head.at;
    for (const record of added) {
      if (record.at <= at) throw new JournalError('corrupt', `post time ${record.at} does not follow ${at}`);
      at = record.at;
      placed.push({ ...record, cursor: head.cursor + placed.length + 1 });
      if (record.kind !== 'packet') continue;
      const key = keyText(record.packet);
      if (byKey.has(key) || keys.has(key)) throw new Error(`packet ${key} is in the journal already`);
      keys.add(key);
    }
    const last = placed.at(-1);
    if (last === undefined) return placed;
    head = { cursor: last.cursor, at, hash: sha256(head.hash, canonicalText(placed)) };
    for (const record of placed) {
      records.push(record);
      if (record.kind === 'packet') byKey.set(keyText(record.packet), record);
    }
    return placed;
  }

  return {
    file: options.file ?? ':memory:',
    epoch,
    head: () => head,
    append,
    find(key) {
      const found = byKey.get(keyText(key));
      return found?.kind === 'packet' ? { cursor: found.cursor, packet: found.packet } : null;
    },
    read: (cursor, limit) => records.filter((r) => r.cursor > cursor).slice(0, limit),
    recentOf: (monitor, limit) => newest((r) => monitorOf(r) === monitor, limit),
    packetsOf: (monitor, from, to, limit) =>
      records
        .filter((r) => r.kind === 'packet' && r.packet.monitor === monitor && r.at >= from && r.at <= to)
        .slice(0, limit),
    close() {},
  };
}

function keyText(key: Pick<PacketKey, 'monitor' | 'boot' | 'seq'> & { readonly via?: string | undefined }): string {
  return JSON.stringify([key.monitor, key.via ?? '', key.boot, key.seq]);
}

function monitorOf(record: JournalRecord): string | undefined {
  if (record.kind === 'packet') return record.packet.monitor;
  return record.kind === 'refused' ? record.monitor : undefined;
}

function sha256(...parts: readonly (string | Uint8Array)[]): Uint8Array {
  const hash = createHash('sha256');
  for (const part of parts) hash.update(part);
  return hash.digest();
}
