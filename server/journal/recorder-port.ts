/** What the recorder offers, what it needs from outside, and what it says to the outside. */
import type { JournalRecord, RecordBody } from '../../shared/incident/records.ts';
import type { PostTime } from '../../shared/incident/time.ts';
import type { Timers } from './commit-schedule.ts';
import type { Journal, JournalError } from './journal.ts';
import type { SeenLookup } from './known-packets.ts';
import type { MissingTime } from './missed-time.ts';
import type { PostClock } from './post-clock.ts';
import type { Origin, Outcome } from './submission.ts';

/** Seen by the board while nothing is recorded: `cursor` is that of the last record on disk, for all of them. */
export type WatchOnlyRecord = JournalRecord & { readonly watchOnly: true };

export type Trouble = {
  readonly code: JournalError['code'];
  /** From this post time on nothing is recorded. */
  readonly since: PostTime;
  /** The file is not to be trusted again: end the process once, and start anew. */
  readonly fatal: boolean;
  readonly error: unknown;
};

export type RecorderOptions = {
  readonly journal: Journal;
  readonly clock: PostClock;
  readonly seen: SeenLookup;
  /** How long a commit waits for more while others come too, in ms. */
  readonly windowMs: number;
  readonly timers: Timers;
  /** Fold and publish; synchronous. What it throws reaches the event loop, after the answers were given. */
  readonly onCommitted: (records: readonly JournalRecord[]) => void;
  readonly onWatchOnly: (records: readonly WatchOnlyRecord[]) => void;
  readonly onTrouble: (trouble: Trouble) => void;
  /** Writing works again. The state has to go back to the last commit: the gap record follows in onCommitted. */
  readonly onRecovered: () => void;
  readonly onSeenTrouble?: (error: unknown) => void;
  /** A submission could not be written for a reason of its own; its caller got the same error. */
  readonly onFault?: (error: unknown) => void;
  /**
   * Asked at each attempt to write again: the journal to go on with, freshly opened, or null while it cannot be
   * opened. Without it the same journal is tried.
   */
  readonly reopen?: () => Journal | null;
  /** For a start on a file that cannot be written; `journal` then only holds the place (see memory-journal.ts). */
  readonly startNotRecording?: { readonly code: JournalError['code']; readonly gap: MissingTime };
  readonly maxSources?: number;
};

export interface Recorder {
  /**
   * Records `bodies` together and in order; answers one outcome each, once they are on disk. Packets alone can be
   * duplicates or conflicts; a conflict is recorded as refused, with its text from `origin`. Rejects with
   * NotRecordable, and then nothing of them is acknowledged; with another error where they themselves are at fault.
   */
  record(bodies: readonly RecordBody[], origin?: Origin): Promise<Outcome[]>;
  /** Puts what the fold derived into the next commit, or into one of its own within a second. */
  enqueueDerived(bodies: readonly RecordBody[]): void;
  /** Time of the first record that is not folded yet: `advance` goes no further. Null: to `clock.now()`. */
  earliestPending(): PostTime | null;
  /**
   * Looks for a stall, a sleep or a stepped wall clock, and records it. To be called every 250 ms: where it is not,
   * a quiet time of over 2 s is taken for a stall.
   */
  tick(): void;
  /** Commits all that is waiting before it returns. */
  flush(): void;
  /** Flushes, then refuses. */
  stop(): void;
  /** Records waiting for a commit. */
  queued(): number;
  /** The journal in use: another one after `reopen`. */
  journal(): Journal;
  mode(): 'recording' | 'not-recording' | 'ended' | 'stopped';
}
