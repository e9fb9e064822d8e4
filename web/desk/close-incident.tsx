/** Closing takes two presses at two places, and a reason. */
import { useComputed, useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { BoardHead } from '../../shared/protocol/board.ts';
import { fieldText } from '../access/form-page.tsx';
import { isWaiting } from '../feed/alarm-order.ts';
import type { Store } from '../feed/store.ts';
import { Shape } from '../words/shapes.tsx';
import { pastControlLine } from './hand-rows.ts';
import { PressButton } from './said.tsx';
import type { Act } from './use-act.ts';

type Props = {
  store: Store;
  incident: NonNullable<BoardHead['incident']>;
  act: Act;
  off: boolean;
  onDone: () => void;
};

export function CloseIncident({ store, incident, act, off, onDone }: Props) {
  const asked = useSignal(false);
  const reason = useRef<HTMLInputElement>(null);
  const what = incident.exercise ? 'exercise' : 'incident';
  useEffect(() => {
    if (asked.value) reason.current?.focus();
  }, [asked.value]);

  async function close(event: SubmitEvent): Promise<void> {
    event.preventDefault();
    if (!(event.currentTarget instanceof HTMLFormElement) || off) return;
    const why = fieldText(new FormData(event.currentTarget), 'why').trim();
    if (why === '') return;
    const answer = await act.send({ type: 'incident-close', why }, `“${incident.name}” is closed.`);
    if (answer?.status === 'done') onDone();
  }

  if (!asked.value) {
    return (
      <div>
        <PressButton
          off={off}
          busy={act.busy}
          onPress={() => {
            act.clear();
            asked.value = true;
          }}
        >
          {`Close this ${what}…`}
        </PressButton>
      </div>
    );
  }
  return (
    <form class="desk-form desk-confirm" onSubmit={close} aria-label={`Close ${incident.name}`}>
      <StillOpen store={store} />
      <label>
        Why it is closed
        <input ref={reason} name="why" type="text" required pattern=".*\S.*" maxLength={1000} autocomplete="off" />
      </label>
      <div class="desk-apart">
        <PressButton
          off={false}
          busy={act.busy}
          onPress={() => {
            asked.value = false;
          }}
        >
          Back
        </PressButton>
        <PressButton main off={off} busy={act.busy}>
          {`Confirm: close “${incident.name}”`}
        </PressButton>
      </div>
    </form>
  );
}

/** What a commander should know before it is closed. */
function StillOpen({ store }: { store: Store }) {
  const beyond = useComputed(() => pastControlLine(store.head.value?.people ?? [])).value;
  const waiting = useComputed(() => store.alarms.value.filter(isWaiting).length).value;
  return (
    <>
      {beyond.length > 0 && (
        <p>
          <Shape of="caution" />
          <b>
            Not in the cold zone, as last told: {beyond.map((person) => `${person.name} (${person.zone})`).join(', ')}.
          </b>
        </p>
      )}
      {waiting > 0 && (
        <p>
          <Shape of="caution" />
          <b>{waiting === 1 ? '1 alarm waits' : `${waiting} alarms wait`} for an answer.</b>
        </p>
      )}
      <p>It cannot be opened again. What is heard after goes to the standby record.</p>
    </>
  );
}
