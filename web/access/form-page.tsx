/** The plain page that all three ways in share. */
import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { ThemeSwitch } from '../shell/top-bar.tsx';
import { Shape } from '../words/shapes.tsx';
import type { PostAnswer } from './post.ts';
import '../styles/forms.css';

type Props = {
  title: string;
  words: string;
  button: string;
  /** Fields of the form; the submitted values come by their names. */
  children: ComponentChildren;
  send: (values: FormData) => Promise<PostAnswer<unknown>>;
  after?: ComponentChildren;
};

export function FormPage({ title, words, button, children, send, after }: Props) {
  const busy = useSignal(false);
  const refused = useSignal('');
  async function submit(event: SubmitEvent): Promise<void> {
    event.preventDefault();
    if (!(event.currentTarget instanceof HTMLFormElement) || busy.value) return;
    busy.value = true;
    refused.value = '';
    const answer = await send(new FormData(event.currentTarget));
    busy.value = false;
    if (!answer.ok) refused.value = answer.message;
  }
  return (
    <main class="form-page">
      <div class="form-head">
        <p class="soft">Upwind</p>
        <ThemeSwitch />
      </div>
      <h1>{title}</h1>
      <p class="form-words">{words}</p>
      <form onSubmit={submit}>
        {children}
        <div role="alert">
          {refused.value !== '' && (
            <p class="form-refused">
              <Shape of="caution" />
              {refused.value}
            </p>
          )}
        </div>
        <button type="submit" class="button main" disabled={busy.value}>
          {busy.value ? 'Asking the post…' : button}
        </button>
      </form>
      {after}
    </main>
  );
}

/** Text of a field, or an empty string where a file or nothing was given. */
export function fieldText(values: FormData, name: string): string {
  const value = values.get(name);
  return typeof value === 'string' ? value : '';
}
