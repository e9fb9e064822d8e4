/** Knows whether a pointer or the focus is in a part of the page, so that this part can hold still. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';

/** Gives the element's ref and a signal that is true while a pointer or the keyboard's focus is inside. */
export function useHold<T extends HTMLElement>() {
  const ref = useRef<T>(null);
  const held = useSignal(false);
  useEffect(() => {
    const element = ref.current;
    if (!element) return;
    let pointer = false;
    let focus = false;
    const settle = () => {
      held.value = pointer || focus;
    };
    // A click leaves the focus behind without anybody being there; only focus that is shown counts.
    const refocus = () => {
      const at = document.activeElement;
      focus = at !== null && element.contains(at) && at.matches(':focus-visible');
      settle();
    };
    const enter = () => {
      pointer = true;
      settle();
    };
    const exit = () => {
      pointer = false;
      refocus();
    };
    const focusOut = () => queueMicrotask(refocus);
    element.addEventListener('pointerenter', enter);
    element.addEventListener('pointerleave', exit);
    element.addEventListener('pointercancel', exit);
    document.addEventListener('focusin', refocus);
    element.addEventListener('focusout', focusOut);
    return () => {
      element.removeEventListener('pointerenter', enter);
      element.removeEventListener('pointerleave', exit);
      element.removeEventListener('pointercancel', exit);
      document.removeEventListener('focusin', refocus);
      element.removeEventListener('focusout', focusOut);
    };
  }, [held]);
  return { ref, held };
}
