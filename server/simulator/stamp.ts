/** Puts wall-clock times on simulated packets. */
import type { WirePacket } from '../../shared/protocol/packet.ts';
import type { Emission, MonitorChecks } from './simulation.ts';

const MINUTE_MS = 60_000;
const DAY_MS = 86_400_000;
const SHORTEST_INTERVAL_MS = 50;

export type Stamping = {
  /** Wall time of the start of the run, ms since 1970. */
  readonly startedAt: number;
  /** How many times faster than the wall clock the scenario runs. */
  readonly speed: number;
  readonly markSimulated: boolean;
  readonly checks: ReadonlyMap<string, MonitorChecks>;
};

/**
 * The packet with `measuredAt` at the wall time at which the scenario reached it, `status.intervalMs` as it is on the
 * wall clock, and the times of the monitor's tests before the run. `sentAt` is put on when it is sent.
 */
export function stampMeasured(emission: Emission, stamping: Stamping): WirePacket {
  const { packet } = emission;
  const checks = stamping.checks.get(packet.monitor);
  const before = (ms: number) => new Date(stamping.startedAt - ms).toISOString();
  return {
    ...packet,
    measuredAt: new Date(stamping.startedAt + emission.measuredMs / stamping.speed).toISOString(),
    status: {
      ...packet.status,
      ...(packet.status?.intervalMs !== undefined && {
        intervalMs: Math.max(SHORTEST_INTERVAL_MS, Math.round(packet.status.intervalMs / stamping.speed)),
      }),
      ...(checks && {
        zeroedAt: before(checks.zeroedMinutesBefore * MINUTE_MS),
        bumpedAt: before(checks.bumpedMinutesBefore * MINUTE_MS),
        calibratedAt: before(checks.calibratedDaysBefore * DAY_MS),
      }),
    },
    ...(stamping.markSimulated && { simulated: true }),
  };
}

/** The same packets, sent now. The post takes the age as sentAt − measuredAt, so each attempt carries its own. */
export function stampSent(packets: readonly WirePacket[], now: number): WirePacket[] {
  const sentAt = new Date(now).toISOString();
  return packets.map((packet) => ({ ...packet, sentAt }));
}
