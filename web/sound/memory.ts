/** The wish for sound and its volume, as remembered on this screen. */
import { LOUDEST, type SoundMemory } from './player.ts';

const WISH = 'sound';
const VOLUME = 'sound-volume';
const FIRST_VOLUME = 8;

function read(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null; // storage can be forbidden; sound still works for this visit
  }
}

function write(key: string, value: string): void {
  try {
    localStorage.setItem(key, value);
  } catch {
    // Not remembered, but done.
  }
}

export const screenMemory: SoundMemory = {
  wish: () => read(WISH) === 'on',
  setWish: (on) => write(WISH, on ? 'on' : 'off'),
  volume() {
    const step = Number(read(VOLUME));
    return Number.isInteger(step) && step >= 1 && step <= LOUDEST ? step : FIRST_VOLUME;
  },
  setVolume: (step) => write(VOLUME, String(step)),
};
