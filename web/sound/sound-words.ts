/** The standing caution while this screen, or every screen, cannot be heard. */
import type { SummaryItem } from '../board/summary.ts';
import type { SoundState } from './player.ts';

const HERE: Readonly<Record<Exclude<SoundState, 'on'>, string>> = {
  off: 'Sound is off here',
  'press-needed': 'Sound needs one press after a reload',
  stopped: 'Sound is off here: the browser does not play it',
};

/** Null while this screen sounds. `sounding`: how many do, as the post counts; undefined where it does not say. */
export function soundItem(state: SoundState, sounding: number | undefined): SummaryItem | null {
  if (state === 'on') return null;
  const item = { key: 'sound', level: 'caution' } as const;
  if (sounding === 0 && state === 'off') return { ...item, head: 'No screen sounds', detail: 'this one is off too' };
  if (sounding === 0) return { ...item, head: HERE[state], detail: 'and no screen sounds' };
  const detail =
    sounding === undefined ? '' : sounding === 1 ? 'though one other screen sounds' : `though ${sounding} others sound`;
  return { ...item, head: HERE[state], detail };
}
