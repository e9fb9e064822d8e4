/**
 * What is never shelved, suppressed or put out of service: down, help, over-range, IDLH, combustible danger, 10 R/h,
 * and not watched or silent in the hot zone. (Firm defaults of this post; common practice.)
 */
import { holderOf } from './people.ts';
import type { AlarmRecord, IncidentState } from './state.ts';

type Subject = Pick<AlarmRecord, 'kind' | 'monitor'> & {
  readonly protected: boolean;
  readonly entrant?: string | null;
};

/** Whether an alarm is one of them, as things stand: a zone can make it one. */
export function isProtected(state: IncidentState, alarm: Subject): boolean {
  switch (alarm.kind) {
    case 'down':
    case 'help':
    case 'over-range':
    // It stands in for the silence of several people.
    case 'relay-lost':
      return true;
    case 'level':
    case 'exposure':
      return alarm.protected;
    case 'silent':
    case 'not-watched': {
      const person = alarm.monitor === '' ? state.people.get(alarm.entrant ?? '') : holderOf(state, alarm.monitor);
      return person?.zone === 'hot';
    }
    case 'still':
      return false;
  }
}
