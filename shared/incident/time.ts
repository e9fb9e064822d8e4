/**
 * Post time: whole microseconds on a steady scale that never goes back and never stands still between two
 * records. It starts at the wall clock of the moment the journal was made; after that only the monotonic clock
 * moves it. What the wall clock says is a label: post time plus the offset of the last clock record.
 */
export type PostTime = number;

export const MILLISECOND = 1_000;
export const SECOND = 1_000_000;
export const MINUTE = 60 * SECOND;
export const HOUR = 60 * MINUTE;

/** ISO 8601 label of a post time, given how far the wall clock has been stepped since the journal began. */
export function toIso(at: PostTime, wallOffsetMs: number): string {
  return new Date(Math.floor(at / MILLISECOND) + wallOffsetMs).toISOString();
}

/** Milliseconds since 1970 by the wall clock's label. */
export function toWallMs(at: PostTime, wallOffsetMs: number): number {
  return Math.floor(at / MILLISECOND) + wallOffsetMs;
}
