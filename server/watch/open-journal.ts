/** Opens the journal that is current, or makes the first one; says how the time since its last record is judged. */
import { randomUUID } from 'node:crypto';
import { basename } from 'node:path';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import type { SetPointTable } from '../../shared/alarm/set-point.ts';
import type { RecordBody } from '../../shared/incident/records.ts';
import type { PostTime } from '../../shared/incident/time.ts';
import { registerJournal } from '../journal/post-follower.ts';
import { openJournal, type SqliteJournal } from '../journal/sqlite-journal.ts';
import type { Db } from '../store/open-database.ts';
import { newFile, type Purpose } from './journal-files.ts';

export type NewJournal = {
  readonly purpose: Purpose;
  readonly name: string;
  readonly by: string;
  readonly why?: string | undefined;
  readonly zone: string;
  readonly wallOffsetMs: number;
  readonly table?: SetPointTable;
  /** Post time of its first record, and the label's ms since 1970 for its name. */
  readonly at: PostTime;
  readonly wallMs: number;
  /** When it was opened, where older records are copied in after the first. */
  readonly openedAt?: PostTime;
};

export type MadeJournal = { readonly journal: SqliteJournal; readonly fileId: number };

/** Makes a file with its first record. It is not current yet. */
export function makeJournal(post: Db, folder: string, wanted: NewJournal): MadeJournal {
  const id = randomUUID();
  const epoch = randomUUID();
  const day = new Date(wanted.wallMs).toISOString().slice(0, 10);
  const file = newFile(folder, wanted.purpose, day, id);
  const journal = openJournal(file, { create: { epoch } });
  journal.append([{ ...openedBody(wanted, id, epoch), at: wanted.at }]);
  const fileId = registerJournal(post, journal, basename(file), {
    kind: wanted.purpose,
    incidentId: id,
    name: wanted.name,
  });
  return { journal, fileId };
}

function openedBody(wanted: NewJournal, incident: string, epoch: string): RecordBody {
  return {
    kind: 'opened',
    purpose: wanted.purpose,
    incident,
    name: wanted.name,
    epoch,
    zone: wanted.zone,
    wallOffsetMs: wanted.wallOffsetMs,
    ...(wanted.openedAt === undefined ? {} : { openedAt: wanted.openedAt }),
    by: wanted.by,
    ...(wanted.why === undefined ? {} : { why: wanted.why }),
    setPoints: wanted.table ?? DEFAULT_TABLE,
  };
}
