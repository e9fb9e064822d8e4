/** The shapes that stand beside every colour. Drawn here, so that no font has to have them. */
import type { Priority } from '../../shared/alarm/set-point.ts';

const PATHS: Readonly<Record<Priority, string>> = {
  danger: 'M8 1 L15.5 15 L0.5 15 Z',
  caution: 'M8 0.5 L15.5 8 L8 15.5 L0.5 8 Z',
  notice: 'M8 1.5 A6.5 6.5 0 1 1 8 14.5 A6.5 6.5 0 1 1 8 1.5 Z',
};

export const PRIORITY_WORD: Readonly<Record<Priority, string>> = {
  danger: 'DANGER',
  caution: 'CAUTION',
  notice: 'NOTICE',
};

/** Triangle for danger, diamond for caution, disc for notice; the word must stand beside it. */
export function Shape({ of }: { of: Priority }) {
  return (
    <svg class={`shape ${of}`} viewBox="0 0 16 16" aria-hidden="true">
      <path d={PATHS[of]} />
    </svg>
  );
}

/** An arrow up or down beside a trend's words. */
export function Arrow({ up }: { up: boolean }) {
  return (
    <svg class="shape" viewBox="0 0 16 16" aria-hidden="true">
      <path
        d={
          up
            ? 'M2 13 L11 4 H5.5 V1.5 H15 V11 H12.5 V5.5 L3.8 14.8 Z'
            : 'M2 3 L11 12 H5.5 V14.5 H15 V5 H12.5 V10.5 L3.8 1.2 Z'
        }
      />
    </svg>
  );
}
