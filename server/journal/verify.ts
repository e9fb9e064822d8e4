/**
 * Proves a journal file against its own chain: nothing changed, taken out or slipped in. Reads in pages, so that a
 * file which a server has open can be verified without holding the server up.
 */
import { type Db, openForReading } from '../store/open-database.ts';
import { firstSeal } from './chain.ts';
import { ChainWalk, type Fault } from './chain-walk.ts';
import { asJournalError } from './journal-errors.ts';
import { readMeta, schemaFault } from './verify-schema.ts';

export type Verified = {
  readonly ok: true;
  readonly epoch: string;
  readonly records: number;
  readonly commits: number;
  readonly headHex: string;
  /** No `closed` record stands at its end. */
  readonly open: boolean;
  /** Records after the head that was given; null where none was given, and then a cut tail cannot be excluded. */
  readonly recordsAfterHead: number | null;
};
/** `cursor`: the first record that breaks, as far as it can be told; 0 where the fault is not in a record. */
export type Broken = { readonly ok: false; readonly cursor: number; readonly reason: string };
export type Verification = Verified | Broken;

/**
 * Verifies `file`. `head`: a head hash known from elsewhere (64 hexadecimal digits), from a print or from the post.
 * A file that cannot be read as a journal is broken; throws only where there is no such file.
 */
export function verifyFile(file: string, options: { readonly head?: string } = {}): Verification {
  let db: Db | undefined;
  try {
    db = openForReading(file);
    return verifyDatabase(db, options.head?.toLowerCase());
  } catch (error) {
    const known = asJournalError(error);
    if (db === undefined && !isNotADatabase(error)) throw known;
    return { ok: false, cursor: 0, reason: `the file cannot be read: ${messageOf(known)}` };
  } finally {
    db?.close();
  }
}

function verifyDatabase(db: Db, wantedHead: string | undefined): Verification {
  const strange = schemaFault(db);
  if (strange !== null) return broken({ cursor: 0, reason: strange });
  const meta = readMeta(db);
  if (typeof meta === 'string') return broken({ cursor: 0, reason: meta });
  const begin = firstSeal(meta.epoch);
  const walk = new ChainWalk(db, meta.base, begin, wantedHead);
  const fault = walk.run();
  if (fault !== null) return broken(fault);
  const indexes = db.pragma('integrity_check(1)', { simple: true });
  if (indexes !== 'ok') return broken({ cursor: 0, reason: `the file's own structure is damaged: ${String(indexes)}` });
  const recordsAfterHead = walk.recordsAfterHead();
  if (wantedHead !== undefined && recordsAfterHead === null) {
    const reason = `the head given is not in this file: its end was cut off after record ${walk.records}, or the head is of another file`;
    return broken({ cursor: walk.records, reason });
  }
  return {
    ok: true,
    epoch: meta.epoch,
    records: walk.records,
    commits: walk.commits,
    headHex: walk.seal.toString('hex'),
    open: walk.lastKind !== 'closed',
    recordsAfterHead,
  };
}

function broken(fault: Fault): Broken {
  return { ok: false, cursor: fault.cursor, reason: fault.reason };
}

function isNotADatabase(error: unknown): boolean {
  return error instanceof Error && 'code' in error && error.code === 'SQLITE_NOTADB';
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
