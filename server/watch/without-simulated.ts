/** What a real incident takes over from an exercise: people, assignments and alarms of real monitors only. */
import { rebuildHeap } from '../../shared/incident/deadlines.ts';
import type { IncidentState } from '../../shared/incident/state.ts';
import { copyState } from './restore.ts';

export function withoutSimulated(live: IncidentState): IncidentState {
  const state = copyState(live);
  for (const monitor of live.monitors.values()) {
    if (!monitor.simulated) continue;
    state.monitors.delete(monitor.id);
    for (const person of live.people.values()) if (person.monitor === monitor.id) state.people.delete(person.name);
    for (const alarm of live.alarms.values()) {
      if (alarm.monitor !== monitor.id) continue;
      state.alarms.delete(alarm.id);
      state.listed.delete(alarm.base);
    }
    for (const deadline of live.deadlines.byKey.values()) {
      if (deadline.monitor === monitor.id) state.deadlines.byKey.delete(deadline.key);
    }
  }
  rebuildHeap(state.deadlines);
  return state;
}
