/** What a set-point's scale reads in clean air. */
import { CHANNELS, isKnownChannel } from '../quantity/channels.ts';
import type { SetPoint } from './set-point.ts';

/** In the set-point's unit; null where nobody can say. */
export function assumedNormal(point: SetPoint): number | null {
  switch (point.compare) {
    case 'value':
      return isKnownChannel(point.channel) ? CHANNELS[point.channel].assumedBackground : null;
    case 'times-background':
      return 1;
    case 'above-background':
    case 'off-background':
    case 'rise-per-minute':
      return 0;
    default:
      return null;
  }
}
