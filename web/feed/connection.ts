/**
 * Holds the live socket: opens it, reads it, opens it again where it left off. A page that hears nothing says so by
 * itself (see store.tick); it needs no reload to come back.
 */
import type { Player } from '../sound/player.ts';
import { createTeller } from '../sound/tell-post.ts';
import { readFrame } from './read-frame.ts';
import { nextWaitMs } from './retry.ts';
import type { Store } from './store.ts';

/** A socket that says nothing for this long is dropped and opened anew: half-open connections never end by themselves. */
const GIVE_UP_MS = 6000;
/** A connection that held this long was a good one; one that fails again at once must not be tried at full speed. */
const STEADY_MS = 5000;
/** Stands in for jitter where crypto is all the randomness there is. */
function randomShare(): number {
  return (crypto.getRandomValues(new Uint32Array(1))[0] ?? 0) / 2 ** 32;
}

export type Connection = { close(): void };

/**
 * Connects `store` to the post until `close` is called.
 * `onFailed` is asked after each try that did not open; it resolves to false where trying on is of no use (no login).
 * `sound` gets the same steady beat, and the post is told whether it can be heard.
 */
export function connect(
  store: Store,
  onFailed: () => Promise<boolean>,
  sound: Pick<Player, 'state' | 'tick'>,
): Connection {
  const teller = createTeller();
  let socket: WebSocket | null = null;
  let tries = 0;
  let heardAt = performance.now();
  let timer: number | undefined;
  let closed = false;
  let fresh = false;

  function open(): void {
    timer = undefined;
    if (closed) return;
    const at = fresh ? null : store.resumeFrom();
    const query = at ? `?epoch=${encodeURIComponent(at.epoch)}&cursor=${at.cursor}` : '';
    const scheme = location.protocol === 'https:' ? 'wss' : 'ws';
    const mine = new WebSocket(`${scheme}://${location.host}/api/v1/live${query}`);
    socket = mine;
    heardAt = performance.now();
    const openedAt = heardAt;
    let opened = false;
    mine.onopen = () => {
      opened = true;
    };
    mine.onmessage = (message) => {
      if (mine !== socket) return;
      const read = readFrame(String(message.data));
      if (!read.ok) {
        // The page no longer knows what it missed: ask for the whole board again.
        console.warn('live feed:', read.message);
        fresh = true;
        mine.close();
        return;
      }
      fresh = false;
      heardAt = performance.now();
      if (heardAt - openedAt > STEADY_MS) tries = 0;
      store.apply(read.frame);
    };
    mine.onclose = () => {
      if (mine !== socket) return;
      socket = null;
      void again(opened);
    };
  }

  async function again(wasOpen: boolean): Promise<void> {
    if (closed) return;
    const goOn = wasOpen || (await onFailed());
    if (closed || !goOn) return;
    timer = window.setTimeout(open, nextWaitMs(tries, randomShare()));
    tries += 1;
  }

  function tick(): void {
    store.tick();
    sound.tick();
    teller.tell(socket, sound.state.peek() === 'on', performance.now());
    if (socket && performance.now() - heardAt > GIVE_UP_MS) {
      const dead = socket;
      socket = null;
      dead.onclose = null;
      dead.close();
      void again(false);
    }
  }

  const ticker = new Worker(new URL('./ticker.worker.ts', import.meta.url), { type: 'module' });
  ticker.onmessage = tick;
  // Coming back to the page, from sleep or to the network: judge at once, and do not wait out a long pause.
  function wake(): void {
    tick();
    if (!socket && timer !== undefined) {
      clearTimeout(timer);
      open();
    }
  }
  document.addEventListener('visibilitychange', wake);
  window.addEventListener('online', wake);
  open();

  return {
    close() {
      closed = true;
      clearTimeout(timer);
      ticker.terminate();
      document.removeEventListener('visibilitychange', wake);
      window.removeEventListener('online', wake);
      socket?.close();
    },
  };
}
