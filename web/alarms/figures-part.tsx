/** How many alarms sound, with what the words mean: a flood nobody can answer, an alarm that comes and goes. */
import type { AlarmView, BoardHead } from '../../shared/protocol/board.ts';
import { Shape } from '../words/shapes.tsx';

type Figures = NonNullable<BoardHead['figures']>;
type Props = { figures: Figures | undefined; alarms: readonly AlarmView[]; covered: boolean };

export function FiguresPart({ figures, alarms, covered }: Props) {
  if (figures === undefined) return null;
  const named = chatteringNames(figures, alarms);
  return (
    <section class="alarm-figures" aria-label="Figures">
      <dl class={covered ? 'covered' : ''}>
        <div>
          <dt>sounded in the last 10 min</dt>
          <dd>{figures.last10Min}</dd>
        </div>
        <div class={figures.flood ? 'caution' : ''}>
          <dt>flood</dt>
          <dd>
            {figures.flood && <Shape of="caution" />}
            {figures.flood ? 'yes' : 'no'}
          </dd>
        </div>
        <div class={named.length > 0 ? 'caution' : ''}>
          <dt>chattering</dt>
          <dd>
            {named.length > 0 && <Shape of="caution" />}
            {named.length === 0 ? 'none' : named.join(', ')}
          </dd>
        </div>
      </dl>
      <details>
        <summary>What these mean</summary>
        <p>
          An alarm <b>sounded</b> when it was raised, came up again, got worse after an answer, or came back from where
          it was put aside. A <b>flood</b> begins with more than 10 that sounded within 10 minutes and ends with fewer
          than 5. An alarm <b>chatters</b> when it comes or goes 3 times or more within a minute. The figures count;
          they put nothing aside. <b>Shelved</b>: by a person, for 1 to 60 minutes. <b>Suppressed by design</b>: by a
          rule of this post. <b>Out of service</b>: by a person, until it is put back. All three go on being evaluated
          and recorded.
        </p>
        <p class="soft">Common restatement of IEC 62682 and ISA-18.2; the standards themselves were not read.</p>
      </details>
    </section>
  );
}

/** What chatters, by its words where it is still on the list. */
export function chatteringNames(figures: Figures, alarms: readonly AlarmView[]): string[] {
  return figures.chattering.map((id) => {
    const alarm = alarms.find((one) => one.id === id);
    if (alarm === undefined) return id.replaceAll('~', ' ');
    return `${alarm.entrant ?? alarm.monitor} ${alarm.setPoint?.words ?? alarm.words}`.trim();
  });
}
