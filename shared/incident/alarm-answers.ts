/** Answers of people to alarms: an acknowledgement, which never ends a condition, and the reset of what is latched. */
import type { CommandAnswer } from '../protocol/commands.ts';
import { dropIfNormal, remove } from './alarm-list.ts';
import { tell } from './alarm-telling.ts';
import { stopAwaiting } from './answer-times.ts';
import type { Changes } from './changes.ts';
import type { AlarmRecord, IncidentState } from './state.ts';
import { type PostTime, toIso } from './time.ts';

export type Answerer = { readonly by: string; readonly at: PostTime };

/** Acknowledges what the screen had drawn, and only that. */
export function acknowledge(
  state: IncidentState,
  changes: Changes,
  who: Answerer,
  act: { alarm: string; occurrence: number; seenCursor: number; decision?: string | undefined },
): CommandAnswer {
  const alarm = state.alarms.get(act.alarm);
  if (alarm === undefined) {
    const gone = state.answered.get(act.alarm);
    if (gone !== undefined && gone.occurrence === act.occurrence) return already(state, gone);
    return { status: 'refused', code: 'no-such-alarm', message: 'This alarm is not on the list any more' };
  }
  if (alarm.occurrence !== act.occurrence || alarm.worseCursor > act.seenCursor) {
    return { status: 'changed', message: `It changed since your screen drew it: ${alarm.words}` };
  }
  if (alarm.acknowledged !== null) return already(state, alarm.acknowledged);
  alarm.acknowledged = { by: who.by, at: who.at, decision: act.decision ?? null };
  alarm.firstOut = false;
  alarm.escalated = false;
  stopAwaiting(state, alarm);
  tell(changes, state, alarm, 'acknowledged');
  dropIfNormal(state, alarm);
  return { status: 'done' };
}

function already(state: IncidentState, first: Answerer): CommandAnswer {
  const { by, at } = first;
  return { status: 'already', by, at: toIso(at, state.wallOffsetMs), message: `${by} acknowledged it first` };
}

/**
 * Lets a latched alarm go; refused while nobody has acknowledged it, and while its condition holds unless a reason
 * says how one knows that it is over: where a monitor fell silent, nothing else ever will. `onReset` makes the
 * state agree.
 */
export function reset(
  state: IncidentState,
  changes: Changes,
  by: string,
  act: { readonly alarm: string; readonly reason?: string | undefined },
  onReset: (alarm: AlarmRecord) => void,
): CommandAnswer {
  const alarm = state.alarms.get(act.alarm);
  const { reason } = act;
  if (alarm === undefined)
    return { status: 'refused', code: 'no-such-alarm', message: 'This alarm is not on the list any more' };
  if (!alarm.latched)
    return {
      status: 'refused',
      code: 'not-latched',
      message: 'This alarm ends by itself; there is nothing to reset',
    };
  if (alarm.condition && (reason === undefined || alarm.kind === 'level'))
    return { status: 'refused', code: 'condition-holds', message: `Not while it lasts: ${alarm.words}` };
  if (alarm.acknowledged === null && !(alarm.announced === false && !alarm.condition))
    return { status: 'refused', code: 'not-acknowledged', message: 'Acknowledge it first' };
  tell(changes, state, alarm, 'reset', { by, reason: alarm.condition ? reason : undefined });
  if (alarm.condition) onReset(alarm);
  remove(state, alarm);
  return { status: 'done' };
}
