/**
 * The post at work: its lock-holding process, post.db, the current journal, the watch over it, and what happens by
 * itself: deadlines, checkpoints, the day's new standby file, the incident that a first danger alarm opens.
 */
import { randomUUID } from 'node:crypto';
import { basename, join } from 'node:path';
import type { Logger } from 'pino';
import type { Changes } from '../../shared/incident/changes.ts';
import { FOLD_VERSION } from '../../shared/incident/state.ts';
import type { CommandAnswer } from '../../shared/protocol/commands.ts';
import { type PostTime, toIso, toWallMs } from '../../shared/incident/time.ts';
import { type CheckpointStore, openCheckpointStore } from '../journal/checkpoint-store.ts';
import { judgeGap } from '../journal/gap.ts';
import type { Journal } from '../journal/journal.ts';
import { createPostClock, type PostClock, systemClocks } from '../journal/post-clock.ts';
import { createPostFollower, type PostFollower, registerJournal } from '../journal/post-follower.ts';
import { createSeenIndex } from '../journal/seen-index.ts';
import { openJournal, openJournalReadOnly, type SqliteJournal } from '../journal/sqlite-journal.ts';
import type { Db } from '../store/open-database.ts';
import { journalFolder, noteClosed, readCurrent, writeCurrent } from './journal-files.ts';
import { type MadeJournal, makeJournal } from './open-journal.ts';
import { switchJournal, type Switch } from './open-incident.ts';
import { freeze, restore } from './restore.ts';
import { createTakeCommand, type TakeCommand } from './take-command.ts';
import { Watch } from './watch.ts';

const TICK_MS = 250;
const CHECKPOINT_EVERY_RECORDS = 20_000;
const CHECKPOINT_EVERY_US = 60_000_000;
const KEEP_EVERY_US = 15 * 60_000_000;

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
  if (current === null) {
    const wallMs = sources.wallMs();
    made = makeJournal(db, folder, { purpose: 'standby', name: 'Standby', by: 'post', zone, wallOffsetMs: 0, at: wallMs * 1000, wallMs });
    writeCurrent(db, made.journal.file);
  }
  const journal: SqliteJournal = made?.journal ?? openJournal(current?.file ?? '', { create: { epoch: current?.epoch ?? '' } });
  let fileId = made?.fileId ?? registerJournal(db, journal, basename(journal.file), { kind: 'standby' });

  let checkpoints = openCheckpoints(journal);
  const alive = checkpoints.alive(journal.epoch);
  const checkpoint = checkpoints.latest(FOLD_VERSION, journal.epoch);
  const restored = restore(journal, checkpoint);
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
  warnWhenBehind(follower.catchUp());

  const watch = new Watch(
    {
      clock,
      seen,
      commitWindowMs,
      log,
      onFatal: options.onFatal,
      onCommitted: (records) => follower.note(records),
    },
    state,
    journal,
  );
  if (made === null) {
    const from = Math.max(state.now, head.at);
    watch.record([{ kind: 'gap', from, cause: 'restart', judgedBy: gap.judgedBy }, ...restored.owed]).catch((error: unknown) => {
      log.error({ err: error }, 'the gap since the last run could not be recorded');
    });
    watch.flush();
    log.info({ folded: restored.folded, from: checkpoint?.cursor ?? 0 }, 'the record was folded');
  }

  let switching: Promise<CommandAnswer> | null = null;
  let savedCursor = checkpoint?.cursor ?? 0;
  let savedAt: PostTime = clock.now();
  let stopped = false;

  function openCheckpoints(of: SqliteJournal): CheckpointStore {
    return openCheckpointStore({ journalFile: of.file, epoch: of.epoch, sealAt: (cursor) => of.sealAt(cursor), keepEveryUs: KEEP_EVERY_US });
  }

  function warnWhenBehind(caught: ReturnType<PostFollower['catchUp']>): void {
    if (caught.status === 'behind') log.error(caught, 'the journal is shorter than what post.db has seen of it: a copy was put back, or its tail is gone');
  }

  async function change(wanted: Switch): Promise<CommandAnswer> {
    const next = await switchJournal(
      {
        post: db,
        folder,
        clock,
        watch,
        onSwitched: (now, old) => {
          writeCurrent(db, now.journal.file);
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
    return { status: 'done', cursor: next.journal.head().cursor };
  }

  /** One change of journals at a time. */
  function changeInTurn(wanted: () => Switch | CommandAnswer): Promise<CommandAnswer> {
    const before = switching ?? Promise.resolve<CommandAnswer>({ status: 'done' });
    const mine = before
      .catch(() => undefined)
      .then(async () => {
        const next = wanted();
        return 'status' in next ? next : change(next);
      });
    switching = mine;
    void mine.catch(() => undefined).then(() => {
      if (switching === mine) switching = null;
    });
    return mine;
  }

  const takeCommand = createTakeCommand(watch, {
    open: (request) =>
      changeInTurn(() => {
        const open = watch.state().journal;
        const purpose = request.exercise ? 'exercise' : 'incident';
        if (open?.purpose === 'incident' || (open?.purpose === 'exercise' && request.exercise)) {
          return { status: 'refused', code: 'incident-open', message: `${open.name} is open: close it first` };
        }
        return { purpose, name: request.name, by: request.by, why: request.why, zone: request.zone ?? open?.zone ?? zone };
      }),
    close: async (request) => {
      const open = watch.state().journal;
      if (open === null || open.purpose === 'standby') return { status: 'refused', code: 'none-open', message: 'No incident is open' };
      await watch.record([{ kind: 'closed', by: request.by, ...(request.why === undefined ? {} : { why: request.why }) }]);
      const { file } = watch.journal();
      const answer = await changeInTurn(() => ({ purpose: 'standby', name: 'Standby', by: request.by, zone: open.zone }));
      noteClosed(db, file, toWallMs(clock.now(), watch.state().wallOffsetMs));
      return answer;
    },
  });

  /** The first danger alarm of a real monitor opens an incident by itself. */
  function openWhenDanger(changes: Changes): void {
    if (watch.state().journal?.purpose !== 'standby' || switching !== null) return;
    const danger = changes.events.find(
      (event) =>
        event.type === 'alarm' &&
        event.change === 'raised' &&
        event.priority === 'danger' &&
        watch.state().monitors.get(event.monitor)?.simulated !== true,
    );
    if (danger === undefined || danger.type !== 'alarm') return;
    const label = toIso(danger.at, watch.state().wallOffsetMs).slice(0, 16).replace('T', ' ');
    const why = `opened by itself at the first danger alarm: ${danger.entrant ?? danger.monitor}, ${danger.words}`;
    changeInTurn(() => {
      const open = watch.state().journal;
      if (open?.purpose !== 'standby') return { status: 'already' };
      return { purpose: 'incident', name: `Incident of ${label} UTC`, by: 'post', why, zone: open.zone };
    }).catch((error: unknown) => log.error({ err: error }, 'an incident could not be opened by itself'));
  }
  const stopListening = watch.listen(openWhenDanger);

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

  function rollStandby(): void {
    const { journal: open, wallOffsetMs } = watch.state();
    if (open?.purpose !== 'standby' || switching !== null) return;
    const day = (at: PostTime) => toIso(at, wallOffsetMs).slice(0, 10);
    if (day(open.openedAt) === day(clock.now()) || day(watch.journal().head().at) === day(open.openedAt)) return;
    changeInTurn(() => ({ purpose: 'standby', name: 'Standby', by: 'post', zone: open.zone })).catch((error: unknown) =>
      log.error({ err: error }, 'a new standby day could not be begun'),
    );
  }

  let ticks = 0;
  const ticker = setInterval(() => {
    watch.tick();
    ticks += 1;
    if (ticks % 4 !== 0) return;
    tryTo('post.db could not follow', () => follower.write());
    checkpoints.saveAlive({ at: clock.now(), wallOffsetMs: clock.wallOffsetMs(), bootId: sources.bootId, bootUs: sources.bootUs() });
    const moved = watch.state().cursor - savedCursor;
    if (moved > CHECKPOINT_EVERY_RECORDS || (moved > 0 && clock.now() - savedAt > CHECKPOINT_EVERY_US)) tryTo('no checkpoint could be kept', saveCheckpoint);
    if (ticks % 40 === 0) rollStandby();
  }, TICK_MS);

  return {
    watch,
    clock,
    takeCommand,
    epoch: () => `${watch.journal().epoch}.${life}`,
    async stop() {
      if (stopped) return;
      stopped = true;
      clearInterval(ticker);
      await switching?.catch(() => undefined);
      stopListening();
      tryTo('no checkpoint could be kept', saveCheckpoint);
      watch.stop();
      tryTo('post.db could not follow', () => follower.catchUp());
      checkpoints.saveAlive({ at: clock.now(), wallOffsetMs: clock.wallOffsetMs(), bootId: sources.bootId, bootUs: sources.bootUs() });
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

