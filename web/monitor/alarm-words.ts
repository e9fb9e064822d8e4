/** States of an alarm as one says them. */
import type { AlarmView } from '../../shared/protocol/board.ts';
import { clockTime } from '../words/times.ts';

/** What stands and who has answered: "waits for an answer", "acknowledged by R. Officer, 14:06:10". */
export function alarmStateWords(alarm: AlarmView, zone: string): string {
  const answered =
    alarm.acknowledgedBy === undefined
      ? 'acknowledged'
      : `acknowledged by ${alarm.acknowledgedBy}${alarm.acknowledgedAt ? `, ${clockTime(alarm.acknowledgedAt, zone)}` : ''}`;
  switch (alarm.state) {
    case 'unacknowledged':
      return 'stands, waits for an answer';
    case 'acknowledged':
      return `stands, ${answered}`;
    case 'returned-unacknowledged':
      return 'back within the level, still waits for an answer';
    case 'latched-unacknowledged':
      return 'held until it is reset, waits for an answer';
    case 'latched-acknowledged':
      return `held until it is reset, ${answered}`;
    case 'shelved':
      return alarm.shelved === undefined
        ? 'shelved'
        : `shelved by ${alarm.shelved.by} until ${clockTime(alarm.shelved.until, zone)}: ${alarm.shelved.reason}`;
    case 'suppressed':
      return `put aside by design: ${alarm.suppressed ?? ''}`;
    case 'out-of-service':
      return `out of service: ${alarm.outOfService ?? ''}`;
    case 'normal':
      return 'ended';
  }
}
