/**
 * What is still believed to be a background. Beyond it an officer has to say why. All settable here; where no source
 * is named: common practice, no source.
 */

export type BackgroundLimit = {
  readonly from: number;
  readonly to: number;
  /** Whether it is read off the monitor when backgrounds are taken; false: only where somebody types it. */
  readonly taken: boolean;
  readonly why: string;
};

/** By channel, in its canonical unit. */
const LIMITS: ReadonlyMap<string, BackgroundLimit> = new Map([
  ['o2', { from: 20.4, to: 21.4, taken: true, why: 'half a per cent off 20.9 %vol is a caution by itself' }],
  ['lel', { from: -2, to: 2, taken: false, why: 'clean air has no combustible gas; more is a finding, or a bad zero' }],
  ['co', { from: -3, to: 9, taken: false, why: 'more carbon monoxide in the open is a finding' }],
  ['h2s', { from: -0.5, to: 1, taken: false, why: 'more hydrogen sulfide in the open is a finding' }],
  ['voc', { from: 0, to: 1, taken: true, why: '1 ppm is the caution itself' }],
  [
    'gamma',
    {
      from: 1,
      to: 20,
      taken: true,
      why: 'plausible ground reads 5 to 20 µR/h (surveys of terrestrial and cosmic rays)',
    },
  ],
]);

const OTHER: BackgroundLimit = { from: 0, to: 1, taken: false, why: 'nothing is known of this channel' };

/** The limits of a channel. */
export function backgroundLimit(channel: string): BackgroundLimit {
  return LIMITS.get(channel) ?? OTHER;
}
