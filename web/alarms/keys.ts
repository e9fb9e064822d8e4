/** The one letter that acts here can be switched off, because a voice or a sleeve may press it (WCAG 2.2, 2.1.4). */
import { signal } from '@preact/signals';

const NAME = 'single-keys';

function remembered(): boolean {
  try {
    return localStorage.getItem(NAME) !== 'off';
  } catch {
    return true;
  }
}

export const singleKeys = signal(remembered());

/** Switches the letter on or off, and remembers it in this browser. */
export function setSingleKeys(on: boolean): void {
  singleKeys.value = on;
  try {
    localStorage.setItem(NAME, on ? 'on' : 'off');
  } catch {
    // It holds until the page is closed.
  }
}

/** Cards of the page in their order, for the arrow keys. */
function cards(): HTMLElement[] {
  return [...document.querySelectorAll<HTMLElement>('.alarms-page article.alarm')];
}

/**
 * Keys while a card itself has the focus, not a control inside it: Enter opens it, `a` begins its acknowledgement,
 * arrows go to the next card.
 */
export function cardKey(event: KeyboardEvent, open: () => void): void {
  const card = event.currentTarget;
  if (!(card instanceof HTMLElement) || event.target !== card) return;
  if (event.altKey || event.ctrlKey || event.metaKey) return;
  switch (event.key) {
    case 'Enter':
      open();
      break;
    case 'a':
      if (!singleKeys.value) return;
      card.querySelector<HTMLButtonElement>('[data-act="acknowledge"]')?.click();
      break;
    case 'ArrowDown':
    case 'ArrowUp': {
      const all = cards();
      all[all.indexOf(card) + (event.key === 'ArrowDown' ? 1 : -1)]?.focus();
      break;
    }
    default:
      return;
  }
  event.preventDefault();
}
