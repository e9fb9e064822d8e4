/**
 * The post at work: its lock-holding process, post.db, the current journal, the watch over it, and what happens by
 * itself: deadlines, checkpoints, the day's new standby file, the incident that a first danger alarm opens.
 */
import { randomUUID } from 'node:crypto';
import { existsSync } from 'node:fs';
import { basename, join } from 'node:path';
import type { Logger } from 'pino';
import type { RecordBody } from '../../shared/incident/records.ts';
import { FOLD_VERSION } from '../../shared/incident/state.ts';
import { type PostTime, toWallMs } from '../../shared/incident/time.ts';
import type { CommandAnswer } from '../../shared/protocol/commands.ts';
import { judgeGap } from '../journal/gap.ts';
import type { Journal } from '../journal/journal.ts';
import type { MissingTime } from '../journal/missed-time.ts';
import { createPostClock, type PostClock, systemClocks } from '../journal/post-clock.ts';
import { createPostFollower, type PostFollower, registerJournal } from '../journal/post-follower.ts';
import { createSeenIndex } from '../journal/seen-index.ts';
import { openJournalReadOnly, SqliteJournal } from '../journal/sqlite-journal.ts';
import type { Db } from '../store/open-database.ts';
import { createIncidentDesk } from './incident-desk.ts';
import { journalFolder, noteClosed, noteOpened, readCurrent, writeCurrent } from './journal-files.ts';
import { openCheckpoints, openCurrent } from './open-current.ts';
import { type Switch, switchJournal } from './open-incident.ts';
import { type MadeJournal, makeJournal } from './open-journal.ts';
import { freeze } from './restore.ts';
import type { TakeCommand } from './take-command.ts';
import { Watch } from './watch.ts';

const TICK_MS = 250;
const CHECKPOINT_EVERY_RECORDS = 20_000;
const CHECKPOINT_EVERY_US = 60_000_000;

export type PostOptions = {
  readonly dataDir: string;
  readonly db: Db;
  readonly log: Logger;
  readonly commitWindowMs: number;
  /** IANA zone that a new journal shows its times in. */
  readonly zone: string;
  readonly onFatal: () => void;
};

export type Post = {
  readonly watch: Watch;
  readonly clock: PostClock;
  readonly takeCommand: TakeCommand;
  /** Identity of the journal in this life of the process: a screen resumes within it alone. */
  epoch(): string;
  stop(): Promise<void>;
};

/** Starts from what is on disk. Throws what a person has to mend; a journal that cannot be written is watched from memory. */
export function startPost(options: PostOptions): Post {
  const { db, log, commitWindowMs, zone } = options;
  const folder = journalFolder(options.dataDir);
  const sources = systemClocks();
  const life = randomUUID().slice(0, 8);
  /** Other files, kept open for reading once a packet had to be compared with one of theirs. */
  const opened = new Map<string, SqliteJournal>();
  const seen = createSeenIndex(db, { openFile });

  const current = readCurrent(db, folder);
  let made: MadeJournal | null = null;
  const missing = current !== null && !existsSync(current.file);
  if (missing) log.error({ file: current.file }, 'the current journal is missing: a new one is begun');
  if (current === null || missing) {
    const wallMs = sources.wallMs();
    made = makeJournal(db, folder, {
      purpose: 'standby',
      name: 'Standby',
      by: 'post',
      ...(missing ? { why: `${basename(current.file)} is missing: what it held is not on this board` } : {}),
      zone,
      wallOffsetMs: 0,
      at: wallMs * 1000,
      wallMs,
    });
    writeCurrent(db, made.journal.file);
    noteOpened(db, made.fileId, false, wallMs);
  }
  const start = openCurrent(made?.journal ?? null, current, log);
  const { journal, restored } = start;
  let fileId = made?.fileId ?? registerJournal(db, journal, basename(journal.file), { kind: 'standby' });
  let checkpoints = start.checkpoints;
  const alive = checkpoints.alive(journal.epoch);
  const state = restored.state;
  const head = journal.head();
  const gap = judgeGap({
    lastAt: alive?.at ?? head.at,
    lastWallOffsetMs: alive?.wallOffsetMs ?? state.wallOffsetMs,
    lastBootId: alive?.bootId ?? null,
    lastBootUs: alive?.bootUs ?? null,
    headAt: head.at,
    nowWallMs: sources.wallMs(),
    nowBootId: sources.bootId,
    nowBootUs: sources.bootUs(),
  });
  const clock = createPostClock({ ...sources, startAt: gap.at, wallOffsetMs: state.wallOffsetMs });
  let follower: PostFollower = createPostFollower({ db, seen, journal, fileId });
  if (start.failed === null) tryTo('post.db could not follow', () => warnWhenBehind(follower.catchUp()));

  const from = Math.max(state.now, head.at);
  const restart: MissingTime = { from, judgedBy: gap.judgedBy };
  const watch = new Watch(
    {
      clock,
      seen,
      commitWindowMs,
      log,
      onFatal: options.onFatal,
      onCommitted: (records) => follower.note(records),
      reopen: () => {
        if (start.failed === null || watch.journal() instanceof SqliteJournal) return { journal: watch.journal() };
        const opened = start.reopen();
        if (opened === null) return null;
        fileId = registerJournal(db, opened.journal, basename(opened.journal.file), { kind: 'standby' });
        follower = createPostFollower({ db, seen, journal: opened.journal, fileId });
        tryTo('post.db could not follow', () => follower.catchUp());
        checkpoints.close();
        checkpoints = opened.checkpoints;
        return { journal: opened.journal, state: opened.restored.state };
      },
    },
    state,
    journal,
    start.failed === null ? undefined : { code: start.failed, gap: restart },
  );
  const gapBody: RecordBody[] = made === null ? [{ kind: 'gap', cause: 'restart', ...restart }] : [];
  watch.record(start.failed === null ? [...gapBody, ...restored.owed] : gapBody).catch((error: unknown) => {
    log.error({ err: error }, 'the gap since the last run is not recorded');
  });
  watch.flush();
  log.info({ folded: restored.folded }, 'the record was folded');

  let savedCursor = restored.from;
  let savedAt: PostTime = clock.now();
  let stopped = false;

  function warnWhenBehind(caught: ReturnType<PostFollower['catchUp']>): void {
    if (caught.status === 'behind')
      log.error(
        caught,
        'the journal is shorter than what post.db has seen of it: a copy was put back, or its tail is gone',
      );
  }

  async function change(wanted: Switch): Promise<CommandAnswer> {
    const next = await switchJournal(
      {
        post: db,
        folder,
        clock,
        watch,
        makeCurrent: (next) => {
          const nowMs = toWallMs(clock.now(), watch.state().wallOffsetMs);
          db.transaction(() => {
            writeCurrent(db, next.journal.file);
            noteOpened(db, next.fileId, wanted.purpose === 'exercise', nowMs);
            if (wanted.closing !== undefined) noteClosed(db, watch.journal().file, nowMs);
          }).immediate();
        },
        onSwitched: (now, old) => {
          tryTo('post.db could not follow', () => follower.catchUp());
          fileId = now.fileId;
          follower = createPostFollower({ db, seen, journal: now.journal, fileId });
          tryTo('post.db could not follow', () => follower.catchUp());
          checkpoints.close();
          checkpoints = openCheckpoints(now.journal);
          savedCursor = 0;
          old.close();
        },
      },
      wanted,
    );
    log.info({ purpose: wanted.purpose, name: wanted.name, by: wanted.by }, 'a new journal is current');
    const asked = wanted.command === undefined ? undefined : watch.state().answers.get(wanted.command);
    return asked ?? { status: 'done', cursor: next.journal.head().cursor };
  }

  const desk = createIncidentDesk({ watch, clock, zone, log, change });
  const stopListening = watch.listen(desk.openWhenDanger);

  function tryTo(what: string, act: () => unknown): void {
    try {
      act();
    } catch (error) {
      log.error({ err: error }, what);
    }
  }

  function saveCheckpoint(): void {
    if (!watch.isRecording()) return;
    watch.flush();
    const { cursor, at, hash } = watch.journal().head();
    if (watch.state().cursor !== cursor) return;
    checkpoints.save({ cursor, at, foldVersion: FOLD_VERSION, seal: hash, state: freeze(watch.state()) });
    savedCursor = cursor;
    savedAt = clock.now();
  }

  // The end of a close was cut off: what comes now does not belong to what is closed.
  if (state.journal?.closed === true && state.journal.purpose !== 'standby' && watch.isRecording()) {
    tryTo('post.db could not be told of a close', () =>
      noteClosed(db, journal.file, toWallMs(clock.now(), watch.state().wallOffsetMs)),
    );
    desk.beginStandby('standby could not be begun after a close');
  }

  let ticks = 0;
  const ticker = setInterval(() => {
    watch.tick();
    ticks += 1;
    if (ticks % 4 !== 0) return;
    if (watch.isRecording()) tryTo('post.db could not follow', () => follower.write());
    checkpoints.saveAlive({
      at: clock.now(),
      wallOffsetMs: clock.wallOffsetMs(),
      bootId: sources.bootId,
      bootUs: sources.bootUs(),
    });
    const moved = watch.state().cursor - savedCursor;
    if (moved > CHECKPOINT_EVERY_RECORDS || (moved > 0 && clock.now() - savedAt > CHECKPOINT_EVERY_US))
      tryTo('no checkpoint could be kept', saveCheckpoint);
    if (ticks % 40 === 0) desk.rollStandby();
  }, TICK_MS);

  return {
    watch,
    clock,
    takeCommand: desk.takeCommand,
    epoch: () => `${watch.journal().epoch}.${life}.${watch.lives()}`,
    async stop() {
      if (stopped) return;
      stopped = true;
      clearInterval(ticker);
      await desk.settled();
      stopListening();
      tryTo('no checkpoint could be kept', saveCheckpoint);
      watch.stop();
      if (watch.journal() instanceof SqliteJournal) tryTo('post.db could not follow', () => follower.catchUp());
      checkpoints.saveAlive({
        at: clock.now(),
        wallOffsetMs: clock.wallOffsetMs(),
        bootId: sources.bootId,
        bootUs: sources.bootUs(),
      });
      checkpoints.close();
      for (const other of opened.values()) other.close();
      watch.journal().close();
      sources.close();
    },
  };

  function openFile(file: string): Pick<Journal, 'find'> | null {
    if (file === basename(watch.journal().file)) return watch.journal();
    const known = opened.get(file);
    if (known !== undefined) return known;
    try {
      const other = openJournalReadOnly(join(folder, file));
      opened.set(file, other);
      return other;
    } catch (error) {
      log.error({ err: error, file }, 'a journal that may hold a packet already cannot be read');
      return null;
    }
  }
}
