/**
 * Answering an alarm takes two taps at two places. The screen's cursor is taken at the first: if it got worse while
 * somebody was deciding, the post says so instead of taking the answer.
 */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { AlarmView } from '../../shared/protocol/board.ts';
import type { CommandAnswer } from '../../shared/protocol/commands.ts';
import { newId } from '../access/post.ts';
import { sendCommand } from '../access/send-command.ts';
import type { Store } from '../feed/store.ts';
import { Shape } from '../words/shapes.tsx';
import { clockTime } from '../words/times.ts';

type Props = { store: Store; alarm: AlarmView; zone: string };
type Step = { readonly id: string; readonly cursor: number; readonly occurrence: number };

export function Acknowledge({ store, alarm, zone }: Props) {
  const step = useSignal<Step | null>(null);
  const sending = useSignal(false);
  const result = useSignal<CommandAnswer | null>(null);
  const decision = useRef<HTMLInputElement>(null);
  const first = useRef<HTMLButtonElement>(null);
  const opened = step.value !== null;
  useEffect(() => {
    if (opened) decision.current?.focus();
  }, [opened]);

  function begin(): void {
    result.value = null;
    step.value = { id: newId(), cursor: store.cursor.peek(), occurrence: alarm.occurrence };
  }
  function back(): void {
    step.value = null;
    requestAnimationFrame(() => first.current?.focus());
  }
  async function confirm(event: SubmitEvent): Promise<void> {
    event.preventDefault();
    const now = step.value;
    if (!now || sending.value) return;
    sending.value = true;
    const card = decision.current?.closest('article') ?? null;
    const text = decision.current?.value.trim() ?? '';
    // Now, because the form can be gone before the answer is here: the board tells the news first.
    keepFocus(card);
    const answer = await sendCommand({
      id: now.id,
      type: 'acknowledge',
      alarm: alarm.id,
      occurrence: now.occurrence,
      seenCursor: now.cursor,
      ...(text === '' ? {} : { decision: text }),
    });
    sending.value = false;
    result.value = answer;
    // Without an answer the same command can be sent again under its id; any other outcome ends this try.
    if (answer.code === 'no-answer') decision.current?.focus();
    else step.value = null;
  }

  return (
    <div class={`answer${opened ? ' open' : ''}`}>
      {!opened && (
        <button type="button" ref={first} class="button main first-step" data-act="acknowledge" onClick={begin}>
          Acknowledge
        </button>
      )}
      {opened && (
        <form class="second-step" onSubmit={confirm}>
          <label>
            What was decided (may stay empty)
            <input ref={decision} type="text" maxLength={1000} autocomplete="off" />
          </label>
          <div class="buttons">
            <button type="button" class="button" onClick={back} disabled={sending.value}>
              Back
            </button>
            <button type="submit" class="button main confirm" disabled={sending.value}>
              {sending.value ? 'Sending…' : 'Confirm: acknowledged'}
            </button>
          </div>
        </form>
      )}
      <div class="answer-outcome" aria-live="polite">
        {result.value && <Outcome answer={result.value} zone={zone} />}
      </div>
    </div>
  );
}

/** The form goes; whoever works by keyboard stays at the card instead of being thrown to the top of the page. */
function keepFocus(card: HTMLElement | null): void {
  const at = document.activeElement;
  if (card && at && card.contains(at) && at.matches('input, :focus-visible')) card.focus();
}

/** What came of a command, in words that say whether anything was done. */
export function Outcome({ answer, zone }: { answer: CommandAnswer; zone: string }) {
  if (answer.status === 'changed') {
    return (
      <p class="outcome danger">
        <Shape of="danger" />
        <b>It got worse since you saw it: look again.</b> Nothing was acknowledged.
      </p>
    );
  }
  if (answer.status === 'already') {
    const at = answer.at ? `, ${clockTime(answer.at, zone)}` : '';
    return (
      <p class="outcome">
        Already answered by {answer.by ?? 'somebody else'}
        {at}.
      </p>
    );
  }
  if (answer.status === 'refused') {
    return (
      <p class="outcome caution">
        <Shape of="caution" />
        {answer.code === 'no-answer'
          ? 'The post did not answer: not known to be done. Send it again.'
          : `Not done: ${answer.message ?? answer.code ?? 'refused'}`}
      </p>
    );
  }
  return <p class="outcome">Done and stored.</p>;
}
