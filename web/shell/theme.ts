/** Daylight or night, by one tap, remembered on this screen. Never switched by itself. */
import { effect, type ReadonlySignal, signal } from '@preact/signals';

export type Theme = 'day' | 'night';
const KEY = 'theme';

function remembered(): Theme {
  try {
    return localStorage.getItem(KEY) === 'night' ? 'night' : 'day';
  } catch {
    return 'day'; // storage can be forbidden; the switch still works for this visit
  }
}

const current = signal<Theme>(remembered());
export const theme: ReadonlySignal<Theme> = current;

effect(() => {
  document.documentElement.dataset.theme = current.value;
});

export function switchTheme(): void {
  current.value = current.value === 'day' ? 'night' : 'day';
  try {
    localStorage.setItem(KEY, current.value);
  } catch {
    // Not remembered, but switched.
  }
}
