/** Who wears what, and where that puts them. */
import type { IncidentState, MonitorState, PersonState } from './state.ts';

/** The person that a monitor is handed to. */
export function personOf(state: IncidentState, monitor: MonitorState): PersonState | undefined {
  return monitor.entrant === null ? undefined : state.people.get(monitor.entrant);
}

/** The person that holds the monitor of that name, also when it was never heard. */
export function holderOf(state: IncidentState, monitor: string): PersonState | undefined {
  const heard = state.monitors.get(monitor);
  if (heard !== undefined) return personOf(state, heard);
  for (const person of state.people.values()) if (person.monitor === monitor) return person;
  return undefined;
}

/** A person wears it; a place does not move by itself and needs no help. */
export function isWearer(person: PersonState | undefined): boolean {
  return person !== undefined && person.role !== 'perimeter';
}

/** In the warm or the hot zone, as last reported. */
export function isPastControlLine(person: PersonState | undefined): boolean {
  return person !== undefined && person.zone !== 'cold';
}
