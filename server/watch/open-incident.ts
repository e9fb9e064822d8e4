/**
 * Goes from one journal to the next: an incident opened by a person or by the first danger alarm, a closed one
 * followed by standby, a new standby day. The last hour is copied in small steps while the watch goes on in the
 * old file; only the last step holds it up, for a few milliseconds.
 */
import { createChanges } from '../../shared/incident/changes.ts';
import type { FoldEvent } from '../../shared/incident/events.ts';
import { fold } from '../../shared/incident/fold.ts';
import type { JournalRecord, RecordBody } from '../../shared/incident/records.ts';
import { createState, FOLD_VERSION, type IncidentState } from '../../shared/incident/state.ts';
import { encodeState } from '../../shared/incident/state-codec.ts';
import { HOUR, toWallMs } from '../../shared/incident/time.ts';
import type { Journal, TimedRecord } from '../journal/journal.ts';
import { NotRecordable } from '../journal/not-recordable.ts';
import type { PostClock } from '../journal/post-clock.ts';
import type { Db } from '../store/open-database.ts';
import type { Purpose } from './journal-files.ts';
import { type MadeJournal, makeJournal } from './open-journal.ts';
import type { Watch } from './watch.ts';
import { withoutSimulated } from './without-simulated.ts';

const STEP = 500;
const RETRY_AFTER_S = 2;
export const COPIED_US = HOUR;

export type Switch = {
  readonly purpose: Purpose;
  readonly name: string;
  readonly by: string;
  readonly why?: string | undefined;
  readonly zone: string;
  /** Id of the command that asks for it: sent again, it is answered from the record. */
  readonly command?: string | undefined;
  /** The incident that ends with this: `closed` is then the last thing in its file, but for what is derived of it. */
  readonly closing?: { readonly by: string; readonly why?: string | undefined } | undefined;
};

export type SwitchDeps = {
  readonly post: Db;
  readonly folder: string;
  readonly clock: PostClock;
  readonly watch: Watch;
  /** The new file is complete: makes it the current one. When this throws, the watch stays in the old file. */
  readonly makeCurrent: (made: MadeJournal) => void;
  /** Called in the same turn as the switch. */
  readonly onSwitched: (made: MadeJournal, old: Journal) => void;
};

/** Makes the file, copies, hands over. Resolves when the watch goes on in the new file. */
export async function switchJournal(deps: SwitchDeps, wanted: Switch): Promise<MadeJournal> {
  const { post, folder, clock, watch } = deps;
  requireRecording(watch);
  const old = watch.journal();
  const before = watch.state();
  const from = firstCopied(old, clock.now() - COPIED_US);
  const wallOffsetMs = before.wallOffsetMs;
  const made = makeJournal(post, folder, {
    ...wanted,
    wallOffsetMs,
    table: before.table,
    at: from === null ? clock.stamp() : from.at - 1,
    openedAt: clock.now(),
    wallMs: toWallMs(clock.now(), wallOffsetMs),
  });
  const copy = createCopy(made.journal, wanted.purpose === 'incident');
  let cursor = from === null ? old.head().cursor : from.cursor - 1;
  copy.foldOwn();
  for (;;) {
    const page = old.read(cursor, STEP);
    if (page.length < STEP) break;
    copy.take(page);
    cursor = page.at(-1)?.cursor ?? cursor;
    await new Promise((resolve) => setImmediate(resolve));
  }
  watch.flush();
  if (wanted.closing !== undefined) sealOld(watch, wanted.closing);
  requireRecording(watch);
  copy.take(old.read(cursor, old.head().cursor - cursor + 1));
  copy.finish(clock, withAnswer(watch.state(), wanted.command), old.epoch);
  deps.makeCurrent(made);
  watch.switchTo(made.journal, copy.state);
  deps.onSwitched(made, old);
  return made;
}

function requireRecording(watch: Watch): void {
  if (!watch.isRecording()) throw new NotRecordable('read-only', RETRY_AFTER_S);
}

/** Writes that the incident is closed, and what is derived of it, before anything else can come in. */
function sealOld(watch: Watch, closing: NonNullable<Switch['closing']>): void {
  const { by, why } = closing;
  watch.record([{ kind: 'closed', by, ...(why === undefined ? {} : { why }) }]).catch(() => undefined); // told by the mode
  watch.flush();
  watch.flush(); // what the fold derived waits for the next commit
}

/** The same state with the answer to the command that made the file: it is handed over with all others. */
function withAnswer(live: IncidentState, command: string | undefined): IncidentState {
  if (command === undefined) return live;
  return { ...live, answers: new Map([...live.answers, [command, { status: 'done', cursor: live.cursor }]]) };
}

/** First record of the last hour; null when there is none or the file cannot say. */
function firstCopied(old: Journal, since: number): JournalRecord | null {
  let low = 0;
  let high = old.head().cursor;
  while (low < high) {
    const middle = Math.floor((low + high) / 2);
    const record = old.read(middle, 1)[0];
    if (record !== undefined && record.at < since) low = middle + 1;
    else high = middle;
  }
  return old.read(low, 1)[0] ?? null;
}

function isCopied(record: JournalRecord, real: boolean): boolean {
  if (record.kind === 'packet') return !(real && record.packet.simulated === true);
  return record.kind === 'refused' || record.kind === 'gap' || record.kind === 'command';
}

function createCopy(journal: Journal, real: boolean) {
  const state = createState();
  const events: FoldEvent[] = [];
  const foldAll = (records: readonly JournalRecord[]) => {
    for (const record of records) {
      const changes = createChanges();
      fold(state, record, changes);
      events.push(...changes.events);
    }
  };
  return {
    state,
    foldOwn: () => foldAll(journal.read(0, STEP)),
    take(records: readonly JournalRecord[]) {
      const copied: TimedRecord[] = records
        .filter((record) => isCopied(record, real))
        .map(({ cursor: _, ...body }) => body);
      if (copied.length > 0) foldAll(journal.append(copied));
    },
    finish(clock: PostClock, live: IncidentState, fromEpoch: string) {
      const carried = real ? withoutSimulated(live) : live;
      const body: RecordBody = {
        kind: 'carried',
        fromEpoch,
        fromCursor: live.cursor,
        state: encodeState(carried, { withSeries: false }),
      };
      foldAll(journal.append([{ ...body, at: clock.stamp() }]));
      const derived = events.splice(0).map(
        (event, i): TimedRecord => ({
          kind: 'event',
          fold: FOLD_VERSION,
          number: i + 1,
          event,
          at: clock.stamp(),
        }),
      );
      if (derived.length > 0) foldAll(journal.append(derived));
    },
  };
}
