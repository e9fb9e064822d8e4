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
import type { PostClock } from '../journal/post-clock.ts';
import type { Db } from '../store/open-database.ts';
import type { Purpose } from './journal-files.ts';
import { type MadeJournal, makeJournal } from './open-journal.ts';
import { withoutSimulated } from './without-simulated.ts';
import type { Watch } from './watch.ts';

const STEP = 500;
export const COPIED_US = HOUR;

export type Switch = {
  readonly purpose: Purpose;
  readonly name: string;
  readonly by: string;
  readonly why?: string | undefined;
  readonly zone: string;
};

export type SwitchDeps = {
  readonly post: Db;
  readonly folder: string;
  readonly clock: PostClock;
  readonly watch: Watch;
  /** Called in the same turn as the switch: the new file is current from here on. */
  readonly onSwitched: (made: MadeJournal, old: Journal) => void;
};

/** Makes the file, copies, hands over. Resolves when the watch goes on in the new file. */
export async function switchJournal(deps: SwitchDeps, wanted: Switch): Promise<MadeJournal> {
  const { post, folder, clock, watch } = deps;
  const old = watch.journal();
  const before = watch.state();
  const from = firstCopied(old, clock.now() - COPIED_US);
  const wallOffsetMs = before.wallOffsetMs;
  const made = makeJournal(post, folder, {
    ...wanted,
    wallOffsetMs,
    table: before.table,
    at: from === null ? clock.stamp() : from.at - 1,
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
  copy.take(old.read(cursor, old.head().cursor - cursor + 1));
  copy.finish(clock, watch.state(), old.epoch);
  watch.switchTo(made.journal, copy.state);
  deps.onSwitched(made, old);
  return made;
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
      const copied: TimedRecord[] = records.filter((record) => isCopied(record, real)).map(({ cursor: _, ...body }) => body);
      if (copied.length > 0) foldAll(journal.append(copied));
    },
    finish(clock: PostClock, live: IncidentState, fromEpoch: string) {
      const carried = real ? withoutSimulated(live) : live;
      const body: RecordBody = { kind: 'carried', fromEpoch, fromCursor: live.cursor, state: encodeState(carried, { withSeries: false }) };
      foldAll(journal.append([{ ...body, at: clock.stamp() }]));
      const derived = events.splice(0).map((event, i): TimedRecord => ({
        kind: 'event',
        fold: FOLD_VERSION,
        number: i + 1,
        event,
        at: clock.stamp(),
      }));
      if (derived.length > 0) foldAll(journal.append(derived));
    },
  };
}
