/** Which figures a channel has, and how it is integrated. */
import type { IntegralKind } from './integral.ts';

/** An average of oxygen hides its dips, and one of %LEL means nothing: for these the extremes only. */
export type Treatment = 'average' | 'dose' | 'extremes';

/** Oxygen and combustible by name, gamma as a dose, all else averaged. */
export function treatmentOf(channel: string): Treatment {
  if (channel === 'o2' || channel === 'lel') return 'extremes';
  return channel === 'gamma' ? 'dose' : 'average';
}

/** How a channel is integrated: gas holds its value, gamma follows the line between two readings. */
export function kindOf(channel: string): IntegralKind {
  return treatmentOf(channel) === 'dose' ? 'trapezoid' : 'hold';
}
