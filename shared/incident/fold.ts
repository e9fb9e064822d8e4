/**
 * fold(state, record) and advance(state, to): the only two ways in which the state changes. Both take the state
 * over and change it in place (a copy a packet would cost more than all rules together); what they do depends on
 * nothing but their arguments. Deadlines at or before a record's time fire before it, stamped with their own
 * time, so that a live run and a replay of its journal derive the same events in the same order.
 */
import { tellCarried } from './alarms.ts';
import { tellBoard } from './board-events.ts';
import { type Changes, createChanges } from './changes.ts';
import { type Deadline, nextDue, takeDue } from './deadlines.ts';
import { endFlood } from './figures.ts';
import { foldCommand } from './fold-command.ts';
import { exposureDue } from './fold-exposure.ts';
import { foldPacket, foldRefused } from './fold-packet.ts';
import { endOffDelay, endOnDelay } from './levels.ts';
import { stillnessGrew } from './motion.ts';
import { alarmDue, reviewTest } from './put-aside.ts';
import type { JournalRecord } from './records.ts';
import { shiftOffsets } from './relay-clock.ts';
import { relayBackDue } from './relay-lost.ts';
import type { IncidentState } from './state.ts';
import { adoptState, decodeState } from './state-codec.ts';
import { type PostTime, SECOND } from './time.ts';
import { endUnwatched, markStale, silenceGrew } from './watch.ts';

const MOST_NOTICES = 20;

/** Folds the next record. Its post time must be after `state.now`'s last record, as the journal guarantees. */
export function fold(state: IncidentState, record: JournalRecord, changes: Changes = createChanges()): Changes {
  if (record.kind === 'gap') foldGap(state, changes, record);
  else {
    advance(state, record.at, changes);
    state.cursor = record.cursor;
    foldAt(state, changes, record);
  }
  return changes;
}

/** Fires the deadlines up to `to`, in order, each at its own time. Splitting it anywhere changes nothing. */
export function advance(state: IncidentState, to: PostTime, changes: Changes = createChanges()): Changes {
  for (let due = takeDue(state.deadlines, to); due !== null; due = takeDue(state.deadlines, to)) {
    if (due.at > state.now) state.now = due.at;
    fire(state, changes, due, false);
  }
  if (to > state.now) state.now = to;
  return changes;
}

/** Time of the next thing that may happen by itself. */
export function nextDeadline(state: IncidentState): PostTime | null {
  return nextDue(state.deadlines);
}

function fire(state: IncidentState, changes: Changes, deadline: Deadline, whileDown: boolean): void {
  switch (deadline.kind) {
    case 'sound-again':
    case 'escalate':
    case 'shelf-end':
      alarmDue(state, changes, deadline, whileDown);
      return;
    case 'relay-back':
      relayBackDue(state, changes, deadline.of ?? '');
      return;
    case 'flood-end':
      endFlood(state, changes);
      return;
    case 'exposure':
      exposureDue(state, changes, deadline.of ?? '');
      return;
  }
  const monitor = state.monitors.get(deadline.monitor);
  if (monitor === undefined) return;
  changes.monitors.add(monitor.id);
  switch (deadline.kind) {
    case 'stale':
    case 'lost':
      silenceGrew(state, changes, monitor, deadline.kind, whileDown);
      break;
    case 'still-pre':
    case 'still':
      stillnessGrew(state, changes, monitor, deadline, whileDown);
      break;
    case 'watch-off':
      endUnwatched(state, changes, monitor);
      break;
    case 'point-off':
      endOffDelay(state, changes, monitor, deadline);
      break;
    case 'point-on':
      endOnDelay(state, changes, monitor, deadline);
      break;
    case 'test-end':
      reviewTest(state, changes, monitor);
      break;
  }
}

function foldAt(state: IncidentState, changes: Changes, record: Exclude<JournalRecord, { kind: 'gap' }>): void {
  switch (record.kind) {
    case 'packet':
      foldPacket(state, changes, record.relay, record.packet);
      break;
    case 'refused':
      foldRefused(state, changes, record);
      break;
    case 'command':
      foldCommand(state, changes, record);
      break;
    case 'clock':
      shiftOffsets(state, record.wallOffsetAfterMs - record.wallOffsetBeforeMs);
      state.wallOffsetMs = record.wallOffsetAfterMs;
      notice(
        state,
        changes,
        `the post's wall clock was set ${stepWords(record.wallOffsetAfterMs - record.wallOffsetBeforeMs)}; no timer was touched`,
      );
      tellBoard(state, changes, { change: 'clock', words: state.notices.at(-1)?.words ?? '' });
      break;
    case 'opened':
      state.wallOffsetMs = record.wallOffsetMs;
      state.table = record.setPoints;
      state.journal = {
        purpose: record.purpose,
        incident: record.incident,
        name: record.name,
        epoch: record.epoch,
        zone: record.zone,
        openedAt: record.openedAt ?? record.at,
        closed: false,
      };
      changes.head = true;
      if (record.why !== undefined) notice(state, changes, record.why);
      tellBoard(state, changes, { change: 'opened', by: record.by, words: record.why ?? record.name });
      break;
    case 'carried':
      adoptState(state, decodeState(record.state));
      for (const id of state.monitors.keys()) changes.monitors.add(id);
      for (const alarm of state.alarms.values()) tellCarried(state, changes, alarm);
      changes.head = true;
      break;
    case 'closed':
      if (state.journal !== null) state.journal.closed = true;
      changes.head = true;
      tellBoard(state, changes, { change: 'closed', by: record.by, words: record.why ?? 'closed' });
      break;
    case 'event':
    case 'difference':
      break; // derived: kept to compare with, never folded
  }
}

/** What was due while the post was down happens at its end and says so; every value is old until heard again. */
function foldGap(state: IncidentState, changes: Changes, record: Extract<JournalRecord, { kind: 'gap' }>): void {
  advance(state, Math.min(Math.max(record.from, state.now), record.at), changes);
  const from = state.now;
  state.now = record.at;
  state.cursor = record.cursor;
  const seconds = Math.round((record.at - from) / SECOND);
  const words =
    record.judgedBy === 'unknown'
      ? 'the post was down for a time that no clock can tell'
      : `the post was down for ${seconds} s (${{ restart: 'restarted', suspend: 'suspended', stall: 'stalled', 'not-recording': 'could not record' }[record.cause]})`;
  notice(state, changes, words);
  tellBoard(state, changes, { change: 'gap', words });
  for (const monitor of state.monitors.values()) markStale(state, changes, monitor);
  for (let due = takeDue(state.deadlines, record.at); due !== null; due = takeDue(state.deadlines, record.at)) {
    fire(state, changes, due, true);
  }
}

function notice(state: IncidentState, changes: Changes, words: string): void {
  state.notices.push({ at: state.now, words });
  if (state.notices.length > MOST_NOTICES) state.notices.shift();
  changes.head = true;
}

function stepWords(ms: number): string {
  const seconds = Math.round(Math.abs(ms) / 1000);
  return `${seconds} s ${ms > 0 ? 'forward' : 'back'}`;
}
