/** Date and time on the wire: RFC 3339 with a zone. */

// Hours to 23 alone: Date.parse takes 24:00 for the next day's start, RFC 3339 does not know it.
const RFC_3339 = /^\d{4}-\d{2}-\d{2}T([01]\d|2[0-3]):\d{2}:\d{2}(\.\d+)?(Z|[+-]\d{2}:\d{2})$/;

/** Milliseconds since 1970, or null where `text` is not a date and time with seconds and a zone. */
export function parseInstant(text: unknown): number | null {
  if (typeof text !== 'string' || text.length > 40 || !RFC_3339.test(text)) return null;
  const ms = Date.parse(text);
  // Date.parse lets 30 February roll over to March: the day must be the one written.
  if (Number.isNaN(ms) || !dayIsReal(text)) return null;
  return ms;
}

const DAYS = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

function dayIsReal(text: string): boolean {
  const year = Number(text.slice(0, 4));
  const month = Number(text.slice(5, 7));
  const day = Number(text.slice(8, 10));
  const leap = year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0);
  return day <= (DAYS[month - 1] ?? 0) && (leap || month !== 2 || day <= 28);
}

/** No relay clock that was ever set says less. */
const EARLIEST = Date.UTC(2020, 0, 1);
const YEAR_MS = 366 * 24 * 3_600_000;

/** A clock that was never set, or is more than a year ahead of the post's. */
export function isWild(ms: number, postWallMs: number): boolean {
  return ms < EARLIEST || ms > Math.max(postWallMs, EARLIEST) + YEAR_MS;
}
