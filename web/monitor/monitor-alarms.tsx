/** The alarms of one monitor, each with its level, where that comes from, and what has been answered. */
import type { AlarmView } from '../../shared/protocol/board.ts';
import { alarmStateWords, isAside, stateMark } from '../words/alarm-states.ts';
import { alarmSays } from '../words/alarm-words.ts';
import { PRIORITY_WORD, Shape } from '../words/shapes.tsx';
import { StateShape } from '../words/state-shape.tsx';
import { ageWords, clockTime, secondsSince } from '../words/times.ts';

type Props = {
  readonly alarms: readonly AlarmView[];
  readonly zone: string;
  readonly covered: boolean;
  readonly nowMs: number;
};

export function MonitorAlarms({ alarms, zone, covered, nowMs }: Props) {
  if (alarms.length === 0) return <p>No alarm stands at this monitor.</p>;
  return (
    <ul class="monitor-alarms">
      {alarms.map((alarm) => (
        <li key={alarm.id} class={`${alarm.priority}${isAside(alarm) ? ' aside' : ''}`}>
          <p>
            <Shape of={alarm.priority} />
            <b>{PRIORITY_WORD[alarm.priority]}</b>
            {alarm.firstOut && ', first out'}
            {alarm.late && ', learned late'}
            {alarm.whileDown && ', while the post was down'}
          </p>
          <p class="monitor-alarm-words">{alarmSays(alarm, covered)}</p>
          <p>
            <Mark alarm={alarm} />
            {alarmStateWords(alarm, zone)}
          </p>
          <p>to do, by your procedure: {alarm.action}</p>
          {alarm.decision && <p>decision: {alarm.decision}</p>}
          <p class="soft">
            began {clockTime(alarm.since, zone)}, {ageWords(secondsSince(alarm.since, nowMs))} ago, known{' '}
            {clockTime(alarm.raisedAt, zone)}
            {alarm.setPoint && `, level: ${alarm.setPoint.words}, ${alarm.source}`}
            {alarm.setPoint && !alarm.setPoint.reviewed && ', not yet reviewed'}
          </p>
        </li>
      ))}
    </ul>
  );
}

function Mark({ alarm }: { alarm: AlarmView }) {
  const mark = stateMark(alarm);
  return mark === null ? null : <StateShape of={mark} />;
}
