/** The sound of this page: one, because a screen has one loudspeaker. */
import { screenMemory } from './memory.ts';
import { createPlayer } from './player.ts';

export const sound = createPlayer({
  memory: screenMemory,
  makeContext: () => new AudioContext({ latencyHint: 'interactive' }),
  clock: () => performance.now(),
});
