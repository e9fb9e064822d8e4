import type { ComponentChildren } from 'preact';

/** A part that scrolls by itself and can be reached and scrolled with the keyboard. */
export function Scroll({ label, children }: { label: string; children: ComponentChildren }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable with the keyboard
    <section class="scroll" tabIndex={0} aria-label={label}>
      {children}
    </section>
  );
}
