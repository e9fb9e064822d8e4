/**
 * The post's wall clock as a page can know it: the label of the frame that travelled fastest, moved on by the
 * monotonic clock. The computer's own wall clock may be wrong and is never asked.
 */
const STEPPED_MS = 1500;

export type PostClock = {
  /** A frame labelled `atMs` (ms since 1970) is here now. */
  hear(atMs: number): void;
  /** ms since 1970, or null before the first frame. */
  now(): number | null;
};

/** A clock on `monotonicMs`. */
export function createPostClock(monotonicMs: () => number): PostClock {
  let offset: number | null = null;
  return {
    hear(atMs) {
      if (!Number.isFinite(atMs)) return;
      const heard = atMs - monotonicMs();
      // The largest offset has the least delay in it; one that is far smaller means that the post's clock was set.
      if (offset === null || heard > offset || heard < offset - STEPPED_MS) offset = heard;
    },
    now: () => (offset === null ? null : monotonicMs() + offset),
  };
}
