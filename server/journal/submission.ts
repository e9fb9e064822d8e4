/** What one caller offered, on its way through a commit: its records, and what each of its bodies will be told. */
import type { JournalRecord, RecordBody } from '../../shared/incident/records.ts';
import type { PostTime } from '../../shared/incident/time.ts';
import type { StoredPacket } from '../../shared/protocol/stored-packet.ts';
import type { TimedRecord } from './journal.ts';
import type { KnownPackets, Original, Waiting } from './known-packets.ts';

/** What became of one body. `cursor` of a duplicate or a conflict is where the packet that came first is. */
export type Outcome =
  | { readonly status: 'stored'; readonly cursor: number; readonly at: PostTime }
  | { readonly status: 'duplicate' | 'conflict'; readonly cursor?: number };

/** Text of a body as it was sent, for the record of its refusal. */
export type Origin = { readonly rawOf: (index: number) => string };

type Place = { cursor: number | null };
type Part =
  | { readonly status: 'stored'; readonly record: TimedRecord; readonly place: Place }
  | { readonly status: 'duplicate'; readonly record: null; readonly original: Original }
  | {
      readonly status: 'conflict';
      readonly record: TimedRecord;
      readonly place: Place;
      readonly original: Original;
    };

const RAW_LENGTH = 2_048;

export class Submission {
  readonly bodies: readonly RecordBody[];
  /** One time a body, rising. */
  readonly times: readonly PostTime[];
  readonly derived: boolean;
  readonly #origin: Origin | undefined;
  readonly #answer: { resolve(outcomes: Outcome[]): void; reject(error: unknown): void } | null;
  #parts: Part[] = [];

  constructor(options: {
    bodies: readonly RecordBody[];
    times: readonly PostTime[];
    derived?: boolean;
    origin?: Origin | undefined;
    answer?: { resolve(outcomes: Outcome[]): void; reject(error: unknown): void };
  }) {
    this.bodies = options.bodies;
    this.times = options.times;
    this.derived = options.derived ?? false;
    this.#origin = options.origin;
    this.#answer = options.answer ?? null;
  }

  /** Judges every body anew: which are records, and which are known already. Holds new packets in `known`. */
  judge(known: KnownPackets): void {
    this.#parts = this.bodies.map((body, index) => this.#part(body, index, known));
  }

  /** All that was offered, with its times. */
  timed(): TimedRecord[] {
    return this.bodies.map((body, index) => ({ ...body, at: this.#timeOf(index) }));
  }

  /** Records to be written, in order. */
  records(): TimedRecord[] {
    return this.#parts.flatMap((part) => (part.record === null ? [] : [part.record]));
  }

  get recordCount(): number {
    let count = 0;
    for (const part of this.#parts) if (part.record !== null) count += 1;
    return count;
  }

  /** Whether it waits for nothing: each body is on disk already. */
  get isSettled(): boolean {
    return this.#parts.every((part) => part.status === 'duplicate' && part.original.onDisk);
  }

  /** Takes the places of its records from `stored`, beginning at `from`; answers how many it took. */
  place(stored: readonly JournalRecord[], from: number): number {
    let taken = 0;
    for (const part of this.#parts) {
      if (part.record === null) continue;
      part.place.cursor = stored[from + taken]?.cursor ?? null;
      taken += 1;
    }
    return taken;
  }

  resolve(): void {
    this.#answer?.resolve(this.#parts.map(outcomeOf));
  }

  reject(error: unknown): void {
    this.#answer?.reject(error);
  }

  #timeOf(index: number): PostTime {
    const at = this.times[index];
    if (at === undefined) throw new Error('a body without its time');
    return at;
  }

  #part(body: RecordBody, index: number, known: KnownPackets): Part {
    const at = this.#timeOf(index);
    if (body.kind !== 'packet') return { status: 'stored', record: { ...body, at }, place: { cursor: null } };
    const verdict = known.judge(body.packet);
    if (verdict.status === 'new') {
      const place: Waiting = { packet: body.packet, onDisk: false, cursor: null };
      known.hold(place);
      return { status: 'stored', record: { ...body, at }, place };
    }
    if (verdict.status === 'duplicate') return { status: 'duplicate', record: null, original: verdict.original };
    const { relay, packet } = body;
    const record: TimedRecord = {
      kind: 'refused',
      relay,
      monitor: packet.monitor,
      code: 'conflict',
      path: 'seq',
      message: conflictWords(packet),
      raw: (this.#origin?.rawOf(index) ?? '').slice(0, RAW_LENGTH),
      at,
    };
    return { status: 'conflict', record, place: { cursor: null }, original: verdict.original };
  }
}

function conflictWords(packet: StoredPacket): string {
  return `packet ${packet.seq} of boot ${packet.boot} came before with other content`;
}

function outcomeOf(part: Part): Outcome {
  if (part.status === 'stored') {
    if (part.place.cursor === null) throw new Error('answered before its commit');
    return { status: 'stored', cursor: part.place.cursor, at: part.record.at };
  }
  const { cursor } = part.original;
  return cursor === null ? { status: part.status } : { status: part.status, cursor };
}
