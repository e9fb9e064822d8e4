/** One form that hands one monitor to a wearer or a place. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { commandRequest } from '../../shared/protocol/commands.ts';
import { fieldText } from '../access/form-page.tsx';
import { Shape } from '../words/shapes.tsx';
import { handOverTakes, type Person } from './hand-rows.ts';
import { PressButton } from './said.tsx';
import type { CommandBody } from './sender.ts';
import type { Act } from './use-act.ts';

const ROLES = ['entry', 'backup', 'decontamination', 'perimeter'] as const;

type Props = {
  /** Null: the id is typed, too. */
  monitor: string | null;
  people: readonly Person[];
  act: Act;
  off: boolean;
  /** Puts the cursor into the first field. */
  takesFocus?: boolean;
  onBack?: () => void;
  onDone: () => void;
};

export function HandOver({ monitor, people, act, off, takesFocus = false, onBack, onDone }: Props) {
  const form = useRef<HTMLFormElement>(null);
  const typed = useSignal({ monitor: '', entrant: '' });
  const holder = people.find((person) => person.monitor === monitor);
  useEffect(() => {
    if (takesFocus) form.current?.querySelector('input')?.focus();
  }, [takesFocus]);

  function look(): void {
    if (!form.current) return;
    const values = new FormData(form.current);
    typed.value = {
      monitor: monitor ?? fieldText(values, 'monitor').trim(),
      entrant: fieldText(values, 'entrant').trim(),
    };
  }
  async function handOver(event: SubmitEvent): Promise<void> {
    event.preventDefault();
    if (!form.current || off) return;
    const body = readForm(new FormData(form.current), monitor);
    if (body === null) return;
    const answer = await act.send(body, `${body.monitor} is handed to ${body.entrant}.`);
    if (answer?.status !== 'done') return;
    form.current?.reset();
    look();
    onDone();
  }

  const takes = typed.value.entrant === '' ? '' : handOverTakes(people, typed.value.monitor, typed.value.entrant);
  return (
    <form
      class="desk-fields"
      ref={form}
      onSubmit={handOver}
      onInput={look}
      aria-label={`Hand over ${monitor ?? 'a monitor by its id'}`}
    >
      {monitor === null && (
        <label>
          Monitor id
          <input name="monitor" type="text" required pattern=".*\S.*" maxLength={64} autocomplete="off" />
        </label>
      )}
      <label>
        Call sign or place
        <input
          name="entrant"
          type="text"
          required
          pattern=".*\S.*"
          maxLength={64}
          defaultValue={holder?.name ?? ''}
          list="desk-call-signs"
          autocomplete="off"
        />
      </label>
      <label>
        Team
        <input
          name="team"
          type="text"
          maxLength={64}
          defaultValue={holder?.team ?? ''}
          list="desk-teams"
          autocomplete="off"
        />
      </label>
      <label>
        Role
        <select name="role">
          <option value="">{holder?.role === undefined ? 'not said' : 'as it was'}</option>
          {ROLES.map((role) => (
            <option key={role} value={role} selected={holder?.role === role}>
              {role}
            </option>
          ))}
        </select>
      </label>
      <div class="desk-buttons">
        {onBack && (
          <PressButton off={false} busy={act.busy} onPress={onBack}>
            Back
          </PressButton>
        )}
        <PressButton main off={off} busy={act.busy}>
          Hand over
        </PressButton>
      </div>
      {takes !== '' && (
        <p class="wide">
          <Shape of="caution" />
          {takes}
        </p>
      )}
    </form>
  );
}

type Assign = Extract<CommandBody, { type: 'assign' }>;

/** The command that the form asks for; null where it is not one. An empty team or role stays as it was. */
function readForm(values: FormData, known: string | null): Assign | null {
  const team = fieldText(values, 'team').trim();
  const role = ROLES.find((one) => one === fieldText(values, 'role'));
  const read = commandRequest.safeParse({
    id: 'not sent',
    type: 'assign',
    monitor: known ?? fieldText(values, 'monitor').trim(),
    entrant: fieldText(values, 'entrant').trim(),
    ...(team === '' ? {} : { team }),
    ...(role === undefined ? {} : { role }),
  });
  if (!read.success || read.data.type !== 'assign') return null;
  const { id: _, ...body } = read.data;
  return body;
}
