/** Opens an incident or an exercise by name. */
import { useSignal } from '@preact/signals';
import { useMemo, useRef } from 'preact/hooks';
import { fieldText } from '../access/form-page.tsx';
import { isKnownZone } from '../words/times.ts';
import { PressButton, Words } from './said.tsx';
import type { Act } from './use-act.ts';

type Props = {
  /** Name of the exercise that is open: a real incident ends it. Null in standby. */
  duringExercise: string | null;
  zone: string;
  act: Act;
  off: boolean;
  onDone: (name: string) => void;
};

export function OpenIncident({ duringExercise, zone, act, off, onDone }: Props) {
  const wrong = useSignal('');
  const form = useRef<HTMLFormElement>(null);
  const zones = useMemo(() => Intl.supportedValuesOf('timeZone'), []);

  async function open(event: SubmitEvent): Promise<void> {
    event.preventDefault();
    if (!(event.currentTarget instanceof HTMLFormElement) || off) return;
    const values = new FormData(event.currentTarget);
    const name = fieldText(values, 'name').trim();
    const asked = fieldText(values, 'zone').trim();
    const exercise = duringExercise === null && fieldText(values, 'purpose') === 'exercise';
    wrong.value = name === '' ? 'It needs a name.' : isKnownZone(asked) ? '' : `No time zone is called “${asked}”.`;
    if (wrong.value !== '') return;
    const answer = await act.send(
      { type: 'incident-open', name, exercise, zone: asked },
      `${exercise ? 'the exercise' : 'the incident'} “${name}” is open.`,
    );
    if (answer?.status !== 'done') return;
    form.current?.reset();
    onDone(name);
  }

  return (
    <form class="desk-form ruled" ref={form} onSubmit={open} aria-labelledby="desk-open">
      <h3 id="desk-open">{duringExercise === null ? 'Open an incident or an exercise' : 'A real incident began'}</h3>
      {duringExercise !== null && (
        <p>
          This ends the exercise “{duringExercise}”. People and unanswered alarms of real monitors are taken over; what
          is simulated stays behind and is refused from then on.
        </p>
      )}
      {duringExercise === null && (
        <fieldset class="desk-choice">
          <legend>What it is</legend>
          <label>
            <input type="radio" name="purpose" value="incident" required />
            Real incident
          </label>
          <label>
            <input type="radio" name="purpose" value="exercise" required />
            Exercise
          </label>
        </fieldset>
      )}
      <div class="desk-fields">
        <label class="wide">
          Name
          <input name="name" type="text" required maxLength={100} autocomplete="off" />
        </label>
        <label>
          Times shown in
          <input
            key={zone}
            name="zone"
            type="text"
            required
            maxLength={64}
            defaultValue={zone}
            list="desk-time-zones"
            autocomplete="off"
          />
          <datalist id="desk-time-zones">
            {zones.map((one) => (
              <option key={one} value={one} />
            ))}
          </datalist>
        </label>
        <PressButton main off={off} busy={act.busy}>
          {duringExercise === null ? 'Open' : 'Open the real incident'}
        </PressButton>
      </div>
      <Words outcome={wrong.value === '' ? null : { level: 'caution', words: wrong.value }} />
    </form>
  );
}
