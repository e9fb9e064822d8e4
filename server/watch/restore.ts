/**
 * The state at a start: the last checkpoint that can be believed, and the rest of the journal folded on top. What
 * was derived is compared with what the journal says was shown; a difference is named, never rewritten.
 */
import { deserialize, serialize } from 'node:v8';
import { createChanges } from '../../shared/incident/changes.ts';
import { rebuildHeap } from '../../shared/incident/deadlines.ts';
import type { FoldEvent } from '../../shared/incident/events.ts';
import { fold } from '../../shared/incident/fold.ts';
import type { JournalRecord, RecordBody } from '../../shared/incident/records.ts';
import { createState, FOLD_VERSION, type IncidentState } from '../../shared/incident/state.ts';
import type { Checkpoint } from '../journal/checkpoint-store.ts';
import type { Journal } from '../journal/journal.ts';

const PAGE = 2_000;

export type Restored = {
  readonly state: IncidentState;
  /** What the journal lacks: events derived but not written before the end, and differences. */
  readonly owed: RecordBody[];
  readonly folded: number;
  /** Cursor of the checkpoint that was used; 0 without one. */
  readonly from: number;
};

/** A copy that shares nothing with the original. */
export function copyState(state: IncidentState): IncidentState {
  return thaw(freeze(state));
}

/** The state as bytes for a checkpoint. */
export function freeze(state: IncidentState): Uint8Array {
  return serialize(state);
}

/** The state from a checkpoint's bytes, whose digest and seal were checked. */
export function thaw(bytes: Uint8Array): IncidentState {
  const state: IncidentState = deserialize(bytes);
  rebuildHeap(state.deadlines);
  return state;
}

/** Folds what the journal holds after the checkpoint. */
export function restore(journal: Journal, checkpoint: Checkpoint | null): Restored {
  const state = checkpoint === null ? createState() : thaw(checkpoint.state);
  const ledger = createLedger(state.events);
  let folded = 0;
  for (;;) {
    const page = journal.read(state.cursor, PAGE);
    if (page.length === 0) return { state, owed: ledger.owed(), folded, from: checkpoint?.cursor ?? 0 };
    for (const record of page) {
      const changes = createChanges();
      const first = state.events + 1;
      fold(state, record, changes);
      ledger.derived(changes.events, first);
      ledger.seen(record);
    }
    folded += page.length;
  }
}

/** Compares derived events with journalled ones, by number. Those up to `known` were compared before. */
function createLedger(known: number) {
  const waiting = new Map<number, FoldEvent>();
  const differences: RecordBody[] = [];
  return {
    derived(events: readonly FoldEvent[], first: number) {
      for (const [i, event] of events.entries()) waiting.set(first + i, event);
    },
    seen(record: JournalRecord) {
      if (record.kind !== 'event' || record.number <= known) return;
      const mine = waiting.get(record.number);
      waiting.delete(record.number);
      const shown = JSON.stringify(record.event);
      const now = mine === undefined ? '' : JSON.stringify(mine);
      if (shown !== now) differences.push({ kind: 'difference', number: record.number, shown, now });
    },
    owed(): RecordBody[] {
      const late = [...waiting].map(
        ([number, event]): RecordBody => ({ kind: 'event', fold: FOLD_VERSION, number, event }),
      );
      return [...differences, ...late];
    },
  };
}
