/** Tells the post whether this screen can be heard, so that every screen can say when none can. */
import type { ScreenMessage } from '../../shared/protocol/frames.ts';

/** The post believes it for 15 s. */
const EVERY_MS = 4000;

export type TellingSocket = { readonly readyState: number; send(text: string): void };

export type Teller = {
  /** Says it on a socket that has not heard it yet, when it changed, and now and again while it is on. */
  tell(socket: TellingSocket | null, on: boolean, nowMs: number): void;
};

export function createTeller(): Teller {
  let last: { socket: unknown; on: boolean; atMs: number } | null = null;
  return {
    tell(socket, on, nowMs) {
      if (socket === null || socket.readyState !== 1) return;
      const isFresh = last?.socket === socket && last.on === on && (!on || nowMs - last.atMs < EVERY_MS);
      // A post takes a new socket for one that cannot be heard.
      if (isFresh || (last?.socket !== socket && !on)) return;
      const message: ScreenMessage = { type: 'sound', on };
      socket.send(JSON.stringify(message));
      last = { socket, on, atMs: nowMs };
    },
  };
}
