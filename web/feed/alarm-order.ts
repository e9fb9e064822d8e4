/** The one order in which alarms wait for an answer. */
import type { AlarmView } from '../../shared/protocol/board.ts';

const RANK = { danger: 0, caution: 1, notice: 2 } as const;

/**
 * Danger before caution before notice, longest waiting first within: by when the post learned of them, so that
 * news from the past joins at the end of its group and pushes nothing away. Ids settle what is left.
 */
export function inAnswerOrder(alarms: readonly AlarmView[]): AlarmView[] {
  return [...alarms].sort(
    (a, b) =>
      RANK[a.priority] - RANK[b.priority] ||
      Date.parse(a.raisedAt) - Date.parse(b.raisedAt) ||
      (a.id < b.id ? -1 : a.id > b.id ? 1 : 0),
  );
}

/** True while nobody has answered it. */
export function isWaiting(alarm: AlarmView): boolean {
  return alarm.state.endsWith('unacknowledged');
}
