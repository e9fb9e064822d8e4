/**
 * What the page knows: one signal a monitor, so that one packet redraws one row. Whole views take the place of
 * whole views; no reading is ever merged, so a screen cannot keep half of an old one.
 */
import { batch, type ReadonlySignal, type Signal, signal } from '@preact/signals';
import type { AlarmEvent, BoardEvent } from '../../shared/incident/events.ts';
import type { AlarmView, BoardHead, MonitorView } from '../../shared/protocol/board.ts';
import type { LiveFrame } from '../../shared/protocol/frames.ts';
import { inAnswerOrder } from './alarm-order.ts';
import { createBeforePaint } from './before-paint.ts';
import { createPostClock } from './post-clock.ts';
import { withTraces } from './traces.ts';

/**
 * `quiet`: no frame for 3 s, so what is seen may be old. `covered`: none for 5 s, so no value may be shown.
 * `gone`: the post itself said that it leaves, and why; nothing may be shown either.
 */
export type FeedPhase = 'connecting' | 'live' | 'quiet' | 'covered' | 'gone';
export type FeedState = {
  readonly phase: FeedPhase;
  /** performance.now() of the last frame; of the page's start before the first one. */
  readonly lastFrameAt: number;
  readonly reason?: string;
};

export type Store = {
  /** Ids of all monitors; changes only when the set changes. */
  readonly ids: ReadonlySignal<readonly string[]>;
  /** Moves on when it changes who is there, in which part, team or zone, or what they measure; not with values. */
  readonly roster: ReadonlySignal<number>;
  /** The signal of one monitor; undefined inside while nothing is known of it. The same signal at every call. */
  monitor(id: string): ReadonlySignal<MonitorView | undefined>;
  /** Danger before caution before notice, longest waiting first within. */
  readonly alarms: ReadonlySignal<readonly AlarmView[]>;
  readonly head: ReadonlySignal<BoardHead | null>;
  /** Last record that is drawn, for `seenCursor`. */
  readonly cursor: ReadonlySignal<number>;
  readonly epoch: ReadonlySignal<string | null>;
  readonly feed: ReadonlySignal<FeedState>;
  /** The post's wall clock now, ms since 1970, in whole seconds; 0 before the first frame. */
  readonly nowMs: ReadonlySignal<number>;
  /** Last 200, oldest first. */
  readonly events: ReadonlySignal<readonly (AlarmEvent | BoardEvent)[]>;
  /** Takes a frame; drawn at the next paint, or at once while the page is hidden. */
  apply(frame: LiveFrame): void;
  /** Draws what waits, moves `nowMs` on and judges how long the post has said nothing. */
  tick(): void;
  /** Newest cursor that was received, drawn or not: where to resume. */
  resumeFrom(): { readonly epoch: string; readonly cursor: number } | null;
};

export type StoreOptions = {
  /** Monotonic milliseconds. */
  readonly clock?: () => number;
  readonly hidden?: () => boolean;
  /** Calls back before the next paint. */
  readonly beforePaint?: (draw: () => void) => void;
};

/** Slightly under 3 s and 5 s: with a tick every 250 ms the page has said so when they are reached. */
export const QUIET_AFTER_MS = 2700;
export const COVER_AFTER_MS = 4700;
const EVENTS_KEPT = 200;

function isSamePlace(a: MonitorView, b: MonitorView): boolean {
  if (a.role !== b.role || a.team !== b.team || a.entrant !== b.entrant || a.zone !== b.zone) return false;
  const channels = Object.keys(a.readings);
  return channels.length === Object.keys(b.readings).length && channels.every((channel) => channel in b.readings);
}

/** A store that is empty and connecting. The options stand in for the browser in tests. */
export function createStore(options: StoreOptions = {}): Store {
  const clock = options.clock ?? (() => performance.now());
  const hidden = options.hidden ?? (() => document.hidden);
  const beforePaint = options.beforePaint ?? createBeforePaint();

  const byId = new Map<string, Signal<MonitorView | undefined>>();
  const ids = signal<readonly string[]>([]);
  const roster = signal(0);
  const alarms = signal<readonly AlarmView[]>([]);
  const head = signal<BoardHead | null>(null);
  const cursor = signal(0);
  const epoch = signal<string | null>(null);
  const events = signal<readonly (AlarmEvent | BoardEvent)[]>([]);
  const feed = signal<FeedState>({ phase: 'connecting', lastFrameAt: clock() });
  const nowMs = signal(0);
  const postClock = createPostClock(clock);
  let waiting: LiveFrame[] = [];
  let paintAsked = false;
  let lastFrameAt = clock();
  let received: { epoch: string; cursor: number } | null = null;

  function monitor(id: string): Signal<MonitorView | undefined> {
    let found = byId.get(id);
    if (!found) {
      found = signal<MonitorView | undefined>(undefined);
      byId.set(id, found);
    }
    return found;
  }

  function putMonitors(views: readonly MonitorView[]): void {
    const added: string[] = [];
    for (const view of views) {
      const known = monitor(view.id);
      const before = known.peek();
      if (!before && !ids.value.includes(view.id) && !added.includes(view.id)) added.push(view.id);
      if (!before || !isSamePlace(view, before)) roster.value += 1;
      known.value = withTraces(view, before);
    }
    if (added.length > 0) ids.value = [...ids.value, ...added];
  }

  function draw(frame: LiveFrame): void {
    switch (frame.type) {
      case 'snapshot': {
        const { monitors, alarms: listed, epoch: _epoch, cursor: _cursor, at: _at, ...rest } = frame.board;
        if (epoch.value !== frame.epoch) events.value = [];
        epoch.value = frame.epoch;
        const kept = new Set(monitors.map((view) => view.id));
        for (const [id, old] of byId) if (!kept.has(id)) old.value = undefined;
        roster.value += 1;
        if (ids.value.some((id) => !kept.has(id))) ids.value = ids.value.filter((id) => kept.has(id));
        putMonitors(monitors);
        alarms.value = inAnswerOrder(listed);
        head.value = rest;
        break;
      }
      case 'delta': {
        putMonitors(frame.monitors);
        if (frame.alarms.length > 0 || frame.ended.length > 0) {
          const changed = new Set([...frame.alarms.map((alarm) => alarm.id), ...frame.ended]);
          const stay = alarms.value.filter((alarm) => !changed.has(alarm.id));
          const ended = new Set(frame.ended);
          alarms.value = inAnswerOrder([...stay, ...frame.alarms.filter((alarm) => !ended.has(alarm.id))]);
        }
        if (frame.head) head.value = frame.head;
        break;
      }
      case 'event':
        events.value = [...events.value, frame.event].slice(-EVENTS_KEPT);
        break;
      case 'heartbeat':
        break;
      case 'gone':
        return;
    }
    if (frame.type === 'snapshot' || frame.cursor > cursor.value) cursor.value = frame.cursor;
  }

  function drawWaiting(): void {
    if (waiting.length === 0) return;
    const frames = waiting;
    waiting = [];
    batch(() => {
      for (const frame of frames) draw(frame);
    });
  }

  function moveClock(): void {
    const now = postClock.now();
    if (now !== null) nowMs.value = Math.floor(now / 1000) * 1000;
  }

  function judge(): void {
    const silentMs = clock() - lastFrameAt;
    const { phase } = feed.value;
    if (phase === 'gone') return;
    const next: FeedPhase = silentMs >= COVER_AFTER_MS ? 'covered' : silentMs >= QUIET_AFTER_MS ? 'quiet' : 'live';
    if (phase === 'connecting') return;
    if (next !== phase || lastFrameAt !== feed.value.lastFrameAt) feed.value = { phase: next, lastFrameAt };
  }

  function apply(frame: LiveFrame): void {
    lastFrameAt = clock();
    if (frame.type === 'gone') {
      drawWaiting();
      feed.value = { phase: 'gone', lastFrameAt, reason: frame.reason };
      return;
    }
    if (frame.type === 'snapshot') received = { epoch: frame.epoch, cursor: frame.cursor };
    else if (received && frame.cursor > received.cursor) received = { ...received, cursor: frame.cursor };
    postClock.hear(Date.parse(frame.at));
    waiting.push(frame);
    const wasCovered = feed.value.phase !== 'live' && feed.value.phase !== 'quiet';
    // A page that shows no values must never uncover the old ones before the new ones are in place.
    if (hidden() || wasCovered) drawWaiting();
    else if (!paintAsked) {
      paintAsked = true;
      beforePaint(() => {
        paintAsked = false;
        batch(() => {
          drawWaiting();
          moveClock();
        });
      });
    }
    // A resumed feed is live with any frame; a first one only with the whole board.
    if (feed.value.phase !== 'live' && head.value !== null) feed.value = { phase: 'live', lastFrameAt };
    if (nowMs.value === 0) moveClock();
  }

  function tick(): void {
    batch(() => {
      drawWaiting();
      moveClock();
      judge();
    });
  }

  return {
    ids,
    roster,
    monitor,
    alarms,
    head,
    cursor,
    epoch,
    feed,
    nowMs,
    events,
    apply,
    tick,
    resumeFrom: () => received,
  };
}
