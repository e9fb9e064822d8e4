/**
 * What stands between callers and the journal file. Everything offered within a few milliseconds shares one commit,
 * and nobody is answered before it. The order is: commit, fold and publish (`onCommitted`), answer. When the file
 * cannot be written the watch goes on from memory (`onWatchOnly`), and callers are told that nothing was recorded.
 */
import type { JournalRecord, RecordBody } from '../../shared/incident/records.ts';
import { CommitSchedule } from './commit-schedule.ts';
import { JournalError, type TimedRecord } from './journal.ts';
import { KnownPackets } from './known-packets.ts';
import { MissedTime } from './missed-time.ts';
import { NotRecordable } from './not-recordable.ts';
import type { Recorder, RecorderOptions } from './recorder-port.ts';
import { type Origin, type Outcome, Submission } from './submission.ts';
import { SubmissionQueue } from './submission-queue.ts';

export type { Timers } from './commit-schedule.ts';
export type { Recorder, RecorderOptions, Trouble, WatchOnlyRecord } from './recorder-port.ts';
export type { Origin, Outcome } from './submission.ts';

export const MAX_GROUP = 2_000;
export const MAX_QUEUED = 50_000;
const DERIVED_WITHIN_MS = 1_000;
const PROBE_EVERY_MS = 2_000;
const RETRY_AFTER_S = 2;
/** When nothing can be recorded any more although the disk does not complain, the fault is ours: end. */
const FAULTS_IN_A_ROW = 20;

export function createRecorder(options: RecorderOptions): Recorder {
  const { clock, timers, onCommitted, onWatchOnly } = options;
  let journal = options.journal;
  const known = new KnownPackets({
    find: (key) => journal.find(key),
    seen: options.seen,
    onSeenTrouble: options.onSeenTrouble,
    maxSources: options.maxSources,
  });
  let mode: ReturnType<Recorder['mode']> = 'recording';
  let code: JournalError['code'] = 'io';
  let missed: MissedTime | null = null;
  const queue = new SubmissionQueue();
  let derived: RecordBody[] = [];
  let derivedTimer: unknown = null;
  let probeTimer: unknown = null;
  let faultsInARow = 0;
  let committing = false;
  const commits = new CommitSchedule({ timers, now: clock.now, windowMs: options.windowMs, commit: commitDue });

  function record(bodies: readonly RecordBody[], origin?: Origin): Promise<Outcome[]> {
    if (mode === 'stopped') return Promise.reject(new NotRecordable('stopped', RETRY_AFTER_S));
    if (mode === 'recording' && queue.records >= MAX_QUEUED) return Promise.reject(new NotRecordable('busy', 1));
    if (queue.size === 0) noteStall();
    if (mode !== 'recording') {
      watch(new Submission({ bodies, times: bodies.map(clock.stamp) }).timed());
      return Promise.reject(new NotRecordable(code, RETRY_AFTER_S));
    }
    enterDerived();
    return new Promise((resolve, reject) => {
      const times = bodies.map(clock.stamp);
      const submission = new Submission({ bodies, times, origin, answer: { resolve, reject } });
      if (!judged(submission)) return;
      if (submission.isSettled) submission.resolve();
      else enter(submission);
    });
  }

  /** False: the file could not even be asked, and the submission was refused. */
  function judged(submission: Submission): boolean {
    try {
      submission.judge(known);
      return true;
    } catch (error) {
      fail([...queue.takeAll(), submission], error);
      return false;
    }
  }

  function enter(submission: Submission): void {
    queue.push(submission);
    schedule();
  }

  function enterOwn(bodies: readonly RecordBody[], isDerived: boolean): void {
    const times = bodies.map(clock.stamp);
    const submission = new Submission({ bodies, times, derived: isDerived });
    if (mode !== 'recording') watch(submission.timed());
    else if (judged(submission)) enter(submission);
  }

  /** Derived records get their time only now: while they wait they must not hold back the deadlines. */
  function enterDerived(): void {
    if (derivedTimer !== null) timers.clearTimeout(derivedTimer);
    derivedTimer = null;
    if (derived.length > 0 && mode === 'recording') enterOwn(derived.splice(0), true);
  }

  function enqueueDerived(bodies: readonly RecordBody[]): void {
    if (mode !== 'recording') return; // what is only watched is folded again, from the record, once there is one
    derived.push(...bodies);
    if (derived.length > 0) derivedTimer ??= timers.setTimeout(enterDerived, DERIVED_WITHIN_MS);
  }

  /** Before the first record of a group, so that what is heard after a pause comes after the gap. */
  function noteStall(): void {
    const stall = clock.checkStall();
    if (stall === null) return;
    const judgedBy = stall.cause === 'suspend' ? 'boot-clock' : 'steady-clock';
    enterOwn([{ kind: 'gap', from: stall.from, cause: stall.cause, judgedBy }], false);
  }

  function tick(): void {
    if (mode === 'stopped') return;
    noteStall();
    const step = clock.checkWall();
    if (step !== null) enterOwn([{ kind: 'clock', ...step }], false);
  }

  function schedule(): void {
    if (committing || mode !== 'recording' || queue.size === 0) return;
    commits.request(queue.size, queue.records >= MAX_GROUP);
  }

  function commitDue(): void {
    try {
      commitGroup();
    } finally {
      schedule();
    }
  }

  function commitGroup(): void {
    const group = queue.takeGroup(MAX_GROUP);
    const records = group.flatMap((submission) => submission.records());
    let stored: readonly JournalRecord[] = [];
    committing = true;
    try {
      try {
        if (records.length > 0) stored = journal.append(records);
      } catch (error) {
        if (error instanceof JournalError) fail([...group, ...queue.takeAll()], error);
        else handleFault(group, records, error);
        return;
      }
      faultsInARow = 0;
      settle(group, stored);
    } finally {
      committing = false;
    }
  }

  function settle(group: readonly Submission[], stored: readonly JournalRecord[]): void {
    let placed = 0;
    for (const submission of group) placed += submission.place(stored, placed);
    for (const record of stored) if (record.kind === 'packet') known.settle(record.packet);
    try {
      if (stored.length > 0) onCommitted(stored);
    } finally {
      for (const submission of group) submission.resolve();
      commits.committed(group.filter((submission) => !submission.derived).length);
    }
  }

  /** A group failed, and not by the disk: one of its records is at fault, and the others must not pay for it. */
  function handleFault(group: readonly Submission[], records: readonly TimedRecord[], error: unknown): void {
    if (recheck(records)) {
      queue.putBack(group);
      rejudge();
    } else if (group.length > 1) {
      queue.putBack(group);
      queue.takeAlone(group.length);
    } else {
      faultsInARow += 1;
      if (faultsInARow < FAULTS_IN_A_ROW) refuse(group, error);
      else fail([...group, ...queue.takeAll()], error);
    }
  }

  function refuse(group: readonly Submission[], error: unknown): void {
    rejudge(); // what was measured against the one that goes has to be judged without it
    for (const submission of group) submission.reject(error);
    options.onFault?.(error);
  }

  /** Does the file hold one of these packets already, unknown to the index? */
  function recheck(records: readonly TimedRecord[]): boolean {
    try {
      return known.recheck(records.flatMap((record) => (record.kind === 'packet' ? [record.packet] : [])));
    } catch {
      return false;
    }
  }

  function rejudge(): void {
    try {
      queue.judge(known);
    } catch (error) {
      fail(queue.takeAll(), error);
    }
  }

  function fail(refused: readonly Submission[], error: unknown): void {
    const fatal = !(error instanceof JournalError) || error.code === 'io' || error.code === 'corrupt';
    code = error instanceof JournalError ? error.code : 'io';
    mode = fatal ? 'ended' : 'not-recording';
    commits.cancel();
    const lost = refused.filter((s) => !s.derived);
    derived = [...refused.filter((s) => s.derived).flatMap((s) => s.bodies), ...derived];
    const offered = lost.flatMap((s) => s.timed());
    const since = offered[0]?.at ?? clock.stamp();
    missed = new MissedTime({ from: since, judgedBy: 'steady-clock' });
    known.forgetWaiting();
    options.onTrouble({ code, since, fatal, error });
    watch(offered);
    for (const submission of lost) submission.reject(new NotRecordable(code, RETRY_AFTER_S));
    if (!fatal) probeLater();
  }

  function watch(offered: readonly TimedRecord[]): void {
    missed?.note(offered);
    const fresh = offered.filter((r) => r.kind !== 'packet' || known.watch(r.packet));
    const { cursor } = journal.head();
    if (fresh.length > 0) onWatchOnly(fresh.map((r) => ({ ...r, cursor, watchOnly: true })));
  }

  function probeLater(): void {
    probeTimer = timers.setTimeout(probe, PROBE_EVERY_MS);
  }

  /** The probe is the write itself: the gap record is the first thing that has to be said. */
  function probe(): void {
    if (mode !== 'not-recording' || missed === null) return;
    try {
      const next = options.reopen === undefined ? journal : options.reopen();
      if (next === null) {
        probeLater();
        return;
      }
      journal = next;
      const stored = journal.append(missed.records(() => clock.stamp()));
      missed = null;
      mode = 'recording';
      known.forgetWaiting();
      options.onRecovered();
      settle([], stored);
    } catch (error) {
      if (mode === 'recording') throw error; // from a callback, not from the file
      if (!(error instanceof JournalError) || error.code === 'io' || error.code === 'corrupt') fail([], error);
      else probeLater();
      return;
    }
    enterDerived();
  }

  function flush(): void {
    if (committing) return; // called from onCommitted: what waits is due right after it
    enterDerived();
    commits.cancel();
    while (mode === 'recording' && queue.size > 0) commitGroup();
  }

  if (options.startNotRecording !== undefined) {
    code = options.startNotRecording.code;
    mode = 'not-recording';
    missed = new MissedTime(options.startNotRecording.gap);
    probeLater();
  }

  return {
    record,
    enqueueDerived,
    earliestPending: () => queue.earliest,
    tick,
    flush,
    stop() {
      flush();
      if (probeTimer !== null) timers.clearTimeout(probeTimer);
      mode = 'stopped';
    },
    queued: () => queue.records,
    journal: () => journal,
    mode: () => mode,
  };
}
