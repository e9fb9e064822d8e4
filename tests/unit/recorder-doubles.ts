/** Doubles for the tests of the recorder: time, timers and a journal that fails on demand. */

import type { Journal } from '../../server/journal/journal.ts';
import type { SeenLookup } from '../../server/journal/known-packets.ts';
import { createMemoryJournal } from '../../server/journal/memory-journal.ts';
import { createPostClock } from '../../server/journal/post-clock.ts';
import {
  createRecorder,
  type Outcome,
  type Recorder,
  type RecorderOptions,
  type Timers,
  type Trouble,
  type WatchOnlyRecord,
} from '../../server/journal/recorder.ts';
import type { JournalRecord, PacketRecord, RecordBody } from '../../shared/incident/records.ts';
import type { StoredPacket } from '../../shared/protocol/stored-packet.ts';

/** Time and timers that move only when told to. */
export class FakeTime implements Timers {
  us = 1_000_000;
  bootUs: number | null = 5_000_000;
  wallMs = 1_800_000_000_000;
  #due = new Map<number, { at: number; run: () => void }>();
  #next = 1;

  setTimeout(run: () => void, ms: number): number {
    this.#due.set(this.#next, { at: this.us + ms * 1_000, run });
    return this.#next++;
  }

  clearTimeout(timer: unknown): void {
    if (typeof timer === 'number') this.#due.delete(timer);
  }

  setImmediate(run: () => void): number {
    return this.setTimeout(run, 0);
  }

  get waiting(): number {
    return this.#due.size;
  }

  /** Moves all clocks and runs what falls due, in order. */
  pass(ms: number): void {
    const end = this.us + ms * 1_000;
    for (;;) {
      const [id, next] = [...this.#due].sort((a, b) => a[1].at - b[1].at || a[0] - b[0])[0] ?? [];
      if (id === undefined || next === undefined || next.at > end) break;
      this.#move(Math.max(0, next.at - this.us));
      this.#due.delete(id);
      next.run();
    }
    this.#move(end - this.us);
  }

  /** All clocks go on while the process does not. */
  standStill(ms: number): void {
    this.#move(ms * 1_000);
  }

  sleep(ms: number): void {
    if (this.bootUs !== null) this.bootUs += ms * 1_000;
    this.wallMs += ms;
  }

  #move(us: number): void {
    this.us += us;
    if (this.bootUs !== null) this.bootUs += us;
    this.wallMs += us / 1_000;
  }
}

export const START_AT = 1_800_000_000_000_000;

export type Bench = {
  time: FakeTime;
  recorder: Recorder;
  journal: Journal;
  /** What happened, in order. */
  log: string[];
  committed: JournalRecord[];
  watched: WatchOnlyRecord[];
  troubles: Trouble[];
  /** What `append` throws from now on; null: it works. */
  failWith(error: unknown): void;
  appends: number[];
};

export const NOTHING_SEEN: SeenLookup = { rangesOf: () => [], find: () => null };

export function bench(overrides: Partial<RecorderOptions> & { journal?: Journal } = {}): Bench {
  const time = new FakeTime();
  const clock = createPostClock({
    steadyUs: () => time.us,
    wallMs: () => time.wallMs,
    bootUs: () => time.bootUs,
    startAt: START_AT,
    wallOffsetMs: 0,
  });
  const real = overrides.journal ?? createMemoryJournal();
  const failure: { error: unknown } = { error: null };
  const appends: number[] = [];
  const log: string[] = [];
  const committed: JournalRecord[] = [];
  const watched: WatchOnlyRecord[] = [];
  const troubles: Trouble[] = [];
  const journal: Journal = {
    file: real.file,
    epoch: real.epoch,
    head: () => real.head(),
    find: (key) => real.find(key),
    read: (cursor, limit) => real.read(cursor, limit),
    recentOf: (monitor, limit) => real.recentOf(monitor, limit),
    packetsOf: (monitor, from, to, limit) => real.packetsOf(monitor, from, to, limit),
    close: () => real.close(),
    append(records) {
      if (failure.error !== null) throw failure.error;
      const stored = real.append(records);
      appends.push(records.length);
      log.push(`commit ${stored.map((r) => r.cursor).join(' ')}`);
      return stored;
    },
  };
  const recorder = createRecorder({
    clock,
    seen: NOTHING_SEEN,
    windowMs: 2,
    timers: time,
    onCommitted(records) {
      log.push('fold');
      committed.push(...records);
    },
    onWatchOnly: (records) => void watched.push(...records),
    onTrouble(trouble) {
      log.push(`trouble ${trouble.code}`);
      troubles.push(trouble);
    },
    onRecovered: () => void log.push('recovered'),
    ...overrides,
    journal,
  });
  return {
    time,
    recorder,
    journal,
    log,
    committed,
    watched,
    troubles,
    appends,
    failWith(error) {
      failure.error = error;
    },
  };
}

export function packet(seq: number, changes: Partial<StoredPacket> = {}): PacketRecord {
  const readings = new Map([['co', { value: 3, unit: 'ppm' as const }]]);
  return { kind: 'packet', relay: 'R1', packet: { monitor: 'M-07', boot: 'b1', seq, readings, ...changes } };
}

export function note(text: string): RecordBody {
  return { kind: 'command', id: text, by: 'Officer', role: 'officer', act: { type: 'note', text } };
}

/** Where a promise stands, without waiting for it. */
export function follow(promise: Promise<Outcome[]>): { outcomes: Outcome[] | null; error: unknown } {
  const state: { outcomes: Outcome[] | null; error: unknown } = { outcomes: null, error: null };
  promise.then(
    (outcomes) => {
      state.outcomes = outcomes;
    },
    (error: unknown) => {
      state.error = error;
    },
  );
  return state;
}

/** Lets what is resolved already reach those who wait for it. */
export async function settled(): Promise<void> {
  for (let i = 0; i < 5; i += 1) await Promise.resolve();
}
