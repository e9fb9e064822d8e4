/** Lets go of an alarm that is held: in two taps, as answering it. */
import { useSignal } from '@preact/signals';
import type { AlarmView } from '../../shared/protocol/board.ts';
import type { CommandAnswer } from '../../shared/protocol/commands.ts';
import { newId } from '../access/post.ts';
import { sendCommand } from '../access/send-command.ts';
import type { Store } from '../feed/store.ts';
import { Outcome } from './acknowledge.tsx';

export function Reset({ store, alarm }: { store: Store; alarm: AlarmView }) {
  const step = useSignal<{ id: string; cursor: number } | null>(null);
  const sending = useSignal(false);
  const result = useSignal<CommandAnswer | null>(null);

  async function confirm(): Promise<void> {
    const now = step.value;
    if (!now || sending.value) return;
    sending.value = true;
    result.value = await sendCommand({ id: now.id, type: 'reset', alarm: alarm.id, seenCursor: now.cursor });
    sending.value = false;
    if (result.value.code !== 'no-answer') step.value = null;
  }

  return (
    <div class={`answer${step.value ? ' open' : ''}`}>
      {step.value ? (
        <div class="buttons">
          <button
            type="button"
            class="button"
            onClick={() => {
              step.value = null;
            }}
          >
            Back
          </button>
          <button type="button" class="button main confirm" onClick={confirm} disabled={sending.value}>
            Confirm reset
          </button>
        </div>
      ) : (
        <button
          type="button"
          class="button first-step"
          onClick={() => {
            result.value = null;
            step.value = { id: newId(), cursor: store.cursor.peek() };
          }}
        >
          Reset
        </button>
      )}
      <div class="answer-outcome" aria-live="polite">
        {result.value && <Outcome answer={result.value} zone={store.head.value?.journal.zone ?? 'UTC'} />}
      </div>
    </div>
  );
}
