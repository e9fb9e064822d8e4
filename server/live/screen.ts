/** One screen's socket: whether it reads, and what it is owed when it did not. */
import type { WebSocket } from 'ws';
import type { Identity } from '../access/identity.ts';

/** Beyond this much unsent a screen is let wait. */
const HIGH_WATER_BYTES = 512 * 1024;
/** A screen that took nothing for this long is closed; it resumes by itself. */
const STUCK_MS = 30_000;
/** A screen that says that it sounds is believed for this long: one that fell asleep says nothing. */
const SOUNDS_FOR_MS = 15_000;

export type Owed = {
  readonly monitors: Set<string>;
  readonly alarms: Set<string>;
  head: boolean;
  skipped: number;
};

export class Screen {
  readonly identity: Identity;
  /** What it was given last: all records up to `cursor`, and events up to that number. */
  has = { cursor: 0, event: 0 };
  readonly #socket: WebSocket;
  readonly #steadyMs: () => number;
  #owed: Owed | null = null;
  #fullSince: number | null = null;
  #soundsSince: number | null = null;
  #drained: () => void = () => {};

  constructor(socket: WebSocket, identity: Identity, steadyMs: () => number) {
    this.#socket = socket;
    this.identity = identity;
    this.#steadyMs = steadyMs;
  }

  onDrained(act: () => void): void {
    this.#drained = act;
  }

  /** Reads as fast as it is given. While something is owed nothing new may overtake it. */
  isReady(): boolean {
    if (this.#socket.bufferedAmount < HIGH_WATER_BYTES) {
      this.#fullSince = null;
      return true;
    }
    this.#fullSince ??= this.#steadyMs();
    return false;
  }

  isStuck(): boolean {
    return this.#fullSince !== null && this.#steadyMs() - this.#fullSince > STUCK_MS;
  }

  give(frame: string): void {
    if (this.#socket.readyState !== this.#socket.OPEN) return;
    this.#socket.send(frame, (error) => {
      if (error === undefined && this.#owed !== null && this.isReady()) this.#drained();
    });
  }

  /** It said that it can be heard, or that it cannot. */
  tellSound(on: boolean): void {
    this.#soundsSince = on ? this.#steadyMs() : null;
  }

  /** It said lately that it can be heard. */
  sounds(): boolean {
    return this.#soundsSince !== null && this.#steadyMs() - this.#soundsSince <= SOUNDS_FOR_MS;
  }

  isOwed(): boolean {
    return this.#owed !== null;
  }

  /** Notes what changed while it did not read. */
  owe(batch: { monitors: ReadonlySet<string>; alarms: ReadonlySet<string>; head: boolean }): void {
    this.#owed ??= { monitors: new Set(), alarms: new Set(), head: false, skipped: 0 };
    const owed = this.#owed;
    for (const id of batch.monitors) owed.monitors.add(id);
    for (const id of batch.alarms) owed.alarms.add(id);
    owed.head ||= batch.head;
    owed.skipped += 1;
  }

  takeOwed(): Owed | null {
    const owed = this.#owed;
    this.#owed = null;
    return owed;
  }

  close(reason: string): void {
    if (this.#socket.readyState === this.#socket.OPEN) this.#socket.send(JSON.stringify({ type: 'gone', reason }));
    this.#socket.close(1001, reason.slice(0, 100));
  }
}
