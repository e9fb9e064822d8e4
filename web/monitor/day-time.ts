/** "14 May 13:02:10" for times that may lie days back; only the time when it is today. In the incident's zone. */
import { clockTime } from '../words/times.ts';

export function dayTime(at: string, zone: string, nowMs: number): string {
  const ms = Date.parse(at);
  if (!Number.isFinite(ms)) return at;
  const day = dayOf(ms, zone);
  return day === dayOf(nowMs, zone) ? clockTime(ms, zone) : `${day} ${clockTime(ms, zone)}`;
}

function dayOf(ms: number, zone: string): string {
  const parts = { day: 'numeric', month: 'short', year: 'numeric' } as const;
  try {
    return new Intl.DateTimeFormat('en-GB', { ...parts, timeZone: zone }).format(ms);
  } catch {
    return new Intl.DateTimeFormat('en-GB', { ...parts, timeZone: 'UTC' }).format(ms);
  }
}
