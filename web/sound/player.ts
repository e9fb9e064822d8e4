/**
 * Sound of this screen: off until a person switches it on, and on only while the browser really plays. What is
 * remembered is a wish alone, because a browser needs a press after each load before it lets a page be heard.
 */
import { type ReadonlySignal, signal } from '@preact/signals';
import type { AlarmEvent, BoardEvent } from '../../shared/incident/events.ts';
import type { AlarmView } from '../../shared/protocol/board.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';
import { type Calls, createCalls, rankOf } from './calls.ts';
import { PATTERNS } from './patterns.ts';
import { type Playing, playBurst } from './voice.ts';

/**
 * `press-needed`: it was on before this page was loaded. `stopped`: it was switched on, but the browser does not play.
 */
export type SoundState = 'off' | 'press-needed' | 'stopped' | 'on';
type Priority = AlarmView['priority'];

/** What is kept on this screen between loads. */
export type SoundMemory = {
  wish(): boolean;
  setWish(on: boolean): void;
  volume(): number;
  setVolume(step: number): void;
};

export type PlayerOptions = {
  readonly memory: SoundMemory;
  /** Throws where there is no sound. */
  readonly makeContext: () => AudioContext;
  /** Monotonic ms. */
  readonly clock: () => number;
};

export type Player = {
  readonly state: ReadonlySignal<SoundState>;
  /** 1 to `LOUDEST`; never silent, which would be off without being called so. */
  readonly volume: ReadonlySignal<number>;
  /** Listens to the board; returns how to stop. */
  follow(store: Store): () => void;
  /** Must be called from a person's press. What waits is heard at once, else a notice: so that it is known to work. */
  turnOn(): void;
  turnOff(): void;
  setVolume(step: number): void;
  /** Plays a burst once, to be known again. */
  tryOut(priority: Priority): void;
  /** A few times a second, from a timer that is not slowed down in the background. */
  tick(): void;
};

export const LOUDEST = 10;
/** A clock of the sound that stood still for this long means that nothing is heard, whatever the browser says. */
const STUCK_AFTER_MS = 2000;
const LEAST_QUIET_S = 2.5;

export function createPlayer({ memory, makeContext, clock }: PlayerOptions): Player {
  const state = signal<SoundState>(memory.wish() ? 'press-needed' : 'off');
  const volume = signal(memory.volume());
  let context: AudioContext | null = null;
  let armed = false;
  let calls: Calls = createCalls();
  let followed: Store | null = null;
  let playing: Playing | null = null;
  let isTryOut = false;
  let confirmOwed = false;
  let moved = { soundS: -1, atMs: 0 };

  const covered = () => {
    const phase = followed?.feed.peek().phase;
    // Before the first frame nothing was ever shown that could be out of date.
    return phase !== undefined && phase !== 'connecting' && isCovered(phase);
  };

  function judge(): void {
    if (!armed) return;
    const now = clock();
    if (context === null || context.state !== 'running') {
      moved = { soundS: -1, atMs: now };
      state.value = 'stopped';
      return;
    }
    if (context.currentTime !== moved.soundS) moved = { soundS: context.currentTime, atMs: now };
    state.value = now - moved.atMs > STUCK_AFTER_MS ? 'stopped' : 'on';
  }

  function play(name: Priority, tryOut: boolean): void {
    if (context === null) return;
    playing?.stop();
    const loudness = (volume.value / LOUDEST) ** 2; // even steps to the ear
    playing = playBurst(context, name, loudness);
    isTryOut = tryOut;
  }

  /** A higher one cuts in at once; the same or a lower one waits until it can be told apart. */
  function mayBegin(next: Priority, at: number): boolean {
    if (playing === null || isTryOut || playing.name === 'evacuation') return true;
    const ranks = rankOf(next) - rankOf(playing.name);
    if (ranks < 0) return true;
    const quietS = ranks === 0 ? PATTERNS[next].quietAfterMs / 1000 : LEAST_QUIET_S;
    return at >= playing.endsAt + quietS;
  }

  function sound(): void {
    if (context === null || state.value !== 'on') return;
    const at = context.currentTime;
    const unwanted = playing !== null && !isTryOut && playing.name !== 'evacuation' && !calls.isWanted(playing.name);
    if (playing !== null && unwanted && at < playing.endsAt) {
      playing.stop(); // answered
      playing = null;
    }
    const next = calls.next();
    if (next !== null) {
      confirmOwed = false;
      if (!mayBegin(next, at)) return;
      calls.took(next);
      play(next, false);
    } else if (confirmOwed) {
      confirmOwed = false;
      play('notice', true);
    }
  }

  function tick(): void {
    if (!armed) return;
    // A sleep of the machine or a telephone call suspends it; only the browser can refuse to go on.
    if (context !== null && context.state !== 'running' && context.state !== 'closed') context.resume().catch(() => {});
    judge();
    calls.tick(clock(), covered());
    sound();
  }

  function openContext(): void {
    if (context !== null && context.state !== 'closed') return;
    try {
      context = makeContext();
      context.onstatechange = tick;
    } catch {
      context = null; // shown as stopped
    }
  }

  function turnOn(): void {
    if (state.value === 'stopped') {
      // The one that does not play may never do: a press deserves a new one.
      context?.close().catch(() => {});
      context = null;
    }
    armed = true;
    memory.setWish(true);
    openContext();
    calls = createCalls();
    if (followed !== null) calls.see(followed.alarms.peek(), clock());
    confirmOwed = true;
    moved = { soundS: -1, atMs: clock() };
    tick();
  }

  function turnOff(): void {
    armed = false;
    memory.setWish(false);
    playing?.stop();
    playing = null;
    confirmOwed = false;
    context?.suspend().catch(() => {});
    state.value = 'off';
  }

  function follow(store: Store): () => void {
    followed = store;
    let last: AlarmEvent | BoardEvent | undefined = store.events.peek().at(-1);
    const stopAlarms = store.alarms.subscribe((alarms) => {
      if (!armed) return;
      calls.see(alarms, clock());
      sound();
    });
    const stopEvents = store.events.subscribe((events) => {
      const fresh = last === undefined ? events : events.slice(events.lastIndexOf(last) + 1);
      last = events.at(-1);
      if (!armed || fresh.length === 0) return;
      for (const event of fresh) calls.hear(event, clock());
      sound();
    });
    return () => {
      stopAlarms();
      stopEvents();
      followed = null;
    };
  }

  return {
    state,
    volume,
    follow,
    turnOn,
    turnOff,
    setVolume(step) {
      volume.value = Math.min(LOUDEST, Math.max(1, Math.round(step)));
      memory.setVolume(volume.value);
    },
    tryOut(priority) {
      if (state.value === 'on') play(priority, true);
    },
    tick,
  };
}
