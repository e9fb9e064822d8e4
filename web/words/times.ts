/** Times and ages in words. Every time is in the incident's zone, 24-hour; nothing here reads a clock. */
const formats = new Map<string, Intl.DateTimeFormat>();

function clockFormat(zone: string): Intl.DateTimeFormat {
  let format = formats.get(zone);
  if (!format) {
    const parts = { hour: '2-digit', minute: '2-digit', second: '2-digit', hourCycle: 'h23' } as const;
    try {
      format = new Intl.DateTimeFormat('en-GB', { ...parts, timeZone: zone });
    } catch {
      format = new Intl.DateTimeFormat('en-GB', { ...parts, timeZone: 'UTC' });
    }
    formats.set(zone, format);
  }
  return format;
}

/** Whether this browser knows the zone; where it does not, times are shown in UTC and must be labelled so. */
export function isKnownZone(zone: string): boolean {
  try {
    new Intl.DateTimeFormat('en-GB', { timeZone: zone });
    return true;
  } catch {
    return false;
  }
}

/** "14:07:33" in `zone`; an empty string for no time. */
export function clockTime(at: string | number, zone: string): string {
  const ms = typeof at === 'number' ? at : Date.parse(at);
  return Number.isFinite(ms) ? clockFormat(zone).format(ms) : '';
}

/** "14:07" in `zone`. */
export function shortTime(at: string | number, zone: string): string {
  return clockTime(at, zone).slice(0, 5);
}

/** Seconds between a time and now; never negative, because a reading is not from the future. */
export function secondsSince(at: string | number, nowMs: number): number {
  const ms = typeof at === 'number' ? at : Date.parse(at);
  return Math.max(0, Math.floor((nowMs - ms) / 1000));
}

/** An age for reading aloud: "8 s", "2 min 5 s", "42 min", "3 h 5 min", "2 d 4 h". */
export function ageWords(seconds: number): string {
  if (seconds < 90) return `${seconds} s`;
  const minutes = Math.floor(seconds / 60);
  if (minutes < 10) return seconds % 60 === 0 ? `${minutes} min` : `${minutes} min ${seconds % 60} s`;
  if (minutes < 60) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  if (hours < 24) return minutes % 60 === 0 ? `${hours} h` : `${hours} h ${minutes % 60} min`;
  return hours % 24 === 0 ? `${Math.floor(hours / 24)} d` : `${Math.floor(hours / 24)} d ${hours % 24} h`;
}

/** How long it is until `until`, for reading aloud: "ends in 9 min"; "about to end" once it is there. */
export function leftWords(until: string, nowMs: number): string {
  const seconds = Math.ceil((Date.parse(until) - nowMs) / 1000);
  return seconds > 0 ? `ends in ${ageWords(seconds)}` : 'about to end';
}
