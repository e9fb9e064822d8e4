/**
 * How many alarms sound. A flood begins with more than 10 annunciated alarms in 10 minutes and ends with fewer than
 * 5; chattering is 3 or more transitions in a minute (ISA-18.2 / IEC 62682 as publicly restated: the beginning of a
 * flood read in a copy, the rest from memory). They count and say; they put nothing aside.
 */
import { tellBoard } from './board-events.ts';
import type { Changes } from './changes.ts';
import { setDeadline } from './deadlines.ts';
import type { IncidentState } from './state.ts';
import { MINUTE } from './time.ts';

const WINDOW_US = 10 * MINUTE;
export const FLOOD_OVER = 10;
export const FLOOD_UNDER = 5;
export const CHATTERING = 3;
const CHATTER_US = MINUTE;
const MOST_KEPT = 1_000;

/** An alarm was annunciated at `state.now`. */
export function countAnnunciated(state: IncidentState, changes: Changes): void {
  const { figures } = state;
  figures.annunciated = [...figures.annunciated, state.now].filter((at) => at > state.now - WINDOW_US);
  changes.head = true;
  if (!figures.flood && figures.annunciated.length > FLOOD_OVER) {
    figures.flood = true;
    tellBoard(state, changes, {
      change: 'flood',
      to: 'begins',
      words: `alarm flood: ${figures.annunciated.length} alarms in ten minutes`,
    });
  }
  if (figures.flood) awaitEnd(state);
}

function awaitEnd(state: IncidentState): void {
  const fifth = state.figures.annunciated.at(-FLOOD_UNDER);
  if (fifth === undefined) return;
  setDeadline(state.deadlines, { key: 'flood-end', kind: 'flood-end', monitor: '', at: fifth + WINDOW_US });
}

/** Fewer than five are left within ten minutes. */
export function endFlood(state: IncidentState, changes: Changes): void {
  const { figures } = state;
  figures.annunciated = figures.annunciated.filter((at) => at > state.now - WINDOW_US);
  if (!figures.flood) return;
  if (figures.annunciated.length >= FLOOD_UNDER) {
    awaitEnd(state);
    return;
  }
  figures.flood = false;
  changes.head = true;
  tellBoard(state, changes, { change: 'flood', to: 'ends', words: 'the alarm flood is over' });
}

/** An alarm came or went at `state.now`. */
export function countTransition(state: IncidentState, changes: Changes, base: string): void {
  const { transitions } = state.figures;
  const recent = (times: readonly number[]) => times.filter((at) => at > state.now - CHATTER_US);
  const times = [...recent(transitions.get(base) ?? []), state.now].slice(-MOST_KEPT);
  transitions.set(base, times);
  if (times.length >= CHATTERING) changes.head = true;
  if (transitions.size < MOST_KEPT) return;
  for (const [other, kept] of transitions) if (recent(kept).length === 0) transitions.delete(other);
}

/** The figures as they stand. */
export function figuresOf(state: IncidentState): { last10Min: number; flood: boolean; chattering: string[] } {
  const { annunciated, flood, transitions } = state.figures;
  const chattering: string[] = [];
  for (const [base, times] of transitions) {
    if (times.filter((at) => at > state.now - CHATTER_US).length < CHATTERING) continue;
    chattering.push(state.listed.get(base) ?? base);
  }
  return { last10Min: annunciated.filter((at) => at > state.now - WINDOW_US).length, flood, chattering };
}
