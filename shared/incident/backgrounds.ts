/**
 * What counts as nothing: a background that was taken for the monitor, else for the site, else assumed. It never
 * makes a set-point inactive: an assumed one works on the raw value and says that it was not taken.
 */
import { CHANNELS, isKnownChannel, KNOWN_CHANNELS } from '../quantity/channels.ts';
import type { Background, IncidentState } from './state.ts';

/** Scope of a background for all monitors that have none of their own. */
export const SITE = 'site';

type Assumed = { readonly value: number; readonly assumed: true };

const NOTHING: Assumed = { value: 0, assumed: true };
const ASSUMED: ReadonlyMap<string, Assumed> = new Map(
  KNOWN_CHANNELS.map((name) => [name, { value: CHANNELS[name].assumedBackground, assumed: true }]),
);

/** What is assumed until one was taken, in the channel's canonical unit. */
export function assumedOf(channel: string): Assumed {
  return isKnownChannel(channel) ? (ASSUMED.get(channel) ?? NOTHING) : NOTHING;
}

/** The background in force for a channel of a monitor, in its canonical unit. */
export function backgroundOf(state: IncidentState, monitor: string, channel: string): Assumed | Background {
  if (state.backgrounds.size > 0) {
    const taken = state.backgrounds.get(monitor)?.get(channel) ?? state.backgrounds.get(SITE)?.get(channel);
    if (taken !== undefined) return taken;
  }
  return assumedOf(channel);
}
