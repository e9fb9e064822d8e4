/** Events that are no alarms. */
import type { Changes } from './changes.ts';
import type { BoardEvent } from './events.ts';
import type { IncidentState } from './state.ts';

/**
 * Derives one event at the state's time. Its keys always stand in the schema's order: what was written and read
 * again must be the same text as what is derived anew.
 */
export function tellBoard(state: IncidentState, changes: Changes, event: Omit<BoardEvent, 'type' | 'at'>): void {
  const { change, monitor, relay, to, by, words, whileDown } = event;
  state.events += 1;
  changes.events.push({
    type: 'board',
    at: state.now,
    change,
    ...(monitor === undefined ? {} : { monitor }),
    ...(relay === undefined ? {} : { relay }),
    ...(to === undefined ? {} : { to }),
    ...(by === undefined ? {} : { by }),
    words,
    ...(whileDown === undefined ? {} : { whileDown }),
  });
}
