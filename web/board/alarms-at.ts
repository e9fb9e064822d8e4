/** The alarm that counts most at each place, found once for each list of alarms however many cells ask. */
import type { AlarmView } from '../../shared/protocol/board.ts';
import { isWaiting } from '../feed/alarm-order.ts';
import { isAside } from '../words/alarm-states.ts';

const RANK = { danger: 0, caution: 1, notice: 2 } as const;
const known = new WeakMap<readonly AlarmView[], Map<string, AlarmView>>();

/** The level or over-range alarm of that sensor: the worst one; one that is not put aside before one that is. */
export function alarmAt(alarms: readonly AlarmView[], monitor: string, sensor: string): AlarmView | undefined {
  let found = known.get(alarms);
  if (found === undefined) {
    found = indexOf(alarms);
    known.set(alarms, found);
  }
  return found.get(`${monitor}~${sensor}`);
}

function indexOf(alarms: readonly AlarmView[]): Map<string, AlarmView> {
  const index = new Map<string, AlarmView>();
  for (const alarm of alarms) {
    if (alarm.sensor === undefined || (alarm.kind !== 'level' && alarm.kind !== 'over-range')) continue;
    const key = `${alarm.monitor}~${alarm.sensor}`;
    const before = index.get(key);
    if (before === undefined || counts(alarm) < counts(before)) index.set(key, alarm);
  }
  return index;
}

/** By how much it counts: 0 is most. Worst first, one that waits before one that was answered, put aside last. */
export function counts(alarm: AlarmView): number {
  return 2 * RANK[alarm.priority] + (isWaiting(alarm) ? 0 : 1) + (isAside(alarm) ? 10 : 0);
}
