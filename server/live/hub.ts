/**
 * Sends every change to every screen. Changes are gathered for a few milliseconds and encoded once for all. A
 * screen that reads slowly holds no queue of ours: its changes wait as names of what to send, and it gets the newest
 * state of them when it reads again. Changes of alarms are never passed over: the events it missed come first, by
 * number, or it is given a snapshot when they are not kept any more.
 *
 * The cursor of any frame is one that a screen may resume from. So events go out before the delta that holds their
 * records, and carry the cursor of the delta before it: a screen that is cut off in between gets all of it again.
 */
import type { Changes } from '../../shared/incident/changes.ts';
import type { FoldEvent } from '../../shared/incident/events.ts';
import { figuresOf } from '../../shared/incident/figures.ts';
import { createFrames, type FrameSource } from './frames.ts';
import type { Screen } from './screen.ts';

const GATHER_MS = 20;
const KEPT_EVENTS = 5_000;
const BEAT_MS = 1_000;
/** A sparkline is sent anew this often; between, the value itself says what moved. */
const CURVE_EVERY_US = 5_000_000;

export type NumberedEvent = { readonly number: number; readonly cursor: number; readonly event: FoldEvent };

export type Hub = {
  /** Takes a screen in: the missed part after `cursor` when that can be told, else a snapshot. */
  join(screen: Screen, resume: { epoch: string; cursor: number } | null): void;
  leave(screen: Screen): void;
  /** A screen says whether it can be heard; all are told when the number of those changes. */
  tellSound(screen: Screen, on: boolean): void;
  /** Closes every screen with the reason. */
  closeAll(reason: string): void;
  closeWhere(isGone: (screen: Screen) => boolean, reason: string): void;
  screens(): number;
  stop(): void;
};

export function createHub(source: FrameSource): Hub {
  const screens = new Set<Screen>();
  /** Screens that can be heard, as last counted. */
  let sounding = 0;
  /** Alarm figures as last told. */
  let figures = JSON.stringify(figuresOf(source.state()));
  const frames = createFrames(source, () => sounding);
  let epoch = source.epoch();
  let events: NumberedEvent[] = [];
  /** Cursor at which each was last changed, to tell a resuming screen what it missed. */
  const changedAt = { monitors: new Map<string, number>(), alarms: new Map<string, number>() };
  const curveSentAt = new Map<string, number>();
  let gathered = emptyGathered();
  let timer: NodeJS.Timeout | null = null;
  /** All changes up to this cursor went out to whoever reads. */
  let sent = source.state().cursor;

  function emptyGathered() {
    return { monitors: new Set<string>(), alarms: new Set<string>(), head: false, events: [] as NumberedEvent[] };
  }

  const stopListening = source.listen((changes: Changes, first: number) => {
    if (source.epoch() !== epoch) startAnew();
    const { cursor } = source.state();
    for (const id of changes.monitors) {
      gathered.monitors.add(id);
      changedAt.monitors.set(id, cursor);
    }
    for (const id of changes.alarms) {
      gathered.alarms.add(id);
      changedAt.alarms.set(id, cursor);
    }
    gathered.head ||= changes.head;
    for (const [i, event] of changes.events.entries()) gathered.events.push({ number: first + i, cursor, event });
    if (changes.events.some((event) => event.type === 'alarm')) send();
    else timer ??= setTimeout(send, GATHER_MS);
  });

  function countSounding(): void {
    let count = 0;
    for (const screen of screens) if (screen.sounds()) count += 1;
    if (count === sounding) return;
    sounding = count;
    gathered.head = true;
    if (screens.size > 0) timer ??= setTimeout(send, GATHER_MS);
  }

  /** Another journal: nothing of the old one can be resumed. */
  function startAnew(): void {
    epoch = source.epoch();
    events = [];
    gathered = emptyGathered();
    changedAt.monitors.clear();
    changedAt.alarms.clear();
    curveSentAt.clear();
    sent = source.state().cursor;
    const snapshot = frames.snapshot();
    for (const screen of screens) giveSnapshot(screen, snapshot);
  }

  function giveSnapshot(screen: Screen, snapshot = frames.snapshot()): void {
    const { cursor, events: told } = source.state();
    screen.takeOwed();
    screen.give(snapshot);
    screen.has = { cursor, event: told };
  }

  function send(): void {
    if (timer !== null) clearTimeout(timer);
    timer = null;
    const batch = gathered;
    const before = sent;
    sent = source.state().cursor;
    gathered = emptyGathered();
    events.push(...batch.events);
    if (events.length > KEPT_EVENTS) forgetOld();
    const touched = batch.monitors.size + batch.alarms.size > 0 || batch.head;
    if (screens.size === 0 || (!touched && batch.events.length === 0)) return;
    const delta = frames.delta(batch, dueCurves(batch.monitors));
    const told = batch.events.map((event) => frames.event(event, before));
    for (const screen of screens) {
      if (!screen.isReady() || screen.isOwed()) {
        screen.owe(batch);
        if (screen.isReady()) settle(screen);
        continue;
      }
      for (const frame of told) screen.give(frame);
      screen.give(delta);
      screen.has = { cursor: sent, event: events.at(-1)?.number ?? screen.has.event };
    }
  }

  /** Nobody can resume from before the oldest event that is kept. */
  function forgetOld(): void {
    events = events.slice(-KEPT_EVENTS);
    const oldest = events[0]?.cursor ?? 0;
    if (changedAt.alarms.size < 2 * KEPT_EVENTS) return;
    for (const [id, at] of changedAt.alarms) if (at < oldest) changedAt.alarms.delete(id);
  }

  function dueCurves(monitors: ReadonlySet<string>): Set<string> {
    const { now } = source.state();
    const due = new Set<string>();
    for (const id of monitors) {
      if (now - (curveSentAt.get(id) ?? Number.NEGATIVE_INFINITY) < CURVE_EVERY_US) continue;
      due.add(id);
      curveSentAt.set(id, now);
    }
    return due;
  }

  /** Gives what was owed: the events it did not get, and the newest state of all that changed. */
  function settle(screen: Screen): void {
    const owed = screen.takeOwed();
    if (owed === null) return;
    const { has } = screen;
    const missed = events.filter((event) => event.number > has.event);
    const first = missed[0]?.number ?? has.event + 1;
    if (first !== has.event + 1) {
      giveSnapshot(screen);
      return;
    }
    for (const event of missed) screen.give(frames.event(event, has.cursor));
    screen.give(frames.delta(owed, owed.monitors, owed.skipped));
    screen.has = { cursor: source.state().cursor, event: missed.at(-1)?.number ?? has.event };
  }

  /** Figures fall by themselves as time goes on: nothing is folded that would say so. */
  function followFigures(): void {
    const now = JSON.stringify(figuresOf(source.state()));
    if (now === figures) return;
    figures = now;
    gathered.head = true;
  }

  const beat = setInterval(() => {
    countSounding(); // one that fell asleep does not say so
    followFigures();
    send(); // a heartbeat's cursor says that all up to it was sent
    const frame = frames.heartbeat();
    for (const screen of screens) {
      if (screen.isReady()) {
        settle(screen);
        screen.give(frame);
      } else if (screen.isStuck()) {
        screen.close('too slow: this screen did not read for half a minute');
        screens.delete(screen);
      }
    }
  }, BEAT_MS);

  function missedSince(cursor: number) {
    const monitors = new Set<string>();
    const alarms = new Set<string>();
    for (const [id, at] of changedAt.monitors) if (at >= cursor) monitors.add(id);
    for (const [id, at] of changedAt.alarms) if (at >= cursor) alarms.add(id);
    return { monitors, alarms, head: true, events: events.filter((event) => event.cursor >= cursor) };
  }

  function canResume(resume: { epoch: string; cursor: number }): boolean {
    if (resume.epoch !== epoch || resume.cursor > source.state().cursor) return false;
    const oldest = events[0];
    return events.length < KEPT_EVENTS || (oldest !== undefined && oldest.cursor < resume.cursor);
  }

  return {
    join(screen, resume) {
      send(); // what others are about to get is in the state already: a newcomer must not get it twice
      screens.add(screen);
      screen.onDrained(() => settle(screen));
      if (resume === null || !canResume(resume)) {
        giveSnapshot(screen);
        return;
      }
      const missed = missedSince(resume.cursor);
      for (const event of missed.events) screen.give(frames.event(event, resume.cursor));
      screen.give(frames.delta(missed, missed.monitors));
      screen.has = { cursor: source.state().cursor, event: source.state().events };
    },
    leave(screen) {
      screens.delete(screen);
      countSounding();
    },
    tellSound(screen, on) {
      screen.tellSound(on);
      if (screens.has(screen)) countSounding();
    },
    closeAll(reason) {
      for (const screen of screens) screen.close(reason);
      screens.clear();
    },
    closeWhere(isGone, reason) {
      for (const screen of screens) {
        if (!isGone(screen)) continue;
        screen.close(reason);
        screens.delete(screen);
      }
    },
    screens: () => screens.size,
    stop() {
      stopListening();
      clearInterval(beat);
      if (timer !== null) clearTimeout(timer);
    },
  };
}
