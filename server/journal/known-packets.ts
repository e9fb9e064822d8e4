/**
 * Which packets the post has already, answered from memory for nearly every packet: per source the numbers that
 * are stored, built from the index of all files when the source is first heard. Only a packet that seems to be
 * known costs a query, to compare its content. The unique index of the file stays the last word.
 */
import type { StoredPacket } from '../../shared/protocol/stored-packet.ts';
import { contentKey } from './content-key.ts';
import type { PacketKey } from './journal.ts';
import { type Range, RangeSet } from './range-set.ts';

/** Who numbers packets: `seq` counts within it. */
export type Source = Omit<PacketKey, 'seq'>;

/** The index of packets over all files; see seen-index.ts. */
export interface SeenLookup {
  /** Numbers of `source` that any file holds. */
  rangesOf(source: Source): readonly Range[];
  /** Null: in no file. A null packet: in a file that cannot be read now. */
  find(key: PacketKey): { readonly packet: StoredPacket | null } | null;
}

/** A packet that is waiting for its commit; its cursor comes with it. */
export type Waiting = { readonly packet: StoredPacket; readonly onDisk: false; cursor: number | null };
/** Where the packet that came first is; null while it waits, or where it is in another file. */
export type Original = { readonly cursor: number | null; readonly onDisk: boolean };
export type Verdict =
  | { readonly status: 'new' }
  | { readonly status: 'duplicate' | 'conflict'; readonly original: Original };

type SourceState = {
  /** Null where a source numbers so wildly that its ranges are not worth keeping: it is looked up instead. */
  stored: RangeSet | null;
  waiting: Map<number, Waiting>;
  watched: RangeSet | null;
  used: boolean;
};
export type KnownPacketsOptions = {
  readonly find: (key: PacketKey) => { cursor: number; packet: StoredPacket } | null;
  readonly seen: SeenLookup;
  /** Told when the index cannot be read. Recording goes on: the file itself refuses what it has. */
  readonly onSeenTrouble?: ((error: unknown) => void) | undefined;
  readonly maxSources?: number | undefined;
  readonly maxRanges?: number | undefined;
};

const NEW: Verdict = { status: 'new' };

export class KnownPackets {
  readonly #sources = new Map<string, SourceState>();
  readonly #options: KnownPacketsOptions;
  readonly #maxSources: number;
  readonly #maxRanges: number;

  constructor(options: KnownPacketsOptions) {
    this.#options = options;
    this.#maxSources = options.maxSources ?? 10_000;
    this.#maxRanges = options.maxRanges ?? 4_096;
  }

  judge(packet: StoredPacket): Verdict {
    const state = this.#source(packet);
    const waiting = state.waiting.get(packet.seq);
    if (waiting !== undefined) return compare(packet, waiting.packet, waiting);
    if (state.stored !== null && !state.stored.has(packet.seq)) return NEW;
    const key = keyOf(packet);
    const here = this.#options.find(key);
    if (here !== null) return compare(packet, here.packet, { cursor: here.cursor, onDisk: true });
    const elsewhere = this.#ask(() => this.#options.seen.find(key), null);
    return elsewhere === null ? NEW : compare(packet, elsewhere.packet, { cursor: null, onDisk: true });
  }

  /** From now on the packet counts as the first of its key, until `settle` or `forgetWaiting`. */
  hold(waiting: Waiting): void {
    this.#source(waiting.packet).waiting.set(waiting.packet.seq, waiting);
  }

  /** The packet is on disk. */
  settle(packet: StoredPacket): void {
    const state = this.#source(packet);
    state.waiting.delete(packet.seq);
    this.#store(state, packet.seq);
  }

  /** Nothing is waiting any more, nor watched: a commit failed, or recording begins again. */
  forgetWaiting(): void {
    for (const state of this.#sources.values()) {
      state.waiting.clear();
      state.watched = null;
    }
  }

  /** Asks the file for each of `packets`. True when it has one that was taken for new. */
  recheck(packets: Iterable<StoredPacket>): boolean {
    let found = false;
    for (const packet of packets) {
      if (this.#options.find(keyOf(packet)) === null) continue;
      this.#store(this.#source(packet), packet.seq);
      found = true;
    }
    return found;
  }

  /** While nothing is recorded: whether this packet is heard for the first time. Remembers it in memory alone. */
  watch(packet: StoredPacket): boolean {
    const state = this.#source(packet);
    state.watched ??= new RangeSet();
    if (state.stored?.has(packet.seq) || state.watched.has(packet.seq)) return false;
    state.watched.add(packet.seq);
    return true;
  }

  #store(state: SourceState, seq: number): void {
    if (state.stored === null) return;
    state.stored.add(seq);
    if (state.stored.size > this.#maxRanges) state.stored = null;
  }

  #source(packet: StoredPacket): SourceState {
    // None of the three can contain a control character, so the joined text is unique.
    const key = `${packet.monitor}\n${packet.via ?? ''}\n${packet.boot}`;
    const known = this.#sources.get(key);
    if (known !== undefined) {
      known.used = true;
      return known;
    }
    if (this.#sources.size >= this.#maxSources) this.#evict();
    const state: SourceState = { stored: new RangeSet(), waiting: new Map(), watched: null, used: true };
    const ranges = this.#ask(() => this.#options.seen.rangesOf(sourceOf(packet)), []);
    if (ranges.length > this.#maxRanges) state.stored = null;
    else for (const { lo, hi } of ranges) state.stored?.add(lo, hi);
    this.#sources.set(key, state);
    return state;
  }

  /** Second chance: the first source that was not heard since the last round goes. */
  #evict(): void {
    let left = 2 * this.#sources.size; // after two rounds all of them have packets waiting, and the bound gives way
    for (const [key, state] of this.#sources) {
      if (left-- === 0) return;
      this.#sources.delete(key);
      if (!state.used && state.waiting.size === 0) return;
      state.used = false;
      this.#sources.set(key, state);
    }
  }

  #ask<T>(question: () => T, otherwise: T): T {
    try {
      return question();
    } catch (error) {
      this.#options.onSeenTrouble?.(error);
      return otherwise;
    }
  }
}

function compare(packet: StoredPacket, first: StoredPacket | null, original: Original): Verdict {
  // Where the first cannot be read, the key has to do.
  const same = first === null || contentKey(packet) === contentKey(first);
  return { status: same ? 'duplicate' : 'conflict', original };
}

export function sourceOf(packet: StoredPacket): Source {
  return { monitor: packet.monitor, via: packet.via, boot: packet.boot };
}

export function keyOf(packet: StoredPacket): PacketKey {
  return { ...sourceOf(packet), seq: packet.seq };
}
