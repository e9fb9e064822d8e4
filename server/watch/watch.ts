/**
 * The watch: one folded state, fed by one recorder from one journal, and told on to whoever listens. The order is
 * commit, fold, publish, answer. When the journal cannot be written the watch goes on from memory and says so.
 */
import type { Logger } from 'pino';
import { type Changes, createChanges } from '../../shared/incident/changes.ts';
import { advance, fold } from '../../shared/incident/fold.ts';
import type { JournalRecord, RecordBody } from '../../shared/incident/records.ts';
import { FOLD_VERSION, type IncidentState } from '../../shared/incident/state.ts';
import { encodeState } from '../../shared/incident/state-codec.ts';
import { type PostTime, toIso } from '../../shared/incident/time.ts';
import type { Recording } from '../../shared/incident/view.ts';
import type { Journal } from '../journal/journal.ts';
import type { PostClock } from '../journal/post-clock.ts';
import { createRecorder, type Origin, type Outcome, type Recorder, type Trouble } from '../journal/recorder.ts';
import type { SeenIndex } from '../journal/seen-index.ts';
import { copyState } from './restore.ts';

/** Hears of every change. `first` is the number of the first of the events. */
export type ChangesListener = (changes: Changes, first: number) => void;

export type WatchOptions = {
  readonly clock: PostClock;
  readonly seen: SeenIndex;
  readonly commitWindowMs: number;
  readonly log: Logger;
  /** The file failed in a way that cannot be trusted again: the process ends once. */
  readonly onFatal: (trouble: Trouble) => void;
  /** Committed records, for post.db to follow. */
  readonly onCommitted: (records: readonly JournalRecord[]) => void;
  /**
   * Asked at each attempt to write again: the journal to go on with, and the state that its records give where it
   * was opened anew; null while it cannot be opened.
   */
  readonly reopen?: () => { readonly journal: Journal; readonly state?: IncidentState } | null;
};

/** What a recorder needs to be told when the file could not be written from the start. */
type NotRecording = NonNullable<Parameters<typeof createRecorder>[0]['startNotRecording']>;

export class Watch {
  readonly #options: WatchOptions;
  readonly #listeners = new Set<ChangesListener>();
  #state: IncidentState;
  #recorder: Recorder;
  #recording: Recording = { ok: true };
  /** The state at the last commit, kept while nothing is recorded. */
  #atLastCommit: IncidentState | null = null;
  /** What screens are shown while what was watched from memory is on its way into the record; publishing waits. */
  #shown: IncidentState | null = null;
  #lives = 1;

  constructor(options: WatchOptions, state: IncidentState, journal: Journal, notRecording?: NotRecording) {
    this.#options = options;
    this.#state = state;
    this.#recorder = this.#createRecorder(journal, notRecording);
    if (notRecording !== undefined) {
      this.#atLastCommit = copyState(state);
      this.#sayNotRecording(notRecording.code, notRecording.gap.from);
    }
  }

  state(): IncidentState {
    return this.#shown ?? this.#state;
  }

  /** Goes up where the numbers of events begin again in the same file: nothing before it can be resumed. */
  lives(): number {
    return this.#lives;
  }

  journal(): Journal {
    return this.#recorder.journal();
  }

  recording(): Recording {
    return this.#recording;
  }

  listen(listener: ChangesListener): () => void {
    this.#listeners.add(listener);
    return () => void this.#listeners.delete(listener);
  }

  /** Records bodies; answers after the commit, and after the fold has taken them in. */
  record(bodies: readonly RecordBody[], origin?: Origin): Promise<Outcome[]> {
    return this.#recorder.record(bodies, origin);
  }

  /** To be called every 250 ms: notices what the clocks did, and fires deadlines that came due. */
  tick(): void {
    this.#recorder.tick();
    // What waits for its commit is folded first; its fold fires the deadlines before it.
    if (this.#recorder.earliestPending() !== null || this.#shown !== null) return;
    const changes = createChanges();
    const first = this.#state.events + 1;
    advance(this.#state, this.#options.clock.now(), changes);
    this.#publish(changes, first);
  }

  flush(): void {
    this.#recorder.flush();
  }

  stop(): void {
    this.#recorder.stop();
  }

  isRecording(): boolean {
    return this.#recorder.mode() === 'recording';
  }

  queued(): number {
    return this.#recorder.queued();
  }

  /** Goes on in another file, with the state that its records give. Everything waiting is committed before. */
  switchTo(journal: Journal, state: IncidentState): void {
    this.#recorder.stop();
    this.#state = state;
    this.#recorder = this.#createRecorder(journal);
    const changes = createChanges();
    changes.head = true;
    for (const listener of this.#listeners) listener(changes, state.events + 1);
  }

  #createRecorder(journal: Journal, notRecording?: NotRecording): Recorder {
    const { clock, seen, commitWindowMs, log, reopen } = this.#options;
    return createRecorder({
      journal,
      clock,
      seen,
      windowMs: commitWindowMs,
      timers: {
        setTimeout: (callback, ms) => setTimeout(callback, ms),
        clearTimeout: (timer) => clearTimeout(timer as NodeJS.Timeout),
        setImmediate: (callback) => setImmediate(callback),
      },
      onCommitted: (records) => this.#committed(records),
      onWatchOnly: (records) => this.#fold(records, false),
      onTrouble: (trouble) => this.#trouble(trouble),
      onRecovered: () => this.#recovered(),
      onSeenTrouble: (error) => log.error({ err: error }, 'the index of known packets could not be read'),
      onFault: (error) => log.error({ err: error }, 'a record could not be written'),
      ...(reopen === undefined ? {} : { reopen: () => this.#reopened(reopen()) }),
      ...(notRecording === undefined ? {} : { startNotRecording: notRecording }),
    });
  }

  #reopened(next: { journal: Journal; state?: IncidentState } | null): Journal | null {
    if (next?.state !== undefined) this.#atLastCommit = next.state;
    return next === null ? null : next.journal;
  }

  #committed(records: readonly JournalRecord[]): void {
    this.#options.onCommitted(records);
    this.#fold(records, true);
  }

  #fold(records: readonly JournalRecord[], durable: boolean): void {
    const changes = createChanges();
    const first = this.#state.events + 1;
    for (const record of records) {
      fold(this.#state, record, changes);
      if (record.kind === 'carried') this.#handedOver();
    }
    this.#publish(changes, first, durable);
  }

  #publish(changes: Changes, first: number, durable = true): void {
    if (changes.events.length > 0 && durable) {
      this.#recorder.enqueueDerived(
        changes.events.map((event, i): RecordBody => ({ kind: 'event', fold: FOLD_VERSION, number: first + i, event })),
      );
    }
    if (this.#shown !== null) return;
    if (changes.events.length === 0 && changes.monitors.size === 0 && changes.alarms.size === 0 && !changes.head)
      return;
    for (const listener of this.#listeners) listener(changes, first);
  }

  #trouble(trouble: Trouble): void {
    this.#options.log.error(
      { err: trouble.error, code: trouble.code },
      'the journal cannot be written: not being recorded',
    );
    this.#atLastCommit ??= copyState(this.#state);
    this.#sayNotRecording(trouble.code, trouble.since);
    if (trouble.fatal) this.#options.onFatal(trouble);
  }

  #sayNotRecording(code: Trouble['code'], since: PostTime): void {
    const why = {
      full: 'the disk is full',
      'read-only': 'the file cannot be written',
      io: 'writing failed',
      corrupt: 'the file is damaged',
    }[code];
    this.#recording = { ok: false, since: toIso(since, this.#state.wallOffsetMs), words: `Not being recorded: ${why}` };
    this.#tellHead();
  }

  /**
   * Writing works again. The record goes on from the last commit with a gap; what was seen meanwhile is handed over
   * as one record, so that no alarm that stands on a screen vanishes with the memory it was in. Should that record
   * fail too, it is folded from memory like any other.
   */
  #recovered(): void {
    const seen = this.#state;
    if (this.#atLastCommit !== null) this.#state = this.#atLastCommit;
    this.#atLastCommit = null;
    this.#shown = seen;
    this.#recording = { ok: true };
    const { epoch } = this.#recorder.journal();
    const state = encodeState(seen, { withSeries: false });
    this.#recorder
      .record([{ kind: 'carried', fromEpoch: epoch, fromCursor: seen.cursor, state }])
      .catch((error: unknown) => {
        this.#options.log.error({ err: error }, 'what was seen while nothing was recorded is not handed over yet');
      });
    this.#tellHead();
  }

  #handedOver(): void {
    if (this.#shown === null) return;
    this.#shown = null;
    this.#lives += 1;
  }

  #tellHead(): void {
    const changes = createChanges();
    changes.head = true;
    for (const listener of this.#listeners) listener(changes, this.state().events + 1);
  }
}
