/**
 * Plays bursts on the clock of the sound itself: all pulses of a burst are laid down at once, so that a page which is
 * slowed down in the background plays them in time all the same.
 */
import { burstMs, PATTERNS, type Pattern, type PatternName } from './patterns.ts';

const LEAD_S = 0.03;
/** Rise and fall of a pulse: without them it clicks. */
const EDGE_S = 0.01;

export type Playing = {
  readonly name: PatternName;
  /** On the clock of the context, s. */
  readonly endsAt: number;
  stop(): void;
};

const waves = new WeakMap<BaseAudioContext, Map<Pattern, PeriodicWave>>();

function waveOf(context: BaseAudioContext, pattern: Pattern): PeriodicWave {
  const made = waves.get(context) ?? new Map<Pattern, PeriodicWave>();
  waves.set(context, made);
  const wave =
    made.get(pattern) ??
    context.createPeriodicWave(
      new Float32Array(pattern.partials.length + 1),
      Float32Array.from([0, ...pattern.partials]),
    );
  made.set(pattern, wave);
  return wave;
}

/** Lays down one burst from now on. `volume` 0 to 1; at 1 the waves just fill what can be played. */
export function playBurst(context: AudioContext, name: PatternName, volume: number): Playing {
  const pattern = PATTERNS[name];
  const startsAt = context.currentTime + LEAD_S;
  const out = context.createGain();
  out.gain.value = volume;
  out.connect(context.destination);
  const tones = pattern.pulses.map((pulse) => {
    const from = startsAt + pulse.atMs / 1000;
    const to = from + pulse.lengthMs / 1000;
    const tone = context.createOscillator();
    tone.setPeriodicWave(waveOf(context, pattern));
    tone.frequency.value = pattern.fundamentalHz;
    const edge = context.createGain();
    edge.gain.setValueAtTime(0, from);
    edge.gain.linearRampToValueAtTime(1, from + EDGE_S);
    edge.gain.setValueAtTime(1, to - EDGE_S);
    edge.gain.linearRampToValueAtTime(0, to);
    tone.connect(edge).connect(out);
    tone.start(from);
    tone.stop(to);
    return tone;
  });
  const last = tones.at(-1);
  if (last) last.onended = () => out.disconnect();
  return {
    name,
    endsAt: startsAt + burstMs(pattern) / 1000,
    stop() {
      out.gain.setTargetAtTime(0, context.currentTime, EDGE_S);
      for (const tone of tones) tone.stop(context.currentTime + 5 * EDGE_S);
    },
  };
}
