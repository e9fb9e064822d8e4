/** Where an alarm stands in its life, as one says it: at length, and in a word beside a value. */
import type { AlarmView } from '../../shared/protocol/board.ts';
import { isWaiting } from '../feed/alarm-order.ts';
import { clockTime, shortTime } from './times.ts';

/** What has a shape of its own beside its word. */
export type StateMark = 'answered' | 'returned' | 'held' | 'shelved' | 'suppressed' | 'out-of-service' | 'escalated';

/** Put aside: it is evaluated and recorded, and does not sound. */
export function isAside(alarm: Pick<AlarmView, 'state'>): boolean {
  return alarm.state === 'shelved' || alarm.state === 'suppressed' || alarm.state === 'out-of-service';
}

/** The one mark of an alarm; null where it stands and waits, and nothing more is to be said. */
export function stateMark(alarm: AlarmView): StateMark | null {
  if (alarm.escalated && isWaiting(alarm) && alarm.state !== 'returned-unacknowledged') return 'escalated';
  switch (alarm.state) {
    case 'acknowledged':
      return 'answered';
    case 'returned-unacknowledged':
      return 'returned';
    case 'latched-unacknowledged':
    case 'latched-acknowledged':
      return 'held';
    case 'shelved':
    case 'suppressed':
    case 'out-of-service':
      return alarm.state;
    case 'unacknowledged':
    case 'normal':
      return null;
  }
}

/** The same in a word or two, where there is no room for more; empty where `stateMark` is null. */
export function stateTag(alarm: AlarmView, zone: string): string {
  const again = alarm.soundedAgain === undefined || !isWaiting(alarm) ? '' : soundedWords(alarm.soundedAgain);
  switch (stateMark(alarm)) {
    case 'escalated':
      return 'escalated';
    case 'answered':
      return 'answered';
    case 'returned':
      return 'back, not answered';
    case 'held':
      return alarm.state === 'latched-acknowledged' ? 'held until reset' : 'held, not answered';
    case 'shelved':
      return alarm.shelved === undefined ? 'shelved' : `shelved until ${shortTime(alarm.shelved.until, zone)}`;
    case 'suppressed':
      return 'suppressed';
    case 'out-of-service':
      return 'out of service';
    case null:
      return again;
  }
}

/** "sounded again", "sounded again 3 times". */
export function soundedWords(times: number): string {
  return times === 1 ? 'sounded again' : `sounded again ${times} times`;
}

/** What stands and who has answered: "stands, waits for an answer", "stands, acknowledged by R. Officer, 14:06:10". */
export function alarmStateWords(alarm: AlarmView, zone: string): string {
  const answered =
    alarm.acknowledgedBy === undefined
      ? 'acknowledged'
      : `acknowledged by ${alarm.acknowledgedBy}${alarm.acknowledgedAt ? `, ${clockTime(alarm.acknowledgedAt, zone)}` : ''}`;
  const waits = [
    'waits for an answer',
    alarm.escalated ? 'escalated because nobody answered' : '',
    alarm.soundedAgain === undefined ? '' : soundedWords(alarm.soundedAgain),
  ]
    .filter((part) => part !== '')
    .join(', ');
  switch (alarm.state) {
    case 'unacknowledged':
      return `stands, ${waits}`;
    case 'acknowledged':
      return `stands, ${answered}`;
    case 'returned-unacknowledged':
      return `back within the level, still ${waits}`;
    case 'latched-unacknowledged':
      return `held until it is reset, ${waits}`;
    case 'latched-acknowledged':
      return `held until it is reset, ${answered}`;
    case 'shelved':
      return shelvedWords(alarm, zone);
    case 'suppressed':
      return `suppressed by design: ${alarm.suppressed ?? 'not told why'}`;
    case 'out-of-service':
      return `out of service: “${alarm.outOfService ?? ''}”`;
    case 'normal':
      return 'ended';
  }
}

/** "shelved by R. Officer, 14:01:20, until 14:11:20: “known source”". */
export function shelvedWords(alarm: AlarmView, zone: string): string {
  if (alarm.shelved === undefined) return 'shelved';
  const { by, at, until, reason } = alarm.shelved;
  return `shelved by ${by}, ${clockTime(at, zone)}, until ${clockTime(until, zone)}: “${reason}”`;
}
