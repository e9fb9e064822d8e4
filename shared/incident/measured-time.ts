/**
 * When a packet was measured, on the post's scale. A relay's clock is only believed as far as it cancels out or
 * is known; where it cannot be trusted, the packet counts as measured when it came.
 */

import { isWild } from '../protocol/instants.ts';
import type { StoredPacket } from '../protocol/stored-packet.ts';
import type { RelayState, Stamp } from './state.ts';
import { MILLISECOND, type PostTime, toWallMs } from './time.ts';

/** A backlog older than this is not believed to be one. */
const OLDEST_MS = 30 * 24 * 3_600_000;
/** Two clocks that differ by less are taken as one clock when packets of one boot are put in order. */
const SAME_CLOCK_US = 2_000 * MILLISECOND;

/** The stamp of a packet that arrived at `arrival`. Its time is never after the arrival. */
export function stampOf(
  packet: StoredPacket,
  arrival: PostTime,
  wallOffsetMs: number,
  relay: RelayState | undefined,
): Stamp {
  const ageMs = ageOf(packet, arrival, wallOffsetMs, relay);
  const at = arrival - Math.round(Math.min(Math.max(ageMs, 0), OLDEST_MS) * MILLISECOND);
  return { at, relayMs: packet.measuredAt, clock: packet.via ?? relay?.name ?? '', boot: packet.boot, seq: packet.seq };
}

function ageOf(packet: StoredPacket, arrival: PostTime, wallOffsetMs: number, relay: RelayState | undefined): number {
  if (packet.ageMs !== undefined) return believable(packet.ageMs);
  const { measuredAt, sentAt } = packet;
  if (measuredAt === undefined) return 0;
  if (sentAt !== undefined) return believable(sentAt - measuredAt);
  if (relay === undefined || relay.offsetMs === null) return 0;
  const postMs = toWallMs(arrival, wallOffsetMs);
  if (isWild(measuredAt, postMs)) return 0;
  return believable(postMs + relay.offsetMs - measuredAt);
}

function believable(ageMs: number): number {
  return ageMs >= 0 && ageMs <= OLDEST_MS ? ageMs : 0;
}

/**
 * Whether `a` was measured after `b`, or at the same time and came later. Within one boot the clock of one relay
 * puts packets in order better than the delays of the link do, as long as it was not set in between.
 */
export function isNewer(a: Stamp, b: Stamp): boolean {
  if (a.boot === b.boot && a.clock === b.clock && a.relayMs !== undefined && b.relayMs !== undefined) {
    const drift = a.at - b.at - (a.relayMs - b.relayMs) * MILLISECOND;
    if (Math.abs(drift) < SAME_CLOCK_US) return a.relayMs > b.relayMs || (a.relayMs === b.relayMs && a.seq >= b.seq);
  }
  return a.at >= b.at;
}
