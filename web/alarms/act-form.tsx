/** One act that needs words: a button, then a form with what has to be said, then what came of it. */
import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { PressButton, Said } from '../desk/said.tsx';
import type { CommandBody } from '../desk/sender.ts';
import { useAct } from '../desk/use-act.ts';

type Props = {
  /** On the button that opens the form. */
  title: string;
  /** On the button that does it. */
  confirm: string;
  zone: string;
  /** The command with this reason; null where a field is not filled in as it must be. */
  command: (reason: string, form: HTMLFormElement) => CommandBody | null;
  /** Said when it was done. */
  done: string;
  reasonLabel: string;
  children?: ComponentChildren;
};

export function ActForm({ title, confirm, zone, command, done, reasonLabel, children }: Props) {
  const act = useAct();
  const open = useSignal(false);
  const form = useRef<HTMLFormElement>(null);
  const opened = open.value;
  useEffect(() => {
    if (opened) form.current?.querySelector<HTMLElement>('input, select')?.focus();
  }, [opened]);

  async function send(event: SubmitEvent): Promise<void> {
    event.preventDefault();
    if (form.current === null) return;
    const field = form.current.elements.namedItem('reason');
    const reason = field instanceof HTMLInputElement ? field.value.trim() : '';
    const body = reason === '' ? null : command(reason, form.current);
    if (body === null) {
      if (reason === '' && field instanceof HTMLInputElement) field.focus();
      return;
    }
    const card = form.current.closest<HTMLElement>('article');
    const answer = await act.send(body, done);
    if (answer?.status !== 'done') return;
    const hadFocus = form.current?.contains(document.activeElement) === true;
    open.value = false;
    if (hadFocus) card?.focus();
  }

  return (
    <div class={`act${opened ? ' open' : ''}`}>
      {!opened && (
        <button
          type="button"
          class="button"
          onClick={() => {
            act.clear();
            open.value = true;
          }}
        >
          {title}
        </button>
      )}
      {opened && (
        <form ref={form} class="act-form" onSubmit={send} aria-label={title}>
          {children}
          <label>
            {reasonLabel}
            <input name="reason" type="text" required maxLength={1000} autocomplete="off" />
          </label>
          <div class="buttons">
            <button
              type="button"
              class="button"
              onClick={() => {
                open.value = false;
              }}
            >
              Back
            </button>
            <PressButton main off={false} busy={act.busy}>
              {confirm}
            </PressButton>
          </div>
        </form>
      )}
      <Said act={act} zone={zone} />
    </div>
  );
}
