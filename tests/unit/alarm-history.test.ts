/** The newest alarm events of a record: what was heard, and before that what the journal holds. */
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { TimedRecord } from '../../server/journal/journal.ts';
import { openJournal, type SqliteJournal } from '../../server/journal/sqlite-journal.ts';
import { type AlarmHistories, createAlarmHistories, KEPT } from '../../server/live/alarm-history.ts';
import { changeWords } from '../../server/live/alarm-history-words.ts';
import type { ChangesListener, Watch } from '../../server/watch/watch.ts';
import { createChanges } from '../../shared/incident/changes.ts';
import type { AlarmEvent } from '../../shared/incident/events.ts';
import { createState } from '../../shared/incident/state.ts';
import { EPOCH, START, temporaryFolder } from './journal-sample.ts';

let folder: ReturnType<typeof temporaryFolder>;
let journal: SqliteJournal;
let histories: AlarmHistories;
let listener: ChangesListener;
let epoch: string;
const state = createState();

beforeEach(() => {
  folder = temporaryFolder();
  journal = openJournal(folder.path('a.journal'), { create: { epoch: EPOCH }, synchronous: 'OFF' });
  epoch = 'e.1';
});
afterEach(() => {
  histories.stop();
  journal.close();
  folder.remove();
});

/** Begins to listen when `events` events were told already. */
function begin(events: number): void {
  state.events = events;
  const watch = {
    state: () => state,
    journal: () => journal,
    listen(to: ChangesListener) {
      listener = to;
      return () => {};
    },
  };
  histories = createAlarmHistories({ watch: watch as unknown as Watch, epoch: () => epoch });
}

function event(over: Partial<AlarmEvent> = {}): AlarmEvent {
  return {
    type: 'alarm',
    at: START,
    change: 'raised',
    alarm: 'M-1~co~co-35~1',
    occurrence: 1,
    monitor: 'M-1',
    kind: 'level',
    sensor: 'co',
    setPoint: 'co-35',
    priority: 'caution',
    state: 'unacknowledged',
    words: 'carbon monoxide 40 ppm',
    ...over,
  };
}

let at = START;
const next = () => (at += 1_000);
const told = (number: number, over: Partial<AlarmEvent> = {}): TimedRecord => ({
  kind: 'event',
  fold: 1,
  number,
  event: event(over),
  at: next(),
});
const board = (number: number): TimedRecord => ({
  kind: 'event',
  fold: 1,
  number,
  event: { type: 'board', at: START, change: 'note', words: 'x' },
  at: next(),
});
const filler = (count: number): TimedRecord[] =>
  Array.from({ length: count }, () => ({ kind: 'clock', wallOffsetBeforeMs: 0, wallOffsetAfterMs: 1, at: next() }));
const hear = (first: number, ...events: AlarmEvent[]) => {
  const changes = createChanges();
  changes.events.push(...events);
  listener(changes, first);
};
const numbers = async (query: Partial<Parameters<AlarmHistories['ask']>[0]> = {}) =>
  (await histories.ask({ limit: 100, ...query })).events.map(({ number }) => number);

test('goes on from what was heard into the journal, over many records in between, and doubles nothing', async () => {
  journal.append([told(1), board(2), ...filler(25_000), told(3, { alarm: 'other' })]);
  begin(3);
  hear(4, event(), event({ change: 'worse' }));
  journal.append([told(4), told(5)]); // written after they were heard
  expect(await numbers()).toEqual([5, 4, 3, 1]);
  expect(await numbers({ before: 4 })).toEqual([3, 1]);
  expect(await numbers({ alarm: 'other' })).toEqual([3]);
  expect(await histories.ask({ limit: 2 })).toMatchObject({ next: 4, cut: false, epoch: 'e.1' });
  expect(await histories.ask({ limit: 4 })).toMatchObject({ next: null, cut: false });
  // Two at once read the same past once.
  expect(await Promise.all([numbers(), numbers()])).toEqual([
    [5, 4, 3, 1],
    [5, 4, 3, 1],
  ]);
});

test('reads no further than it is asked for, and says where it goes on', async () => {
  journal.append([told(1), ...filler(45_000), told(2)]);
  begin(2);
  const first = await histories.ask({ limit: 1 });
  expect(first).toMatchObject({ next: 2 });
  expect(await numbers({ before: 2 })).toEqual([1]);
});

test('keeps the newest 5,000 and says that there are more', async () => {
  journal.append(Array.from({ length: KEPT + 10 }, (_, i) => told(i + 1)));
  begin(KEPT + 10);
  const last = await histories.ask({ limit: 500, before: 100 });
  expect([last.events[0]?.number, last.events.at(-1)?.number, last.next, last.cut]).toEqual([99, 11, null, true]);
  hear(KEPT + 11, event());
  expect((await histories.ask({ limit: 1 })).events[0]?.number).toBe(KEPT + 11);
  expect((await numbers({ before: 100, limit: 500 })).at(-1)).toBe(12);
});

test('begins anew with another record', async () => {
  journal.append([told(1)]);
  begin(1);
  expect(await numbers()).toEqual([1]);
  epoch = 'e.2';
  hear(1, event({ change: 'carried' }));
  expect((await histories.ask({ limit: 9 })).events.map(({ says }) => says)).toEqual([
    'taken over from the record before',
  ]);
});

test.each([
  [{ change: 'raised', late: true }, 'raised, learned late'],
  [{ change: 'again', state: 'shelved' }, 'came up again on the shelf'],
  [{ change: 'returned', state: 'latched-unacknowledged' }, 'its condition ended; held until it is answered and reset'],
  [{ change: 'returned', state: 'returned-unacknowledged' }, 'its condition ended, waits for an answer'],
  [{ change: 'acknowledged', by: 'A', decision: 'Out' }, 'acknowledged by A: “Out”'],
  [{ change: 'reset', by: 'A', reason: 'seen' }, 'reset by A: “seen”'],
  [{ change: 'unshelved' }, 'its time on the shelf is up, waits for an answer'],
  [{ change: 'unshelved', state: 'normal' }, 'its time on the shelf is up'],
  [
    { change: 'unshelved', reason: 'never put aside here' },
    'taken off the shelf: never put aside here, waits for an answer',
  ],
  [{ change: 'out-of-service', by: 'A', reason: 'x', state: 'out-of-service' }, 'out of service by A: “x”'],
  [{ change: 'escalated', whileDown: true }, 'nobody answered: escalated (came due while the post was down)'],
] as [Partial<AlarmEvent>, string][])('%o is told in words', (over, words) => {
  begin(0);
  expect(changeWords(event(over))).toBe(words);
});
