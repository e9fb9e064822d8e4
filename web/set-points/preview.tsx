/** What adopting a table would have done at one moment: which alarms would end, come, or go on. */
import type { RefObject } from 'preact';
import type { TableCheck, TablePreview } from '../../shared/protocol/set-points.ts';
import { channelName } from '../../shared/quantity/display.ts';
import { PRIORITY_WORD, Shape } from '../words/shapes.tsx';
import { clockTime } from '../words/times.ts';

type Props = {
  check: TableCheck;
  preview: TablePreview;
  heading: RefObject<HTMLHeadingElement | null>;
  zone: string;
  covered: boolean;
};

export function Preview({ check, preview, heading, zone, covered }: Props) {
  const coming = preview.alarms.filter((alarm) => !alarm.stands);
  const going = preview.alarms.filter((alarm) => alarm.stands);
  const { ending } = preview;
  return (
    <div class="sp-preview">
      <h3 tabIndex={-1} ref={heading}>
        If it had been adopted at {clockTime(check.at, zone)}
      </h3>
      {covered ? (
        <p>Covered: the post is not heard, and readings may have moved.</p>
      ) : (
        <>
          <h4>
            {ending.length === 0
              ? 'No alarm that stands would lose or change its set-point'
              : `${counted(ending.length)} would end, and ask to be answered again`}
          </h4>
          <ul class="sp-plain">
            {ending.map((alarm) => (
              <li key={alarm.alarm}>
                <Shape of="caution" />
                {alarm.monitor}: {alarm.words}
              </li>
            ))}
          </ul>
          <h4>
            {coming.length === 0
              ? 'No reading would raise a new alarm'
              : `${counted(coming.length)} would come at once`}
          </h4>
          <ul class="sp-plain">
            {coming.map((alarm) => (
              <AlarmLine key={`${alarm.monitor} ${alarm.channel} ${alarm.setPoint}`} alarm={alarm} />
            ))}
          </ul>
          {going.length > 0 && <h4>{counted(going.length)} would go on as now</h4>}
          <ul class="sp-plain">
            {going.map((alarm) => (
              <AlarmLine key={`${alarm.monitor} ${alarm.channel} ${alarm.setPoint}`} alarm={alarm} />
            ))}
          </ul>
        </>
      )}
      <p class="soft small">
        By the newest readings of that moment, however old, delays left out. Not in it: averages and doses, and channels
        that have no number.
      </p>
    </div>
  );
}

function AlarmLine({ alarm }: { alarm: TablePreview['alarms'][number] }) {
  return (
    <li>
      <Shape of={alarm.priority} />
      <b>{PRIORITY_WORD[alarm.priority]}</b> {alarm.entrant === null ? '' : `${alarm.entrant}, `}
      {alarm.monitor}: {channelName(alarm.channel)} {alarm.words}
    </li>
  );
}

function counted(count: number): string {
  return count === 1 ? '1 alarm' : `${count} alarms`;
}
