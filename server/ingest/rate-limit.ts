/**
 * How fast one token may send: a bucket of packets for each, filled by 50 a second for every monitor it was heard
 * with in the last minute, and never under a floor that a backlog needs. It only stops a relay gone wild.
 */
const PER_MONITOR_PER_S = 50;
const FLOOR_PER_S = 20_000;
const FORGET_MS = 60_000;

type Bucket = { level: number; at: number; monitors: Map<string, number>; sweptAt: number };
export type RateLimit = {
  /** Takes room for `packets`; 0, or seconds to wait, and then nothing was taken. */
  take(token: string, packets: readonly unknown[]): number;
};

export function createRateLimit(steadyMs: () => number): RateLimit {
  const buckets = new Map<string, Bucket>();
  return {
    take(token, packets) {
      const now = steadyMs();
      const bucket = buckets.get(token) ?? { level: 0, at: now, monitors: new Map(), sweptAt: now };
      buckets.set(token, bucket);
      for (const packet of packets) noteMonitor(bucket, packet, now);
      sweep(bucket, now);
      const rate = Math.max(FLOOR_PER_S, PER_MONITOR_PER_S * bucket.monitors.size);
      const drained = Math.max(0, bucket.level - ((now - bucket.at) / 1000) * rate);
      bucket.at = now;
      bucket.level = drained;
      if (drained + packets.length > 2 * rate)
        return Math.max(1, Math.ceil((drained + packets.length - 2 * rate) / rate));
      bucket.level = drained + packets.length;
      return 0;
    },
  };
}

function noteMonitor(bucket: Bucket, packet: unknown, now: number): void {
  if (typeof packet !== 'object' || packet === null || !('monitor' in packet)) return;
  if (typeof packet.monitor === 'string' && bucket.monitors.size < 10_000) bucket.monitors.set(packet.monitor, now);
}

function sweep(bucket: Bucket, now: number): void {
  if (now - bucket.sweptAt < FORGET_MS) return;
  bucket.sweptAt = now;
  for (const [monitor, at] of bucket.monitors) if (now - at > FORGET_MS) bucket.monitors.delete(monitor);
}
