/** Links that stand in the bar where there is room, and behind one control on a narrow screen. */
import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect, useId, useRef } from 'preact/hooks';
import { route } from './routes.ts';

type Props = {
  /** Name of the page that is shown, where it is one of these. */
  here: string | undefined;
  children: ComponentChildren;
};

export function MoreLinks({ here, children }: Props) {
  const open = useSignal(false);
  const place = useRef<HTMLDivElement>(null);
  const button = useRef<HTMLButtonElement>(null);
  const id = useId();
  const now = route.value;
  useEffect(() => {
    if (now !== null) open.value = false;
  }, [now, open]);
  useEffect(() => {
    if (!open.value) return;
    const close = (event: Event) => {
      if (event.target instanceof Node && !place.current?.contains(event.target)) open.value = false;
    };
    const onKey = (event: KeyboardEvent) => {
      if (event.key !== 'Escape') return;
      open.value = false;
      button.current?.focus();
    };
    document.addEventListener('pointerdown', close);
    document.addEventListener('focusin', close);
    document.addEventListener('keydown', onKey);
    return () => {
      document.removeEventListener('pointerdown', close);
      document.removeEventListener('focusin', close);
      document.removeEventListener('keydown', onKey);
    };
  }, [open.value, open]);
  return (
    <div class="nav-more" ref={place}>
      <button
        type="button"
        class={here === undefined ? 'nav-link nav-more-button' : 'nav-link nav-more-button here'}
        ref={button}
        aria-expanded={open.value}
        aria-controls={id}
        onClick={() => {
          open.value = !open.value;
        }}
      >
        {here === undefined ? 'More' : `More: ${here}`}
      </button>
      <div id={id} class={open.value ? 'nav-more-links open' : 'nav-more-links'}>
        {children}
      </div>
    </div>
  );
}
