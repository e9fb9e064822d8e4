/**
 * Opens the journal that is current at a start. One that cannot be written never keeps the post from watching: it is
 * read where that is possible, and the watch begins in memory until the file can be written.
 */
import { randomUUID } from 'node:crypto';
import type { Logger } from 'pino';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import { FOLD_VERSION } from '../../shared/incident/state.ts';
import { type CheckpointStore, openCheckpointStore } from '../journal/checkpoint-store.ts';
import { type Journal, JournalError } from '../journal/journal.ts';
import { createMemoryJournal } from '../journal/memory-journal.ts';
import { openJournal, openJournalReadOnly, type SqliteJournal } from '../journal/sqlite-journal.ts';
import type { CurrentFile } from './journal-files.ts';
import { type Restored, restore } from './restore.ts';

const KEEP_EVERY_US = 15 * 60_000_000;

export type Opened<J extends Journal = Journal> = {
  readonly journal: J;
  readonly restored: Restored;
  readonly checkpoints: CheckpointStore;
};
export type Start = Opened & {
  /** Why the file cannot be written; null where it can, and `journal` is then the file. */
  readonly failed: JournalError['code'] | null;
  /** Tries the file again. */
  reopen(): Opened<SqliteJournal> | null;
};

/** `made`: the file that was just made, where there was none. */
export function openCurrent(made: SqliteJournal | null, current: CurrentFile | null, log: Logger): Start {
  const open = (): Opened<SqliteJournal> => {
    if (made === null && current === null) throw new Error('no journal is current');
    const journal = made ?? openJournal(current?.file ?? '', { create: { epoch: current?.epoch ?? '' } });
    try {
      return opened(journal);
    } catch (error) {
      journal.close();
      throw error;
    }
  };
  try {
    return { ...open(), failed: null, reopen: () => null };
  } catch (error) {
    const failed = reasonOf(error);
    if (failed === null || current === null) throw error;
    log.error({ err: error, code: failed }, 'the journal cannot be written: watching from memory, not being recorded');
    return {
      ...fromMemory(current, log),
      failed,
      reopen() {
        // A damaged file is left as it is for a person to look at.
        if (failed === 'corrupt') return null;
        try {
          return open();
        } catch {
          return null;
        }
      },
    };
  }
}

export function openCheckpoints(of: SqliteJournal): CheckpointStore {
  return openCheckpointStore({
    journalFile: of.file,
    epoch: of.epoch,
    sealAt: (cursor) => of.sealAt(cursor),
    keepEveryUs: KEEP_EVERY_US,
  });
}

function opened(journal: SqliteJournal): Opened<SqliteJournal> {
  const checkpoints = openCheckpoints(journal);
  return { journal, restored: restore(journal, checkpoints.latest(FOLD_VERSION, journal.epoch)), checkpoints };
}

/** What the file says, held in memory; where it cannot even be read, a standby that knows of nothing yet. */
function fromMemory(current: CurrentFile, log: Logger): Opened {
  try {
    const file = openJournalReadOnly(current.file);
    try {
      const { restored, checkpoints } = opened(file);
      const head = file.head();
      return { journal: createMemoryJournal({ ...current, head }), restored, checkpoints };
    } finally {
      file.close();
    }
  } catch (error) {
    log.error({ err: error }, 'the journal cannot be read either: the board begins empty');
    const journal = createMemoryJournal(current);
    journal.append([
      {
        kind: 'opened',
        purpose: 'standby',
        incident: randomUUID(),
        name: 'Standby',
        epoch: current.epoch,
        zone: Intl.DateTimeFormat().resolvedOptions().timeZone,
        wallOffsetMs: 0,
        by: 'post',
        setPoints: DEFAULT_TABLE,
        at: Date.now() * 1000,
      },
    ]);
    return { journal, restored: restore(journal, null), checkpoints: NOTHING };
  }
}

const NOTHING: CheckpointStore = {
  save: () => false,
  latest: () => null,
  saveAlive: () => false,
  alive: () => null,
  close() {},
};

/** In the words of the journal, why it cannot be used; null for what is no fault of the file or the disk. */
function reasonOf(error: unknown): JournalError['code'] | null {
  if (error instanceof JournalError) return error.code;
  const code = error instanceof Error && 'code' in error ? error.code : null;
  if (code === 'ENOSPC' || code === 'EDQUOT') return 'full';
  if (code === 'EPERM' || code === 'EACCES' || code === 'EROFS') return 'read-only';
  return code === 'EIO' ? 'io' : null;
}
