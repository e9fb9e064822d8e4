/** A shape for each state of an alarm; its word must stand beside it. */
import type { StateMark } from './alarm-states.ts';

const PATHS: Readonly<Record<StateMark, string>> = {
  // A tick.
  answered: 'M1 8.5 L3 6.3 L6.2 9.4 L13 2.4 L15 4.6 L6.2 13.8 Z',
  // An arrow that turns back.
  returned: 'M6 1 L1 6 L6 11 V7.4 H10 A2.3 2.3 0 0 1 10 12 H5 V15 H10 A5.2 5.2 0 0 0 10 4.6 H6 Z',
  // A lock.
  held: 'M3 7 H4 V5 A4 4 0 0 1 12 5 V7 H13 V15 H3 Z M6 7 H10 V5 A2 2 0 0 0 6 5 Z',
  // An hourglass: it comes back by itself.
  shelved: 'M2 1 H14 V3.2 L9.2 8 L14 12.8 V15 H2 V12.8 L6.8 8 L2 3.2 Z',
  // Two bars.
  suppressed: 'M3 2 H6.6 V14 H3 Z M9.4 2 H13 V14 H9.4 Z',
  // A ring with a bar through it.
  'out-of-service':
    'M8 1 A7 7 0 1 1 8 15 A7 7 0 1 1 8 1 Z M8 3.2 A4.8 4.8 0 1 0 8 12.8 A4.8 4.8 0 1 0 8 3.2 Z M4.4 7 H11.6 V9 H4.4 Z',
  // Two angles, one above the other.
  escalated: 'M8 1 L15 8 H11 L8 5 L5 8 H1 Z M8 8 L15 15 H11 L8 12 L5 15 H1 Z',
};

export function StateShape({ of }: { of: StateMark }) {
  return (
    <svg class={`shape state-${of}`} viewBox="0 0 16 16" aria-hidden="true">
      <path d={PATHS[of]} fill-rule="evenodd" />
    </svg>
  );
}
