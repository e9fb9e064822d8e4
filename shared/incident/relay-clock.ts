/**
 * How far a relay's clock is from the post's. A packet can only be delayed, never early, so the packet with the
 * least difference within a minute says most; both times are kept with the packet, whatever is estimated here.
 */
import type { StoredPacket } from '../protocol/stored-packet.ts';
import { tellBoard } from './board-events.ts';
import type { Changes } from './changes.ts';
import type { IncidentState, RelayState } from './state.ts';
import { MINUTE, type PostTime, toWallMs } from './time.ts';

/** A relay further off is named on the board. */
export const CLOCK_OFF_MS = 5_000;

/** Takes a packet of `name` into what is known of its relay. */
export function foldRelay(
  state: IncidentState,
  changes: Changes,
  name: string,
  packet: StoredPacket,
  arrival: PostTime,
): RelayState {
  let relay = state.relays.get(name);
  if (relay === undefined) {
    relay = {
      name,
      heardAt: arrival,
      offsetMs: null,
      bucketAt: arrival,
      bucketBestMs: null,
      clock: 'unknown',
    };
    state.relays.set(name, relay);
    changes.head = true;
  }
  relay.heardAt = arrival;
  if (packet.sentAt === undefined) return relay;
  const seen = packet.sentAt - toWallMs(arrival, state.wallOffsetMs);
  if (arrival - relay.bucketAt > MINUTE) {
    relay.bucketAt = arrival;
    relay.offsetMs = relay.bucketBestMs ?? seen;
    relay.bucketBestMs = null;
  }
  if (relay.bucketBestMs === null || seen > relay.bucketBestMs) relay.bucketBestMs = seen;
  // A clock that was set backwards shows only in the new minute; one set forwards shows at once.
  relay.offsetMs = relay.offsetMs === null ? seen : Math.max(relay.offsetMs, relay.bucketBestMs);
  nameClock(state, changes, relay);
  return relay;
}

/** The post's wall clock was stepped: the relays' clocks were not, so their offsets from it move the other way. */
export function shiftOffsets(state: IncidentState, stepMs: number): void {
  for (const relay of state.relays.values()) {
    if (relay.offsetMs !== null) relay.offsetMs -= stepMs;
    if (relay.bucketBestMs !== null) relay.bucketBestMs -= stepMs;
  }
}

function nameClock(state: IncidentState, changes: Changes, relay: RelayState): void {
  const clock = relay.offsetMs === null ? 'unknown' : Math.abs(relay.offsetMs) > CLOCK_OFF_MS ? 'off' : 'agrees';
  if (clock === relay.clock) return;
  const named = clock === 'off' || relay.clock === 'off';
  relay.clock = clock;
  changes.head = true;
  if (!named) return;
  const seconds = Math.round(Math.abs(relay.offsetMs ?? 0) / 1000);
  const words =
    clock === 'off'
      ? `clock ${seconds} s ${(relay.offsetMs ?? 0) > 0 ? 'ahead of' : 'behind'} the post`
      : 'clock agrees again';
  tellBoard(state, changes, { change: 'relay-clock', relay: relay.name, to: clock, words });
}
