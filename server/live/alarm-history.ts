/**
 * The newest alarm events of the current record, kept in memory: what was heard since the start, and before that what
 * the journal holds, read backwards when somebody first asks and no further than they ask for. The journal has no
 * index by kind, and one would have to be paid for with every packet that is stored; walking a day once, a span at a
 * time so that no packet waits for it, costs less. What was watched from memory while nothing could be recorded is
 * here too, until recording goes on.
 */
import type { AlarmEvent } from '../../shared/incident/events.ts';
import { KINDS } from '../../shared/incident/records.ts';
import { toIso } from '../../shared/incident/time.ts';
import type { AlarmHistory, AlarmHistoryEntry } from '../../shared/protocol/alarm-history.ts';
import { SqliteJournal } from '../journal/sqlite-journal.ts';
import type { Post } from '../watch/post.ts';
import { changeWords } from './alarm-history-words.ts';

export const KEPT = 5_000;
/** Records walked through before others get their turn: a few milliseconds. */
const SPAN = 20_000;

export type AlarmQuery = {
  readonly limit: number;
  /** Only what has a lower number. */
  readonly before?: number | undefined;
  /** Only what happened to the alarm of this id. */
  readonly alarm?: string | undefined;
};
export type AlarmHistories = { ask(query: AlarmQuery): Promise<AlarmHistory>; stop(): void };

type Numbered = { readonly number: number; readonly event: AlarmEvent };
type Kept = {
  readonly epoch: string;
  /** Newest first. */
  heard: Numbered[];
  /** Numbers below this are not heard but read. */
  readonly heardFrom: number;
  /** Newest first, all older than what was heard. */
  readonly read: Numbered[];
  /** Records up to this cursor were not walked through yet; null before the first walk. */
  unread: number | null;
};

type Source = Pick<Post, 'watch' | 'epoch'>;

/** Listens to the watch from now on. */
export function createAlarmHistories({ watch, epoch }: Source): AlarmHistories {
  const anew = (heardFrom: number): Kept => ({ epoch: epoch(), heard: [], heardFrom, read: [], unread: null });
  let kept = anew(watch.state().events + 1);
  let walking: Promise<void> | null = null;

  const stop = watch.listen((changes, first) => {
    if (epoch() !== kept.epoch) kept = anew(first);
    for (const [i, event] of changes.events.entries()) {
      if (event.type === 'alarm') kept.heard.unshift({ number: first + i, event });
    }
    if (kept.heard.length > 2 * KEPT) kept.heard = kept.heard.slice(0, KEPT);
  });

  function current(): Kept {
    if (epoch() !== kept.epoch) kept = anew(watch.state().events + 1);
    return kept;
  }

  const all = (of: Kept): Numbered[] => [...of.heard, ...of.read].slice(0, KEPT);
  const isWhole = (of: Kept): boolean => of.unread === 0 || !(watch.journal() instanceof SqliteJournal);

  /** Reads the next span backwards. False where there is nothing left to read. */
  function walk(of: Kept): boolean {
    const journal = watch.journal();
    if (!(journal instanceof SqliteJournal)) return false;
    of.unread ??= journal.head().cursor;
    const room = KEPT - of.heard.length - of.read.length;
    if (of.unread === 0 || room <= 0) return false;
    const from = Math.max(1, of.unread - SPAN + 1);
    const records = journal.ofKind(KINDS.event, from, of.unread, KEPT);
    for (const record of records) {
      if (record.kind !== 'event' || record.event.type !== 'alarm' || record.number >= of.heardFrom) continue;
      if (of.read.length < KEPT) of.read.push({ number: record.number, event: record.event });
    }
    // More events than are kept stood in this span: what was not read of it is older than all that is kept.
    of.unread = records.length === KEPT ? (records.at(-1)?.cursor ?? from) - 1 : from - 1;
    return true;
  }

  async function walkUntil(of: Kept, isEnough: () => boolean): Promise<void> {
    while (kept === of && !isEnough() && walk(of)) await new Promise((resolve) => setImmediate(resolve));
  }

  return {
    async ask(query) {
      const of = current();
      const matching = () => all(of).filter((one) => isAsked(one, query));
      // One walk at a time: a second one would read the same spans.
      while (walking !== null) await walking;
      walking = walkUntil(of, () => matching().length > query.limit);
      await walking.finally(() => {
        walking = null;
      });
      const found = matching();
      const shown = found.slice(0, query.limit);
      const { wallOffsetMs } = watch.state();
      return {
        epoch: of.epoch,
        events: shown.map((one) => entryOf(one, wallOffsetMs)),
        next: found.length > shown.length ? (shown.at(-1)?.number ?? null) : null,
        cut: found.length === shown.length && !isWhole(of),
      };
    },
    stop,
  };
}

function isAsked({ number, event }: Numbered, { before, alarm }: AlarmQuery): boolean {
  return (before === undefined || number < before) && (alarm === undefined || event.alarm === alarm);
}

function entryOf({ number, event }: Numbered, wallOffsetMs: number): AlarmHistoryEntry {
  const { type: _, at, setPoint: __, ...rest } = event;
  return { ...rest, number, at: toIso(at, wallOffsetMs), says: changeWords(event) };
}
