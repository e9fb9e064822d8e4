/** A note for the record, under the name of whoever is logged in. */
import { useRef } from 'preact/hooks';
import { session } from '../access/session.ts';
import type { PartProps } from './desk-page.tsx';
import { PressButton, Said } from './said.tsx';
import { useAct } from './use-act.ts';

export function NotePart({ zone }: PartProps) {
  const act = useAct();
  const field = useRef<HTMLTextAreaElement>(null);

  async function write(event: SubmitEvent): Promise<void> {
    event.preventDefault();
    const text = field.current?.value.trim() ?? '';
    if (text === '') {
      field.current?.focus();
      return;
    }
    const answer = await act.send({ type: 'note', text }, `“${text.length > 60 ? `${text.slice(0, 60)}…` : text}”`);
    // What was written on meanwhile is not thrown away.
    if (answer?.status === 'done' && field.current?.value.trim() === text) field.current.value = '';
  }

  return (
    <section class="desk-part" aria-labelledby="desk-note">
      <h2 id="desk-note" tabIndex={-1}>
        Note for the record
      </h2>
      <form class="desk-form" onSubmit={write}>
        <label>
          What happened, who said it
          <textarea ref={field} required maxLength={4000} rows={3} />
        </label>
        <p class="soft">
          Kept under {session.value?.name} with the time. It cannot be changed or taken back; a mistake is set right by
          another note.
        </p>
        <PressButton main off={false} busy={act.busy}>
          Put it on record
        </PressButton>
      </form>
      <Said act={act} zone={zone} />
    </section>
  );
}
