/**
 * Random numbers that are the same for the same seed, on every machine: the mulberry32 generator (public domain),
 * 32 bits of state. Good enough for sensor noise, not for secrets.
 */
export type Random = {
  /** A number from 0 up to, not including, 1. */
  readonly uniform: () => number;
  /** A number of the standard normal distribution. */
  readonly normal: () => number;
};

/** A generator for one purpose: each `stream` of one seed is independent, so adding a monitor disturbs no other. */
export function randomStream(seed: number, stream: string): Random {
  let state = hashText(`${seed}/${stream}`);
  const uniform = () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
  return { uniform, normal: () => normalFrom(uniform) };
}

/** The sum of twelve uniforms less six: no logarithm or cosine, whose last digit differs between engines. */
function normalFrom(uniform: () => number): number {
  let sum = -6;
  for (let i = 0; i < 12; i += 1) sum += uniform();
  return sum;
}

/** FNV-1a over UTF-16 code units, 32 bits. */
function hashText(text: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < text.length; i += 1) {
    hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193);
  }
  return hash | 0;
}
