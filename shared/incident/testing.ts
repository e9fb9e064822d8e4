/** A test of a monitor's horn and lights. */
import { personOf } from './people.ts';
import type { IncidentState, MonitorState } from './state.ts';
import { SECOND } from './time.ts';

/** How long a test of horn and lights is taken for one. */
export const LONGEST_TEST_US = 60 * SECOND;

/** Whether the monitor's horn and lights are being tested: 60 s at most, and never in the hot zone. */
export function isTesting(state: IncidentState, monitor: MonitorState): boolean {
  if (!monitor.test || state.now - monitor.testSince > LONGEST_TEST_US) return false;
  return personOf(state, monitor)?.zone !== 'hot';
}
