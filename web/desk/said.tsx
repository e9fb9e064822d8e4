/** The place beside a control where its outcome is said; it is there before the words, so that they are read out. */
import type { ReadonlySignal } from '@preact/signals';
import { Shape } from '../words/shapes.tsx';
import { type Outcome, outcomeWords } from './outcome-words.ts';
import type { Act } from './use-act.ts';

export function Words({ outcome }: { outcome: Outcome | null }) {
  return (
    <div class="desk-said" aria-live="polite">
      {outcome && (
        <p class={outcome.level}>
          {outcome.level !== 'plain' && <Shape of={outcome.level} />}
          {outcome.words}
        </p>
      )}
    </div>
  );
}

export function Said({ act, zone }: { act: Act; zone: string }) {
  const told = act.told.value;
  if (act.busy.value) return <Words outcome={{ level: 'plain', words: 'Asking the post…' }} />;
  return <Words outcome={told && outcomeWords(told.answer, told.done, zone)} />;
}

type ButtonProps = {
  children: string;
  /** While this is true the button stays in its place and does nothing. */
  off: boolean;
  busy?: ReadonlySignal<boolean>;
  main?: boolean;
  onPress?: () => void;
};

/** A button that keeps the focus while it can do nothing, because a disabled one would throw it to the top. */
export function PressButton({ children, off, busy, main = false, onPress }: ButtonProps) {
  const still = off || busy?.value === true;
  return (
    <button
      type={onPress ? 'button' : 'submit'}
      class={`button${main ? ' main' : ''}`}
      aria-disabled={still}
      onClick={(event) => {
        if (still) event.preventDefault();
        else onPress?.();
      }}
    >
      {children}
    </button>
  );
}
