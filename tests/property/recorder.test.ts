/**
 * The recorder against a plain model: a list of what was acknowledged, and for each packet key the content that
 * came first. Whatever callers, timers, a failing disk and an index with holes do between them.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { contentKey } from '../../server/journal/content-key.ts';
import { JournalError } from '../../server/journal/journal.ts';
import { createMemoryJournal } from '../../server/journal/memory-journal.ts';
import { NotRecordable } from '../../server/journal/not-recordable.ts';
import type { Outcome } from '../../server/journal/recorder.ts';
import type { JournalRecord, PacketRecord, RecordBody } from '../../shared/incident/records.ts';
import { type Bench, bench, NOTHING_SEEN, note, packet, settled } from '../unit/recorder-doubles.ts';

type Step =
  | { do: 'record'; bodies: RecordBody[] }
  | { do: 'derive'; count: number }
  | { do: 'pass'; ms: number }
  | { do: 'stand-still'; ms: number }
  | { do: 'flush' }
  | { do: 'fail'; code: 'full' | 'read-only' }
  | { do: 'mend' }
  | { do: 'tick' };

const somePacket = fc
  .record({
    monitor: fc.constantFrom('M-01', 'M-02'),
    boot: fc.constantFrom('a', 'b'),
    seq: fc.integer({ min: 0, max: 6 }),
    value: fc.constantFrom(1, 1, 1, 2),
    ageMs: fc.integer({ min: 0, max: 9 }),
  })
  .map(({ monitor, boot, seq, value, ageMs }) =>
    packet(seq, { monitor, boot, ageMs, readings: new Map([['co', { value, unit: 'ppm' }]]) }),
  );
const someBody = fc.oneof({ weight: 5, arbitrary: somePacket }, { weight: 1, arbitrary: fc.uuid().map(note) });
const someStep: fc.Arbitrary<Step> = fc.oneof(
  {
    weight: 8,
    arbitrary: fc.record({ do: fc.constant('record' as const), bodies: fc.array(someBody, { maxLength: 5 }) }),
  },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('derive' as const), count: fc.integer({ min: 1, max: 3 }) }) },
  {
    weight: 6,
    arbitrary: fc.record({ do: fc.constant('pass' as const), ms: fc.constantFrom(0, 1, 2, 5, 1_000, 2_000) }),
  },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('stand-still' as const), ms: fc.constantFrom(1, 2_500) }) },
  { weight: 1, arbitrary: fc.constant({ do: 'flush' as const }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('fail' as const), code: fc.constantFrom('full', 'read-only') }) },
  { weight: 2, arbitrary: fc.constant({ do: 'mend' as const }) },
  { weight: 1, arbitrary: fc.constant({ do: 'tick' as const }) },
);
/** Packets that the file has from an earlier life; the index knows only every second one. */
const someStart = fc.uniqueArray(somePacket, { maxLength: 6, selector: keyText });

function keyText(record: PacketRecord): string {
  const { monitor, boot, seq } = record.packet;
  return `${monitor} ${boot} ${seq}`;
}

/** Offered, and answered either way. */
type Tally = { offered: number; ended: number; tooEarly: number };
type Answered = { bodies: RecordBody[]; outcomes: Outcome[] };

async function play(b: Bench, steps: readonly Step[], tally: Tally): Promise<Answered[]> {
  const answered: Answered[] = [];
  let number = 0;
  for (const step of steps) {
    if (step.do === 'record') {
      tally.offered += 1;
      b.recorder.record(step.bodies).then(
        (outcomes) => {
          tally.ended += 1;
          // No answer without its commit: what it says is in the journal, and folded, already.
          for (const o of outcomes) if (o.status === 'stored' && !isFolded(b, o.cursor)) tally.tooEarly += 1;
          answered.push({ bodies: step.bodies, outcomes });
        },
        (error: unknown) => {
          tally.ended += error instanceof NotRecordable ? 1 : 0;
        },
      );
    } else if (step.do === 'derive') {
      const events = Array.from({ length: step.count }, (): RecordBody => {
        number += 1;
        const event = { type: 'board' as const, at: 1, change: 'note' as const, words: 'noted' };
        return { kind: 'event', fold: 1, number, event };
      });
      b.recorder.enqueueDerived(events);
    } else if (step.do === 'pass') b.time.pass(step.ms);
    else if (step.do === 'stand-still') b.time.standStill(step.ms);
    else if (step.do === 'flush') b.recorder.flush();
    else if (step.do === 'fail') b.failWith(new JournalError(step.code, 'on demand'));
    else if (step.do === 'mend') b.failWith(null);
    else b.recorder.tick();
    const pending = b.recorder.earliestPending();
    if (pending !== null) expect(pending).toBeGreaterThan(b.journal.head().at);
    await settled();
  }
  return answered;
}

function isFolded(b: Bench, cursor: number): boolean {
  return b.journal.head().cursor >= cursor && (b.committed.at(-1)?.cursor ?? 0) >= cursor;
}

function expectSameBody(record: JournalRecord | undefined, body: RecordBody): void {
  const { cursor: _cursor, at: _at, ...rest } = record ?? { cursor: 0, at: 0 };
  expect(rest).toEqual(body);
}

/** Cursor and content of the first packet of each key, as far as it is acknowledged. */
type Model = Map<string, { cursor: number; content: string }>;

function expectOutcome(
  model: Model,
  body: RecordBody,
  outcome: Outcome,
  read: (cursor: number) => JournalRecord | undefined,
) {
  const first = body.kind === 'packet' ? model.get(keyText(body)) : undefined;
  if (body.kind !== 'packet' || first === undefined) {
    expect(outcome.status).toBe('stored');
    if (outcome.status !== 'stored') return;
    expectSameBody(read(outcome.cursor), body);
    expect(read(outcome.cursor)?.at).toBe(outcome.at);
    if (body.kind === 'packet') {
      model.set(keyText(body), { cursor: outcome.cursor, content: contentKey(body.packet) });
    }
    return;
  }
  const same = contentKey(body.packet) === first.content;
  expect(outcome).toEqual({ status: same ? 'duplicate' : 'conflict', cursor: first.cursor });
}

describe('the recorder', () => {
  it('stores each acknowledged body exactly once and in order, and acknowledges nothing else', async () => {
    await fc.assert(
      fc.asyncProperty(someStart, fc.array(someStep, { maxLength: 60 }), async (start, steps) => {
        const memory = createMemoryJournal();
        memory.append(start.map((record, i) => ({ ...record, at: i + 1 })));
        const indexed = start.filter((_, i) => i % 2 === 0);
        const b = bench({
          journal: memory,
          seen: {
            ...NOTHING_SEEN,
            rangesOf: ({ monitor, boot }) =>
              indexed
                .filter((r) => r.packet.monitor === monitor && r.packet.boot === boot)
                .map((r) => ({ lo: r.packet.seq, hi: r.packet.seq })),
          },
        });
        const tally: Tally = { offered: 0, ended: 0, tooEarly: 0 };
        const answered = await play(b, steps, tally);
        const end: Step[] = [{ do: 'mend' }, { do: 'pass', ms: 2_000 }, { do: 'pass', ms: 2_000 }, { do: 'flush' }];
        answered.push(...(await play(b, end, tally)));
        await settled();

        expect(tally).toEqual({ offered: tally.offered, ended: tally.offered, tooEarly: 0 });
        expect(b.recorder.mode()).toBe('recording');
        expect(b.troubles.filter((trouble) => trouble.fatal)).toEqual([]);

        const records = b.journal.read(0, 100_000);
        expect(records.map((r) => r.cursor)).toEqual(records.map((_, i) => i + 1));
        for (const [i, record] of records.entries()) {
          if (i > 0) expect(record.at).toBeGreaterThan(records[i - 1]?.at ?? 0);
        }
        expect(b.committed).toEqual(records.slice(start.length));

        const read = (cursor: number) => records[cursor - 1];
        const model: Model = new Map(
          start.map((r, i) => [keyText(r), { cursor: i + 1, content: contentKey(r.packet) }]),
        );
        // Answers of one commit come in the order in which they were asked; those that need no commit may overtake.
        const inOrder = answered.toSorted((x, y) => firstStored(x) - firstStored(y));
        for (const { bodies, outcomes } of inOrder) {
          expect(outcomes).toHaveLength(bodies.length);
          for (const [i, body] of bodies.entries()) {
            const outcome = outcomes[i];
            if (outcome !== undefined) expectOutcome(model, body, outcome, read);
          }
          const cursors = outcomes.flatMap((o) => (o.status === 'stored' ? [o.cursor] : []));
          expect(cursors).toEqual(cursors.toSorted((x, y) => x - y));
        }

        // Nothing is there that was not acknowledged, but what the recorder itself has to say.
        const acknowledged = answered.flatMap((a) => a.outcomes);
        const count = (status: Outcome['status']) => acknowledged.filter((o) => o.status === status).length;
        const written = records.slice(start.length);
        expect(written.filter((r) => r.kind === 'packet' || r.kind === 'command')).toHaveLength(count('stored'));
        expect(written.filter((r) => r.kind === 'refused')).toHaveLength(count('conflict'));
        const events = written.flatMap((r) => (r.kind === 'event' ? [r.number] : []));
        expect(events).toEqual(events.toSorted((x, y) => x - y));
        expect(new Set(events).size).toBe(events.length);
      }),
      { numRuns: 400 },
    );
  });
});

/** Where an answer belongs in the order of commits: those that stored nothing go last, when the model knows all. */
function firstStored(answer: Answered): number {
  const stored = answer.outcomes.find((o) => o.status === 'stored');
  return stored?.status === 'stored' ? stored.cursor : Number.MAX_SAFE_INTEGER;
}
